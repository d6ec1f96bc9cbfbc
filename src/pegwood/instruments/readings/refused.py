"""What an instrument raises when what it was handed cannot be read."""


class RefusedReadings(ValueError):
    """
    Readings or a picture that cannot be taken; the message is one line: what, and what to do.

    Parameters
    ----------
    message : str
    about : str, optional
        What was told beside the readings that it is about, such as "base_mm": a face can then name its own
        field or option.
    """

    def __init__(self, message: str, about: str = "") -> None:
        super().__init__(message)
        self.about = about
