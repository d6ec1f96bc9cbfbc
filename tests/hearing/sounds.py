"""
Which common words sound like which: by pocketsphinx's pronouncing dictionary and word counts.

Sounds are those of the CMU pronouncing dictionary. How far apart two words sound is the edit distance of
their sounds, half of it told exactly and half by kind of sound, so that "b" for "p" is a smaller slip than
"b" for "s".
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pocketsphinx
from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

MODEL = Path(pocketsphinx.__file__).parent / "model/en-us"
#: So many of the words that the model knows best count as common. A recogniser writes hardly any others.
COMMON = 20_000
#: The model's logarithms are to this base.
BASE = 1.0001

_KINDS = (
    ("AA", "AE", "AH", "AO", "EH", "IH", "IY", "UH", "UW", "ER"),
    ("AW", "AY", "EY", "OW", "OY"),
    ("P", "B"),
    ("T", "D"),
    ("K", "G"),
    ("F", "V", "TH", "DH"),
    ("S", "Z", "SH", "ZH", "CH", "JH"),
    ("M", "N", "NG"),
    ("L", "R"),
    ("W", "Y", "HH"),
)
_LETTER = {sound: chr(ord("A") + at) for at, sound in enumerate(sum(_KINDS, ()))}
_KIND = str.maketrans(
    {_LETTER[sound]: chr(ord("a") + at) for at, kind in enumerate(_KINDS) for sound in kind}
)

# Spelling to sounds for words that the dictionary lacks; the longest spelling goes first. Rough, and enough
# to find what such a word would be taken for.
_SPELT = {
    "tion": "SH AH N", "ough": "AO", "augh": "AO", "eigh": "EY", "igh": "AY", "tch": "CH", "dge": "JH",
    "sch": "SH", "ch": "CH", "ck": "K", "sh": "SH", "ph": "F", "th": "TH", "wh": "W", "qu": "K W", "kn": "N",
    "wr": "R", "ng": "NG", "gh": "G", "oo": "UW", "ee": "IY", "ea": "IY", "ai": "EY", "ay": "EY", "oa": "OW",
    "ow": "AW", "ou": "AW", "oi": "OY", "oy": "OY", "au": "AO", "aw": "AO", "ew": "UW", "er": "ER",
    "ir": "ER", "ur": "ER", "ar": "AA R", "or": "AO R", "ed": "D",
    "a": "AE", "b": "B", "c": "K", "d": "D", "e": "EH",
    "f": "F", "g": "G", "h": "HH", "i": "IH", "j": "JH", "k": "K", "l": "L", "m": "M", "n": "N", "o": "AA",
    "p": "P", "q": "K", "r": "R", "s": "S", "t": "T", "u": "AH", "v": "V", "w": "W", "x": "K S", "y": "IY",
    "z": "Z",
}  # fmt: skip
_SPELLINGS = re.compile("|".join(sorted(_SPELT, key=len, reverse=True)))


@dataclass(frozen=True, kw_only=True)
class Common:
    """A common word, its sounds as letters, and the logarithm of how often it is said."""

    word: str
    sounds: str
    log_share: float


@cache
def dictionary() -> dict[str, str]:
    """Every word's first pronunciation, a letter a sound."""
    found = {}
    for line in (MODEL / "cmudict-en-us.dict").read_text("utf-8").splitlines():
        word, *sounds = line.split()
        if "(" not in word:
            found[word] = "".join(_LETTER[sound] for sound in sounds)
    return found


@cache
def common_words() -> tuple[Common, ...]:
    """The words said most, most said first."""
    model = pocketsphinx.NGramModel.readfile(str(MODEL / "en-us.lm.bin"))
    said = [
        Common(word=word, sounds=sounds, log_share=model.prob([word]) * math.log(BASE))
        for word, sounds in dictionary().items()
        if word.replace("'", "").isalpha() and (len(word) > 1 or word in ("a", "i"))
    ]
    return tuple(sorted(said, key=lambda one: -one.log_share)[:COMMON])


@cache
def _about_as_long(length: int) -> tuple[tuple[Common, ...], tuple[str, ...]]:
    slack = 1 if length <= 4 else 2
    these = tuple(one for one in common_words() if abs(len(one.sounds) - length) <= slack)
    return these, tuple(one.sounds for one in these)


def is_known(word: str) -> bool:
    return word.lower() in dictionary()


@cache
def sounds_of(word: str) -> str:
    """A word's sounds: the dictionary's; else its halves'; else by its spelling."""
    word = word.lower()
    known = dictionary()
    if word in known:
        return known[word]
    for at in range(len(word) - 3, 2, -1):
        if word[:at] in known and word[at:] in known:
            return known[word[:at]] + known[word[at:]]
    spelt = (_SPELT[match] for match in _SPELLINGS.findall(word))
    return "".join(_LETTER[sound] for sounds in spelt for sound in sounds.split())


def apart(one: str, other: str) -> float:
    """How far apart two runs of sounds are, in sounds."""
    by_kind = Levenshtein.distance(one.translate(_KIND), other.translate(_KIND))
    return (Levenshtein.distance(one, other) + by_kind) / 2


@cache
def neighbours(word: str, most: int = 8) -> tuple[tuple[Common, float], ...]:
    """Other common words that sound most like a word, nearest first, with how far apart they are [sounds]."""
    return tuple(one for one in nearest(sounds_of(word), most + 1) if one[0].word != word.lower())[:most]


@cache
def nearest(sounds: str, most: int) -> tuple[tuple[Common, float], ...]:
    """The common words nearest to a run of sounds. Only those about as long are looked at."""
    these, spoken = _about_as_long(len(sounds))
    if not these or not sounds:
        return ()
    exact = process.extract(sounds, spoken, scorer=Levenshtein.distance, processor=None, limit=60)
    near = [(these[at], apart(sounds, these[at].sounds)) for _, _, at in exact]
    # A twelfth of a sound for each factor e of rareness: of two as near, the one said more is taken.
    return tuple(sorted(near, key=lambda one: (one[1] - one[0].log_share / 12, one[0].word))[:most])


@cache
def broken_up(word: str) -> tuple[str, ...]:
    """A word as a row of common words that together sound like it: how a recogniser writes what it lacks."""
    sounds = sounds_of(word)
    best: list[tuple[float, tuple[str, ...]]] = [(0.0, ())]
    for end in range(1, len(sounds) + 1):
        options = []
        for start in range(max(0, end - 7), end):
            for one, far in nearest(sounds[start:end], 2):
                if one.word != word.lower():
                    cost, words = best[start]
                    options.append((cost + far + 0.6 - one.log_share / 30, (*words, one.word)))
        best.append(min(options, default=(math.inf, ())))
    return best[-1][1]
