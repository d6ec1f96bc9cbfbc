"""Small words that every telling needs."""

from __future__ import annotations

import re

from pegwood.trade.spread import Spread

#: From which size on a unit is used, its size, [s], and its name.
_UNITS = (
    (14 * 86400.0, 7 * 86400.0, "week"),
    (2 * 86400.0, 86400.0, "day"),
    (3600.0, 3600.0, "hour"),
    (60.0, 60.0, "minute"),
    (0.0, 1.0, "second"),
)


def told_time(seconds: float) -> str:
    """A time as people say it, to two digits: "1.5 hours", "3 days"."""
    if not seconds:
        return "at once"
    number, unit = _in_unit(seconds)
    return f"{number} {unit}" + ("" if number == "1" else "s")


def told_spread(seconds: Spread) -> str:
    """The usual time, and the bounds where they differ: "5 minutes (2 to 15)"."""
    usual = told_time(seconds.likely)
    if seconds.low == seconds.high:
        return usual
    if seconds.low and len({_in_unit(one)[1] for one in seconds}) == 1:
        return f"{usual} ({_in_unit(seconds.low)[0]} to {_in_unit(seconds.high)[0]})"
    return f"{usual} ({told_time(seconds.low)} to {told_time(seconds.high)})"


def _in_unit(seconds: float) -> tuple[str, str]:
    size, unit = next((size, unit) for least, size, unit in _UNITS if seconds >= least)
    return f"{seconds / size:.2g}", unit


def agent_named(key: str) -> str:
    """An agent's key as people read it: "citric acid", but "propan-2-ol"."""
    return re.sub(r"(?<=[a-z])-(?=[a-z]{2})", " ", key)


def capital(text: str) -> str:
    """With a capital at the front and nothing else changed."""
    return text[:1].upper() + text[1:]


def either(names: list[str]) -> str:
    """Several names of which one is meant: "brass, copper or steel"."""
    return " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))
