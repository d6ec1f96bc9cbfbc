"""Figures of several sources side by side: the first is used, the rest say how far they differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.trade.grounds import Grounded, Grounds, joined


@dataclass(frozen=True, kw_only=True)
class Figure(Grounded):
    """
    One figure from one source.

    Attributes
    ----------
    value : float
        In the unit that the field of the row names.
    of : str
        Which alloy or size the source speaks of.
    """

    value: float
    of: str = ""


@dataclass(frozen=True)
class Several:
    """
    What several sources say of one thing.

    Attributes
    ----------
    value : float
        The first source's: the one used.
    low, high : float
        The least and the greatest.
    grounds : tuple of Ground
        All of them.
    """

    value: float
    low: float
    high: float
    grounds: Grounds

    @property
    def differ(self) -> bool:
        """Whether the sources differ at all."""
        return self.low != self.high


def several(figures: Sequence[Figure]) -> Several:
    """
    Several figures of one thing as one.

    Parameters
    ----------
    figures : sequence of Figure
        At least one, the one to use first.
    """
    values = [one.value for one in figures]
    grounds = joined(*(one.grounds for one in figures))
    return Several(values[0], min(values), max(values), grounds)
