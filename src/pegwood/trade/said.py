"""A sentence in a table, with what it rests on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.trade.answers import Statement
from pegwood.trade.grounds import Ground, Grounds, Mark


@dataclass(frozen=True, kw_only=True)
class Said:
    """
    A sentence with a source of its own, inside a row.

    Attributes
    ----------
    says : str
        A whole sentence.
    source, mark : str
        As `pegwood.trade.grounds.Ground`.
    """

    says: str
    source: str
    mark: Mark

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)

    @property
    def grounds(self) -> Grounds:
        """What it rests on."""
        return (Ground(self.source, self.mark),)


def told(said: Iterable[Said]) -> tuple[Statement, ...]:
    """The sentences as lines of an answer."""
    return tuple(Statement(says=one.says, grounds=one.grounds) for one in said)
