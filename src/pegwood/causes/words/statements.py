"""
What a text says: clause by clause, which of the vocabulary's concepts is said to be there, and which is not.

Careful rather than clever: what is asked for, past, mended or only wished for is left aside, and what may be
read in two ways says nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from pegwood.causes.words.concepts import Meaning, Phrase, Vocabulary, plain_words, vocabulary

_CLAUSE = re.compile(
    r"([,;.!:()\n]|\s[-–—]\s|\b(?:but|though|although|however|yet|except|apart from|otherwise|only)\b)", re.I
)
#: So many letters has a word that may be misspelt and is still known.
SHORTEST_SLIP = 7


@dataclass(frozen=True)
class Statement:
    """
    That something is there, or is not.

    Attributes
    ----------
    concept : str
        Empty for "nothing wrong at all".
    there : bool
    sure : bool
        Neither guessed at nor spelled so that one has to guess.
    slight : bool
    direct : bool
        Of one that denies: said of the very thing ("no oil"), not by a word for a good state ("clean").
    words : str
        As it was said.
    around : frozenset of str
        All plain words of the clause.
    """

    concept: str
    there: bool
    sure: bool
    slight: bool
    direct: bool
    words: str
    around: frozenset[str]


@dataclass(frozen=True)
class Word:
    """A word or phrase that was found, what it means, and whether its spelling was guessed."""

    said: str
    meanings: tuple[Meaning, ...]
    guessed: bool = False

    def is_(self, kind: str) -> bool:
        return any(one.kind == kind for one in self.meanings)


@lru_cache(maxsize=4096)
def statements(text: str) -> tuple[Statement, ...]:
    """
    What a text says.

    A concept that one clause says is there and another denies is there; "nothing wrong" holds only where
    nothing is said to be there.
    """
    known = vocabulary()
    found: list[Statement] = []
    denied_before = False
    for mark, part in _clauses(text):
        plain = known.phrase(part)
        words = list(_words(known, plain))
        here = list(_of_clause(words, frozenset(plain_words(part)), is_asked="?" in part))
        bare = len(words) == 1 and words[0].said == " ".join(plain) and bool(here) and here[0].there
        if denied_before and mark == "," and (bare or re.search(r"\bn?or\b", part, re.I)):
            continue  # "no oil, rust": either
        denied_before = any(not one.there and one.direct for one in here)
        found += here
    there = {one.concept for one in found if one.there}
    return tuple(
        one for one in found if one.there or (one.concept not in there if one.concept else not there)
    )


def concepts_in(text: str) -> tuple[str, ...]:
    """All concepts that a text speaks of, as in the name of a fault: whether there or not does not matter."""
    known = vocabulary()
    words = (word for _, part in _clauses(text) for word in _words(known, known.phrase(part)))
    return tuple(dict.fromkeys(name for word in words for name in _names(word, "concept")))


def _clauses(text: str) -> Iterator[tuple[str, str]]:
    """What stands before each clause, and the clause; a question mark stays with the one it ends."""
    mark, *rest = "", *_CLAUSE.split(re.sub(r"\?", " ? ;", text))
    for part, after in zip(rest[::2], [*rest[1::2], ""], strict=True):
        if part.strip():
            yield mark, part
        mark = after.strip()


def _words(known: Vocabulary, plain: Phrase) -> Iterator[Word]:
    """The phrases of a clause, the longest first; what means nothing is left out, "and" and "or" are kept."""
    at = 0
    while at < len(plain):
        for length in range(min(known.longest, len(plain) - at), 0, -1):
            phrase = plain[at : at + length]
            ends = at + length == len(plain)
            meant = tuple(one for one in known.meanings.get(phrase, ()) if ends or not one.only_last)
            if meant:
                yield Word(" ".join(phrase), meant)
                at += length
                break
        else:
            word = plain[at]
            at += 1
            if word in ("and", "with", "plus", "then", "free"):
                yield Word(word, ())
            elif guess := _slip(known, word):
                yield Word(word, known.meanings[(guess,)], guessed=True)


def _slip(known: Vocabulary, word: str) -> str:
    """The one word of a concept that somebody meant to write; empty for none or several."""
    return "" if word in known.single else _slips(known).get(word, "")


@cache
def _slips(known: Vocabulary) -> dict[str, str]:
    """
    Every concept's word with two neighbouring letters swapped, or one left out.

    Another letter instead would make "locking" lacking and "leading" leaking. Of the 68,000 words of this
    house's own texts and a system's manuals a dozen are such slips, and stand among the neutral ones.
    """
    meant: dict[str, set[str]] = {}
    for phrase, meanings in known.meanings.items():
        word = phrase[0]
        is_plain = all(one.kind == "concept" and not one.only_last for one in meanings)
        if len(phrase) > 1 or len(word) < SHORTEST_SLIP or not is_plain:
            continue
        for n in range(1, len(word)):
            if n < len(word) - 1:  # "degrade" is a word of its own
                meant.setdefault(word[:n] + word[n + 1 :], set()).add(word)
            meant.setdefault(word[: n - 1] + word[n] + word[n - 1] + word[n + 1 :], set()).add(word)
    return {slip: min(words) for slip, words in meant.items() if len(words) == 1}


def _of_clause(words: list[Word], around: frozenset[str], *, is_asked: bool) -> Iterator[Statement]:
    if any(word.is_("undecided") for word in words):
        return
    sure = not is_asked and not any(word.is_("doubt") for word in words)
    slight = any(word.is_("slight") for word in words)
    said = Statement("", there=True, sure=sure, slight=slight, direct=True, words="", around=around)
    denied: bool | None = False
    for n, word in enumerate(words):
        if word.is_("no"):
            denied = True
        elif denied and word.said in ("and", "with", "plus", "then"):
            denied = None  # "no oil and rust": nobody knows
        if denied is None:
            continue
        one = replace(said, words=word.said, sure=sure and not word.guessed)
        before_free = n + 1 < len(words) and words[n + 1].said == "free" and n + 2 == len(words)
        for name in _names(word, "concept"):
            yield replace(one, concept=name, there=not (denied or before_free))
        if word.is_("good") and not denied and not (word.said == "free" and _follows(words, n)):
            for name in _names(word, "good") or ("",):
                yield replace(one, concept=name, there=False, direct=False)


def _follows(words: list[Word], n: int) -> bool:
    """Whether the word stands right behind one for a fault: "rust free"."""
    return n > 0 and words[n - 1].is_("concept")


def _names(word: Word, kind: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for one in word.meanings if one.kind == kind for name in one.names))


def words_of(text: str) -> frozenset[str]:
    """All plain words of a text, for what a phrase asks besides a concept."""
    return frozenset(plain_words(text))


def fits(phrase: Iterable[str], concept: str, around: frozenset[str]) -> bool:
    """Whether a phrase of a concept and perhaps other words is what a statement says."""
    wanted = set(phrase)
    return concept in wanted and wanted - {concept} <= around
