"""How long a glue takes, and when the piece is ready."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from pegwood.trade.glues._tables import GLUES, Glue
from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.names import find
from pegwood.trade.numbers import ZERO_C_K
from pegwood.trade.reference import Reference
from pegwood.trade.spread import Spread


@dataclass(frozen=True, kw_only=True)
class Curing:
    """
    The times of one glue.

    Attributes
    ----------
    glue : Glue
        Which.
    set_s, full_s : Spread
        Until it may be let go of; until it may be loaded, [s].
    temperature_k : float or None
        What the times hold at, [K]; None where the table names none: room temperature.
    """

    glue: Glue
    set_s: Spread
    full_s: Spread
    temperature_k: float | None
    grounds: Grounds

    def let_go_at(self, start: datetime) -> datetime:
        """When it may surely be let go of, if it was glued at `start`."""
        return start + timedelta(seconds=self.set_s.high)

    def ready_at(self, start: datetime) -> datetime:
        """When it surely bears its load, if it was glued at `start`: what may be promised."""
        return start + timedelta(seconds=self.full_s.high)


def cure(reference: Reference, glue: str, temperature_k: float | None = None) -> Curing:
    """
    How long a glue takes.

    Parameters
    ----------
    glue : str
        Its name.
    temperature_k : float, optional
        Of the piece while it sets, [K]. The times halve with every so many degrees; the table says by which
        source.

    Raises
    ------
    UnknownWord
        If no glue has that name.
    ValueError
        If no figure is known for another temperature, or it lies where the rule does not hold.
    """
    found = find(reference.rows(GLUES), glue, "glue")
    grounds = joined(found.set.grounds, found.full.grounds)
    warmth = found.warmth
    if temperature_k is None:
        at = warmth.at_c + ZERO_C_K if warmth else None
        return Curing(
            glue=found, set_s=found.set.seconds, full_s=found.full.seconds, temperature_k=at, grounds=grounds
        )
    if warmth is None:
        raise ValueError(
            f"{found.name}: no figure is known for how its times change with temperature. "
            "Ask without one for the times at room temperature; cold is slower."
        )
    celsius = temperature_k - ZERO_C_K
    if not warmth.low_c <= celsius <= warmth.high_c:
        raise ValueError(
            f"{found.name} at {celsius:.4g} °C: the rule for its times holds from {warmth.low_c:g} "
            f"to {warmth.high_c:g} °C. Bring the piece to such a temperature."
        )
    factor = 2.0 ** ((warmth.at_c - celsius) / warmth.halving_k)
    return Curing(
        glue=found,
        set_s=found.set.seconds.times(factor),
        full_s=found.full.seconds.times(factor),
        temperature_k=temperature_k,
        grounds=joined(grounds, warmth.grounds),
    )
