"""From what somebody calls a part to the part of the family that is meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from pegwood.anatomy.construction import WITHIN, Construction
from pegwood.anatomy.parts import Part
from pegwood.trade.names import plain

#: How many parts a refusal names.
MOST_CANDIDATES = 5


class NotOnePart(ValueError):
    """
    A name that no part of the family has, or several.

    Attributes
    ----------
    said : str
        As it was said.
    candidates : tuple of Part
        Those that have the name; where none has, those whose names come nearest, best first.
    """

    def __init__(self, said: str, candidates: tuple[Part, ...], why: str) -> None:
        self.said = said
        self.candidates = candidates
        super().__init__(why)


def find_part(construction: Construction, said: str) -> Part:
    """
    The part that is meant.

    A part answers to its id, to its name, and, where no other part of the family answers to it too, to its
    other names and to its id without the mechanism's ("slow-train"). Case, dashes and an s at the end do not
    matter. A part's own name goes before another's other name. Nothing is guessed.

    Parameters
    ----------
    construction : Construction
        The family's.
    said : str
        Id, name or other name.

    Raises
    ------
    NotOnePart
        If no part is called so, or several are; the candidates are named.
    """
    wanted = _bare(said)
    if not wanted:
        raise NotOnePart(said, (), "Name a part. `pegwood strip parts` lists them.")
    found, near = _meant(construction, wanted)
    if len(found) == 1:
        return found[0]
    if found:
        several = ", ".join(f"{part.name} ({part.id})" for part in found[:MOST_CANDIDATES])
        more = f" and {len(found) - MOST_CANDIDATES} more" if len(found) > MOST_CANDIDATES else ""
        raise NotOnePart(
            said, found, f"{said!r} may be several parts of this family: {several}{more}. Say which."
        )
    told = ", ".join(f"{part.name} ({part.id})" for part in near) or "none"
    raise NotOnePart(
        said,
        near,
        f"{said!r} is no part of this family. Nearest: {told}. `pegwood strip parts` lists them.",
    )


#: By family: what was asked of it of late. A page asks for the same names at every press, and to look for
#: those that are near takes ten milliseconds. A construction that was read anew is another one.
_lately: dict[str, tuple[Construction, dict[str, tuple[tuple[Part, ...], tuple[Part, ...]]]]] = {}
MOST_KEPT = 500


def _meant(construction: Construction, wanted: str) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    """The parts of that name; where there is none, those whose names come nearest."""
    kept = _lately.get(construction.id)
    if kept is None or kept[0] is not construction or len(kept[1]) >= MOST_KEPT:
        _lately[construction.id] = kept = construction, {}
    if wanted not in kept[1]:
        kept[1][wanted] = _looked_for(construction, wanted)
    return kept[1][wanted]


def _looked_for(construction: Construction, wanted: str) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    parts = construction.parts.values()
    for names_of in (_ids, _names, _other_names):
        found = tuple(part for part in parts if wanted in map(_bare, names_of(part)))
        if found:
            return found, ()
    return (), _nearest(wanted, parts)


def _ids(part: Part) -> tuple[str, ...]:
    return (part.id,)


def _names(part: Part) -> tuple[str, ...]:
    return (part.name,)


def _other_names(part: Part) -> tuple[str, ...]:
    return (*part.also, part.id.partition(WITHIN)[2])


def _bare(name: str) -> str:
    """A name as names are compared here: plain, and whether of one or of several does not matter."""
    return plain(name).removesuffix("s")


def _nearest(wanted: str, parts: Iterable[Part]) -> tuple[Part, ...]:
    """Parts with all the words first, then those that look alike."""
    words = set(wanted.split())
    holding: list[Part] = []
    spelled: dict[str, Part] = {}
    for part in parts:
        names = [_bare(one) for one in (part.name, *_other_names(part), part.id)]
        if any(words <= set(name.replace(WITHIN, " ").split()) for name in names):
            holding.append(part)
        for name in names:
            spelled.setdefault(name, part)
    alike = difflib.get_close_matches(wanted, spelled, n=MOST_CANDIDATES, cutoff=0.5)
    found = {part.id: part for part in (*holding, *(spelled[name] for name in alike))}
    return tuple(found.values())[:MOST_CANDIDATES]
