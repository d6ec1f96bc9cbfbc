"""A line as somebody types it at the bench, taken apart. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable

_PART_ENDS = re.compile(r"\s*[,:;]\s*|\s+[-–]\s+")


def part_and_condition(line: str, chosen: str = "", parts: Iterable[str] = ()) -> tuple[str, str]:
    """
    What a finding typed in one line is about, and how that is.

    Parameters
    ----------
    line : str
        Such as "shutter blades, oil film", or "oil film" alone where a part was tapped.
    chosen : str
        The part that was tapped; the line then only says how it is, and may say the part once more.
    parts : iterable of str
        Parts of this kind of camera: one of them at the head of the line needs no comma after it.

    Returns
    -------
    part, condition : str
        Either may come back empty; whoever asked then says what is missing.

    Examples
    --------
    >>> part_and_condition("bellows, lower fold: two pinholes")
    ('bellows', 'lower fold: two pinholes')
    >>> part_and_condition("slow train gummed", parts=["slow train"])
    ('slow train', 'gummed')
    >>> part_and_condition("oil film", chosen="shutter blades")
    ('shutter blades', 'oil film')
    """
    line = " ".join(line.split())
    if chosen := " ".join(chosen.split()):
        return chosen, _without_head(line, chosen)
    part, *rest = _PART_ENDS.split(line, maxsplit=1)
    if rest:
        return part, rest[0]
    for known in sorted(parts, key=len, reverse=True):
        condition = _without_head(line, known)
        if condition != line or line.casefold() == known.casefold():
            return known, condition
    return line, ""


def _without_head(line: str, part: str) -> str:
    """The line without `part` at its head, where it stands there as a whole word."""
    if not re.match(re.escape(part) + r"(?!\w)", line, re.IGNORECASE):
        return line
    return line[len(part) :].lstrip(" ,:;-–")
