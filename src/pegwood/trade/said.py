"""A sentence in a table, with what it rests on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.trade.answers import Statement
from pegwood.trade.grounds import Grounded


@dataclass(frozen=True, kw_only=True)
class Said(Grounded):
    """
    A sentence with a source of its own, inside a row.

    Attributes
    ----------
    says : str
        A whole sentence.
    """

    says: str


def told(said: Iterable[Said]) -> tuple[Statement, ...]:
    """The sentences as lines of an answer."""
    return tuple(Statement(says=one.says, grounds=one.grounds) for one in said)
