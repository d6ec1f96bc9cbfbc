"""Plain words taken apart: what the tables know by name, figures with their units, and what nobody knows."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pegwood.trade.names import UnknownWord, nearest, plain

_JOINING = (
    "a an and any are at attack attacks by can do does for from go harm harms how i in is it its lift lifts "
    "may my of on onto or that the there this to touch touches what which will with x ×"
)
#: Words that join others and mean nothing by themselves. None of them can turn an answer round.
JOINING = frozenset(_JOINING.split())
#: Words that would turn a question round; no answer here is about what is not there.
TURNING = frozenset(["but", "except", "never", "no", "not", "unless", "without"])
LONGEST_NAME = 9
_FIGURE = re.compile(r"(−?(?:\d+\.?\d*|\.\d+))([a-zµω°%]*)")
_TIMES = re.compile(r"(\d*\.?\d+)[x×](\d*\.?\d+[a-zµ]*)")
_MINUS = re.compile(r"(^|[\s,=])-(?=\.?\d)")
_BETWEEN = re.compile(r"[\s,;+&?]+|(?<=\D)\.(?=\s|$)")


@dataclass(frozen=True)
class Thing:
    """Something a table knows: which table, which row, and how it was typed."""

    kind: str
    key: str
    typed: str


@dataclass(frozen=True)
class Figure:
    """A number with its unit as typed, in lower case; empty where none was given."""

    value: float
    unit: str


@dataclass(frozen=True)
class Words:
    """
    A question taken apart.

    Attributes
    ----------
    text : str
        As it was typed.
    named : tuple of tuple of Thing
        For each name in it, everything that the name may stand for.
    figures : tuple of Figure
        Its numbers in order.
    topic : str
        The word that says what kind of question it is ("glue", "thread"), if there is one.
    """

    text: str
    named: tuple[tuple[Thing, ...], ...]
    figures: tuple[Figure, ...]
    topic: str = ""

    def of(self, kind: str) -> tuple[str, ...]:
        """The keys of everything named that may be of this kind."""
        return tuple(thing.key for things in self.named for thing in things if thing.kind == kind)

    def all_of(self, *kinds: str) -> bool:
        """Whether everything named may be of one of these kinds."""
        return bool(self.named) and all(any(one.kind in kinds for one in things) for things in self.named)

    def units(self) -> tuple[str, ...]:
        """The units of its numbers."""
        return tuple(figure.unit for figure in self.figures)


Vocabulary = Mapping[str, tuple[Thing, ...]]


def take_apart(text: str, vocabulary: Vocabulary, topics: Mapping[str, str], units: Iterable[str]) -> Words:
    """
    Plain words taken apart; the longest name that fits is taken first.

    Parameters
    ----------
    text : str
        Such as "brass + steel, salt" or "1.7 0.35".
    vocabulary : mapping
        From a spelling, as `names.plain` makes it, to what it may stand for.
    topics : mapping
        From a word to the kind of question it announces.
    units : iterable of str
        Units that may stand behind a number, in lower case.

    Raises
    ------
    UnknownWord
        With the three nearest names, if a word is none of all this: it is never passed over in silence.
    ValueError
        If a word would turn the question round ("without").
    """
    units = frozenset(units)
    tokens = split(text)
    named: list[tuple[Thing, ...]] = []
    figures: list[Figure] = []
    topic = ""
    while tokens:
        length, things = _longest_name(tokens, vocabulary)
        if length < 2 and not topic and tokens[0] in topics and len(tokens) > 1:
            topic = topics[tokens.pop(0)]  # "spring 0.3 3.3 10": the word says what is asked, it is no name
        elif things:
            named.append(things)
            tokens = tokens[length:]
        elif figure := _figure(tokens, units):
            figures.append(figure[1])
            tokens = tokens[figure[0] :]
        elif times := _TIMES.fullmatch(tokens[0]):
            tokens[:1] = times.groups()
        elif tokens[0] in topics and not topic:
            topic = topics[tokens.pop(0)]
        elif tokens[0] in JOINING:
            tokens.pop(0)
        elif tokens[0] in TURNING:
            raise ValueError(f"{tokens[0]!r} turns the question round: ask for what is there.")
        else:
            known = [*vocabulary, *topics]
            raise UnknownWord(tokens[0], "word", nearest(tokens[0], known))
    return Words(text, tuple(named), tuple(figures), topic)


def split(text: str) -> list[str]:
    """The words of a text as names are compared; a minus before a figure stays with it."""
    return [one for one in _BETWEEN.split(plain(_MINUS.sub(r"\1−", text))) if one]


def _longest_name(tokens: list[str], vocabulary: Vocabulary) -> tuple[int, tuple[Thing, ...]]:
    for length in range(min(LONGEST_NAME, len(tokens)), 0, -1):
        words = " ".join(tokens[:length])
        for spelling in (words, words.removesuffix("s"), words.removesuffix("es")):
            if spelling in vocabulary:
                return length, vocabulary[spelling]
    return 0, ()


def _figure(tokens: list[str], units: frozenset[str]) -> tuple[int, Figure] | None:
    """A number at the head of the words, its unit glued on or standing behind, and how many words it took."""
    if not (found := _FIGURE.fullmatch(tokens[0])):
        return None
    value, unit = float(found[1].replace("−", "-")), found[2]
    if unit:
        return (1, Figure(value, unit)) if unit in units else None
    if len(tokens) > 1 and tokens[1] in units:
        return 2, Figure(value, tokens[1])
    return 1, Figure(value, "")
