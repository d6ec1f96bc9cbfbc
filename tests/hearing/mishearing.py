"""
Narration as a recogniser would have written it: words misheard, at a rate, the same way for the same seed.

Most errors are words taken for others that sound alike; words of the trade that the recogniser lacks are
broken up into common ones; some words are lost, some put in, some torn apart or run together. The rate is
the word error rate: edits of the best alignment over words said.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rapidfuzz.distance import Levenshtein

from hearing.sounds import broken_up, dictionary, is_known, nearest, neighbours, sounds_of
from pegwood.hearing.results import Line

#: Shares of the kinds of error, as rough as anybody's: mishearing a word is by far the most common.
KINDS = {"other": 0.72, "lost": 0.10, "put in": 0.07, "torn": 0.06, "joined": 0.05}
PUT_IN = ("a", "the", "and", "uh", "it", "is", "of", "to", "in", "so")
AROUND = ".,;:!?…\"'“”‘’()"
#: A word that the recogniser lacks is so much likelier to be misheard than one that it knows.
LACKED = 3.0


@dataclass
class _Spoken:
    """A word of the text, what it was heard as, and whether it was tampered with."""

    line: int
    said: str
    heard: list[str]
    touched: bool = False


def bare(word: str) -> str:
    return word.strip(AROUND).lower()


def words_of(lines: Sequence[Line]) -> list[str]:
    """The words that are compared: without case, and without the stops around them."""
    return [bare(word) for line in lines for word in line.words.split() if bare(word)]


def word_error_rate(said: Sequence[Line], heard: Sequence[Line]) -> float:
    """Edits of the best alignment of words, over words said."""
    reference = words_of(said)
    return Levenshtein.distance(reference, words_of(heard)) / len(reference)


def misheard(lines: Sequence[Line], rate: float, seed: int) -> tuple[Line, ...]:
    """
    The lines with words misheard.

    Parameters
    ----------
    lines : sequence of Line
        As said.
    rate : float
        Word error rate wanted, 0 to 0.4. The measured one comes as near as whole words allow.
    seed : int

    Returns
    -------
    tuple of Line
        As many lines, at the same times, none of them empty.

    Raises
    ------
    ValueError
        If there are not words enough to make so many errors.
    """
    if not 0 <= rate <= 0.4:
        raise ValueError(
            "a word error rate of 0 to 0.4: beyond it, no word would be left between two errors."
        )
    draw = random.Random(seed)
    words = [_Spoken(at, word, [word]) for at, line in enumerate(lines) for word in line.words.split()]
    wanted = round(rate * len(words_of(lines)))
    # Drawing without putting back, by weight: the smallest of exponential waits.
    order = sorted(range(len(words)), key=lambda at: draw.expovariate(_weight(words[at].said)))
    now = 0
    for at in order:
        if now >= wanted:
            break
        before = [list(word.heard) for word in words[max(at - 1, 0) : at + 2]]
        touched = [word.touched for word in words]
        if not _tamper(words, at, draw):
            continue
        made = _errors(words)
        if not now < made <= wanted:
            for word, was in zip(words[max(at - 1, 0) : at + 2], before, strict=True):
                word.heard = was
            for word, was_touched in zip(words, touched, strict=True):
                word.touched = was_touched
            continue
        now = made
    if now < wanted:
        raise ValueError(f"{now} of {wanted} errors: too few words for more.")
    return tuple(
        replace(line, words=" ".join(part for word in words if word.line == at for part in word.heard))
        for at, line in enumerate(lines)
    )


def _weight(word: str) -> float:
    return 1.0 if is_known(bare(word)) else LACKED


def _errors(words: Sequence[_Spoken]) -> int:
    said = [bare(word.said) for word in words if bare(word.said)]
    heard = [bare(part) for word in words for part in word.heard if bare(part)]
    return Levenshtein.distance(said, heard)


def _tamper(words: Sequence[_Spoken], at: int, draw: random.Random) -> bool:
    """Put one error in at a word; False where there is none to put in."""
    word = words[at]
    if word.touched or not any(letter.isalpha() for letter in word.said):
        return False
    kind = draw.choices(list(KINDS), list(KINDS.values()))[0]
    core = bare(word.said)
    after = words[at + 1] if at + 1 < len(words) else None
    alone = sum(len(other.heard) for other in words if other.line == word.line) == 1
    if kind == "lost" and not alone:
        word.heard = []
    elif kind == "put in":
        word.heard = [word.said, draw.choice(PUT_IN)]
    elif (
        kind == "joined"
        and after
        and not after.touched
        and after.line == word.line
        and is_known(bare(after.said))
    ):
        joined = _joined(core, bare(after.said))
        if not joined:
            return False
        word.heard, after.heard, after.touched = [joined], [], True
    elif kind == "torn" or not is_known(core):
        torn = broken_up(core)
        if not torn or torn == (core,):
            return False
        word.heard = _dressed(word.said, list(torn))
    else:
        other = _other(core, draw)
        if other is None:
            return False
        word.heard = _dressed(word.said, [other])
    word.touched = True
    return True


def _other(core: str, draw: random.Random) -> str | None:
    """Another word that sounds alike: the nearer, the likelier."""
    near = neighbours(core)
    if not near:
        return None
    shares = [
        math.exp(-2.5 * far / max(len(sounds_of(core)), 2) * 3 + 0.15 * one.log_share) for one, far in near
    ]
    return draw.choices([one.word for one, _ in near], shares)[0]


def _joined(core: str, after: str) -> str | None:
    """Two words run into one: the one that is written so, or the common one nearest to their sounds."""
    if core + after in dictionary():
        return core + after
    near = nearest(sounds_of(core) + sounds_of(after), 1)
    return near[0][0].word if near else None


def _dressed(said: str, heard: list[str]) -> list[str]:
    """The stops that stood around the word, around what it was heard as."""
    core = said.strip(AROUND)
    before, _, after = said.partition(core)
    return (
        [before + heard[0], *heard[1:-1], heard[-1] + after]
        if len(heard) > 1
        else [before + heard[0] + after]
    )
