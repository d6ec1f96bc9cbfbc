"""What grows on a material, and what that is which was seen."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.metals._tables import CORROSION, Corrosion
from pegwood.trade.names import UnknownWord, find, plain, spellings
from pegwood.trade.reference import Reference

#: Words that say nothing of a look.
SILENT = frozenset(
    {"a", "an", "and", "are", "at", "by", "from", "has", "have", "i", "in", "is", "it", "its", "like", "of"}
    | {"on", "or", "some", "the", "there", "this", "to", "under", "where", "with"}
)
#: How much a word found in the name, the look or the test bears.
IN_NAME, IN_LOOK, IN_TELL = 3, 2, 1
#: Too few letters to tell a stem from another word.
SHORTEST_STEM = 3
#: What a stem takes in English; other letters behind it make another word, or finish a half-typed one.
ENDINGS = frozenset(["s", "es", "d", "ed", "y", "ty", "ly", "ing", "ish", "ness"])


@dataclass(frozen=True, kw_only=True)
class Seen:
    """
    What may be meant by a look.

    Attributes
    ----------
    likely : tuple of Corrosion
        The best fit first.
    materials : tuple of Material
        The materials that the words named; empty where they named none.
    """

    likely: tuple[Corrosion, ...]
    materials: tuple[Material, ...]


def corrosion_of(reference: Reference, material: str) -> tuple[Corrosion, ...]:
    """
    What corrosion or decay comes on a material, in the order of the table; empty where the tables know none.

    Raises
    ------
    UnknownWord
        If no material has that name.
    """
    return _on(reference, [find(reference.rows(MATERIALS), material, "material")])


def corrosion_on(reference: Reference, materials: Iterable[str], words: str) -> tuple[Corrosion, ...]:
    """
    What words about a part may mean among what comes on its materials, the best fit first.

    Words that say nothing of corrosion ("at the hinge") are passed over: somebody described a part and did
    not ask. What fits no better than by a word of a look is left out.

    Parameters
    ----------
    materials : iterable of str
        Keys of the part's materials.
    words : str
        How it was found, such as "green verdigris at the contacts".
    """
    among = [row for row in reference.rows(CORROSION).values() if set(materials) & set(row.bases)]
    wanted = [word for word in dict.fromkeys(_words(words)) if word not in SILENT]
    fits = [(fit, row) for row in among if (fit := _fit(wanted, row)) >= IN_NAME]
    best = max((fit for fit, _ in fits), default=0)
    return tuple(row for fit, row in sorted(fits, key=lambda one: -one[0]) if fit * 2 > best)


def corrosion_seen(reference: Reference, words: str) -> Seen:
    """
    What a look may be, such as "white powder on zinc".

    Words are compared by their stems with the names and looks in the table; a material in the words leaves
    only what comes on it.

    Raises
    ------
    UnknownWord
        If the words fit nothing in the table.
    """
    materials, rest = _materials_in(reference, words)
    among = _on(reference, materials) if materials else tuple(reference.rows(CORROSION).values())
    wanted = [word for word in rest if word not in SILENT]
    if not wanted:
        fits = {row.key: 1 for row in among} if materials else {}
    else:
        fits = {row.key: fit for row in among if (fit := _fit(wanted, row))}
    if not fits:
        on = f" on {' or '.join(one.name for one in materials)}" if materials else ""
        known = (look for row in among for look in spellings(row)[1:])
        raise UnknownWord(words, f"look of corrosion or decay{on}", sorted(known)[:3])
    best = max(fits.values())
    likely = [row for row in among if fits.get(row.key, 0) * 2 > best]
    return Seen(
        likely=tuple(sorted(likely, key=lambda row: -fits[row.key])),
        materials=tuple(materials),
    )


def _on(reference: Reference, materials: Iterable[Material]) -> tuple[Corrosion, ...]:
    keys = {one.key for one in materials}
    return tuple(row for row in reference.rows(CORROSION).values() if keys & set(row.bases))


def _materials_in(reference: Reference, words: str) -> tuple[list[Material], list[str]]:
    """The materials named in the words, and the words that are left."""
    text = f" {' '.join(_words(words))} "
    rows = reference.rows(MATERIALS).values()
    whole = [(name, row) for row in rows for name in spellings(row) if f" {name} " in text]
    if whole:
        longest = max(len(name) for name, _ in whole)
        named = {name: row for name, row in whole if len(name) == longest}
        for name in named:
            text = text.replace(f" {name} ", " ")
        return list(dict.fromkeys(named.values())), text.split()
    # "on zinc": a part of a name stands for all that bear it
    _, on, after = text.rpartition(" on ")
    parts = [row for row in rows if on and set(after.split()) & set(plain(row.key).split())]
    left = text.removesuffix(after).split() if parts else text.split()
    return parts, left


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", plain(text))


def _fit(wanted: list[str], row: Corrosion) -> int:
    """How well words fit a row; a word counts once, where it bears most."""
    places = (
        (IN_NAME, _words(" ".join(spellings(row)))),
        (IN_LOOK, _words(row.look)),
        (IN_TELL, _words(row.tell)),
    )
    return sum(
        next((bears for bears, there in places if any(_same_stem(word, one) for one in there)), 0)
        for word in wanted
    )


def _same_stem(one: str, other: str) -> bool:
    """Whether two words are the same but for an ending: wax and waxy, powder and powdery."""
    if one == other:
        return True
    short, long = sorted((one, other), key=len)
    if len(short) < SHORTEST_STEM or not long.startswith(short):
        return False
    ending = long[len(short) :]
    if ending[0] == short[-1]:
        ending = ending[1:]  # pit and pitted; "bras" and "brass" are two words
    return ending in ENDINGS
