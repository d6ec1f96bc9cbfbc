"""Amounts as people write them on a command line: 1000uF, 330 V, 10k, -10C."""

from __future__ import annotations

import re

_PREFIX = {"": 1.0, "p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}
_AMOUNT = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([pnuµμmkM]?)\s*([A-Za-zΩ°]*)")


def amount(text: str, units: tuple[str, ...], what: str, such_as: str) -> float:
    """
    A number with a prefix and a unit, either of which may be left out, in the unit without prefix.

    Raises
    ------
    ValueError
        In one line, if it is none.
    """
    found = _AMOUNT.fullmatch(text.strip())
    if found and found[3].lower() in {"", *(unit.lower() for unit in units)}:
        return float(found[1].replace(",", ".")) * _PREFIX[found[2]]
    raise ValueError(f"{text!r} is no {what}. Give it as {such_as}.")
