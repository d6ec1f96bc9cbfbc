"""What is said of things on the shelf: stripped, and no longer than the book takes."""

from __future__ import annotations

from collections.abc import Mapping

from pegwood.book.refusal import Refused


def worded(details: object, longest: Mapping[str, int]) -> dict[str, str]:
    """
    The named words of some details, stripped.

    Raises
    ------
    Refused
        If one is longer than it may be.
    """
    told = {name: str(getattr(details, name)).strip() for name in longest}
    for name, most in longest.items():
        if len(told[name]) > most:
            says = name.removeprefix("to_")
            raise Refused(f"The {says} is longer than {most} characters. Make it shorter.")
    return told
