"""What an owner's story seems to tell, to be offered as taps: nothing is told before somebody taps it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from pegwood.causes.story import STORY
from pegwood.causes.words.concepts import plain_words
from pegwood.trade.grounds import Ground, Mark
from pegwood.trade.typed_toml import Source, built

FILE = Path(__file__).parent / "stories.toml"
_CLAUSE = re.compile(r"[,;.!?:()\n]|\s[-–—]\s|\b(?:but|though|although|however|yet|then|since|and)\b", re.I)
_NO = frozenset(
    {
        "no",
        "not",
        "never",
        "without",
        "nor",
        "didn't",
        "wasn't",
        "hasn't",
        "isn't",
        "neither",
        "nobody",
        "don't",
    }
)
_FILLERS = frozenset({"the", "a", "an", "his", "her", "my", "our", "their", "some", "was", "been", "ha"})
_NUMBERS = {
    "ten": 10, "fifteen": 15, "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60,
    "decade": 10, "ages": 10, "generation": 20,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Tell:
    """One way in which something is told; see the head of stories.toml."""

    key: str
    any: tuple[str, ...]
    unless: tuple[str, ...] = ()
    years: int = 0
    denied: bool = False

    def __post_init__(self) -> None:
        if self.key not in STORY:
            raise ValueError(f"{self.key!r} is nothing of a story. Expected one of: {', '.join(STORY)}.")
        if not self.any:
            raise ValueError(f"{self.key!r} is told by no word.")


@dataclass(frozen=True, kw_only=True)
class _File:
    source: str
    mark: Mark
    tell: tuple[Tell, ...]

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)


def read_tells(text: str, where: str = FILE.name) -> tuple[Tell, ...]:
    """
    The ways of telling, from a file's text.

    Raises
    ------
    TableError
        With file and line, if it is none.
    """
    source = Source(text, where)
    return built(_File, source.table(), source).tell


@cache
def tells() -> tuple[Tell, ...]:
    """What comes along."""
    return read_tells(FILE.read_text("utf-8"))


def told_by(story: str) -> tuple[str, ...]:
    """
    What a story seems to tell, in the order of `STORY`.

    Parameters
    ----------
    story : str
        In the owner's words. "Never dropped" tells nothing.

    Returns
    -------
    keys : tuple of str
        Of `STORY`.
    """
    clauses = [_plain(part) for part in _CLAUSE.split(story)]
    found = {tell.key for tell in tells() for words in clauses if _is_told(tell, words)}
    if "soaked-salt" in found:
        found.discard("soaked-fresh")
    return tuple(key for key in STORY if key in found)


def _plain(text: str) -> list[str]:
    return [word for word in plain_words(text) if word not in _FILLERS]


def _is_told(tell: Tell, words: list[str]) -> bool:
    if any(_at(words, one) is not None for one in tell.unless) or _years(words) < tell.years:
        return False
    places = [at for one in tell.any if (at := _at(words, one)) is not None]
    return any(_NO.isdisjoint(words[:at]) != tell.denied for at in places)


def _at(words: list[str], phrase: str) -> int | None:
    """Where a phrase begins; None where it does not stand."""
    wanted = _plain(phrase)
    return next((n for n in range(len(words)) if words[n : n + len(wanted)] == wanted), None)


def _years(words: Iterable[str]) -> int:
    """The most years that are spoken of; a number counts only beside the word, a calendar year never."""
    words = list(words)
    if not {"year", "decade", "yr", "generation", "age"} & set(words):
        return 0
    numbers = [int(word) for word in words if word.isdecimal() and int(word) < 150]
    numbers += [_NUMBERS[word] for word in words if word in _NUMBERS]
    if "decade" in words:
        numbers = [10 * n if n < 10 else n for n in numbers] or [20]
    return max(numbers, default=0)
