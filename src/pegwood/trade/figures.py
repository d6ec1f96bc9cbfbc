"""Figures of several sources side by side: the first is used, the rest say how far they differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.trade.grounds import Ground, Grounds, Mark, joined


@dataclass(frozen=True, kw_only=True)
class Nested:
    """
    Something inside a row of a table that has a source of its own.

    Attributes
    ----------
    source, mark : str
        As `Ground`.
    """

    source: str
    mark: Mark

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)  # refuses an empty source

    def grounds(self, own: bool = False) -> Grounds:
        """What it rests on; `own` if it stands in the workshop's own tables."""
        return (Ground(self.source, self.mark, own),)


@dataclass(frozen=True, kw_only=True)
class Figure(Nested):
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


def several(figures: Sequence[Figure], own: bool = False) -> Several:
    """
    Several figures of one thing as one.

    Parameters
    ----------
    figures : sequence of Figure
        At least one, the one to use first.
    own : bool
        Whether they stand in the workshop's own tables.
    """
    values = [one.value for one in figures]
    grounds = joined(*(one.grounds(own) for one in figures))
    return Several(values[0], min(values), max(values), grounds)
