"""What a pattern means, what is done about it, and what to beware of: the table beside this file."""

from __future__ import annotations

from functools import cache
from typing import Any, Literal

from pegwood.instruments.given import table_beside
from pegwood.instruments.uncertainty import Mark

__all__ = ["CELLS", "Cell", "advice_for", "cautions_for", "meaning_of", "pattern_source"]

Cell = Literal["selenium", "cds", "unknown"]
CELLS = ("selenium", "cds", "unknown")
"""What sees the light."""


def meaning_of(pattern: str) -> str:
    """What a pattern means, in a line."""
    return str(_table()["pattern"][pattern]["means"])


def advice_for(pattern: str) -> tuple[str, ...]:
    """What is done about a pattern, first things first."""
    return tuple(_table()["pattern"][pattern]["advice"])


def sign_of(hysteresis: float) -> str:
    """What the sign of a hysteresis (light rising less falling) says."""
    return str(_table()["pattern"]["hysteresis"]["above_zero" if hysteresis > 0 else "below_zero"])


def cautions_for(cell: Cell) -> tuple[str, ...]:
    """What to beware of with a kind of cell; of both where it is not known."""
    kinds = ("selenium", "cds") if cell == "unknown" else (cell,)
    table = _table()["cautions"]
    return (*table["any"], *(line for kind in kinds for line in table[kind]))


def ev_per_current(cell: Cell) -> float:
    """EV of light in a doubling of the current, [-]: 1 for selenium, about 1/0.7 for CdS."""
    return float(_table()["cell"]["cds" if cell == "cds" else "selenium"]["ev_per_current"])


def pattern_source() -> tuple[str, Mark]:
    """Whose words these are, and how well that is known."""
    return _table()["source"], _table()["mark"]


@cache
def _table() -> dict[str, Any]:
    return table_beside(__package__, "pattern.toml")
