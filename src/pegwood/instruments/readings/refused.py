"""What an instrument raises when what it was handed cannot be read."""


class RefusedReadings(ValueError):
    """Readings or a picture that cannot be taken; the message is one line: what, and what to do."""
