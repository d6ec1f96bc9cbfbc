"""Which substances must not meet; a pair that no row speaks of is not known, never safe."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Literal

from pegwood.trade.reference import Reference, Row, Table
from pegwood.trade.safety.substances import SUBSTANCES, Substance, substance

_ROLE = "role:"


@dataclass(frozen=True, kw_only=True)
class Mixture(Row):
    """
    What happens when two meet.

    Attributes
    ----------
    a, b : str
        Each a substance's key, or ``"role:acid"`` for all that act as one.
    verdict : str
        ``"never"`` or ``"with care"``.
    forms : str
        What it makes.
    between : str
        What to do between one and the other.
    """

    a: str
    b: str
    verdict: Literal["never", "with care"]
    forms: str
    between: str

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (" and ".join(sorted((self.a, self.b))),)


MIXTURES = Table("mixtures", Mixture)


def mixes(reference: Reference, a: str, b: str) -> tuple[Mixture, ...]:
    """
    Every row that speaks of two substances, the worst first; none means not known.

    Parameters
    ----------
    reference : Reference
        The tables.
    a, b : str
        Any name or CAS number.

    Raises
    ------
    UnknownWord
        If a name is in no table.
    ValueError
        If both are the same substance.
    """
    first, second = substance(reference, a), substance(reference, b)
    if first.key == second.key:
        raise ValueError(
            f"{a!r} and {b!r} are both {first.name}. Give two substances, such as bleach and vinegar."
        )
    return between(reference, first, second)


def between(reference: Reference, first: Substance, second: Substance) -> tuple[Mixture, ...]:
    """As `mixes`, of rows of the table."""
    found = [
        row
        for row in reference.rows(MIXTURES).values()
        if (_is(first, row.a) and _is(second, row.b)) or (_is(first, row.b) and _is(second, row.a))
    ]
    return tuple(sorted(found, key=lambda row: (row.verdict != "never", row.mark != "seen")))


def enemies(reference: Reference, one: Substance) -> tuple[tuple[Substance, Mixture], ...]:
    """Every other substance that a row forbids or warns of beside this one, the worst first."""
    others = [other for other in reference.rows(SUBSTANCES).values() if other.key != one.key]
    found = [(other, rows[0]) for other in others if (rows := between(reference, one, other))]
    return tuple(sorted(found, key=lambda pair: pair[1].verdict != "never"))


def _is(one: Substance, side: str) -> bool:
    return side.removeprefix(_ROLE) in one.roles if side.startswith(_ROLE) else side == one.key
