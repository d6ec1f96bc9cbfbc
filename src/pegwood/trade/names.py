"""From what somebody types to the row that is meant."""

from __future__ import annotations

import difflib
import re
from collections.abc import Hashable, Iterable, Mapping
from functools import lru_cache
from typing import TypeVar

from pegwood.trade.reference import Named

N = TypeVar("N", bound=Named)


class UnknownWord(ValueError):
    """
    A word that no table holds.

    Attributes
    ----------
    word : str
        As it was typed.
    nearest : tuple of str
        Up to three names that look most like it.
    """

    def __init__(self, word: str, what: str, nearest: Iterable[str]) -> None:
        self.word = word
        self.nearest = tuple(nearest)
        near = f" Nearest: {', '.join(self.nearest)}." if self.nearest else ""
        super().__init__(f"{word!r} is no {what} that the tables know.{near}")


@lru_cache(maxsize=8192)
def plain(word: str) -> str:
    """A name as names are compared: lower case, dashes and runs of white space as one space."""
    return re.sub(r"[\s\-_]+", " ", word).strip().lower()


def spellings(row: Named) -> tuple[str, ...]:
    """Everything a row answers to, as names are compared."""
    return tuple(dict.fromkeys(plain(one) for one in (row.key, row.name, *row.also)))


def find(rows: Mapping[Hashable, N], word: str, what: str) -> N:
    """
    The row of that name.

    Parameters
    ----------
    rows : mapping
        A table.
    word : str
        Key, name or other name, in any case, with spaces or dashes.
    what : str
        What is looked for, for the error: "agent", "material".

    Raises
    ------
    UnknownWord
        With the three nearest names, if there is none.
    """
    wanted = plain(word)
    names = {spelling: row for row in reversed(list(rows.values())) for spelling in spellings(row)}
    if found := names.get(wanted) or names.get(wanted.removesuffix("s")):
        return found
    raise UnknownWord(word, what, nearest(wanted, names))


def nearest(word: str, names: Iterable[str]) -> list[str]:
    """The three names that look most like a word, best first."""
    return difflib.get_close_matches(plain(word), list(names), n=3, cutoff=0.3)
