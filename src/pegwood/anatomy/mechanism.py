"""Mechanisms: groups of parts that are built alike in many cameras, written once, read from TOML."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from pegwood.anatomy.parts import Part
from pegwood.trade.glues import GLUES
from pegwood.trade.grounds import Ground, Mark
from pegwood.trade.lubricants import PLACES
from pegwood.trade.materials import MATERIALS
from pegwood.trade.names import nearest
from pegwood.trade.reference import Reference
from pegwood.trade.threads import find_thread
from pegwood.trade.typed_toml import Place, Source, built

FOLDER = Path(__file__).parent / "mechanisms"
#: Before the name of a part that another mechanism has: the family says which it is.
OUTSIDE = "$"


@dataclass(frozen=True, kw_only=True)
class Mechanism:
    """
    A mechanism.

    Attributes
    ----------
    id, name : str
        Its short name, as its file's; and as it is told.
    part : tuple of Part
        Its parts.
    needs : tuple of str
        Names of parts that it does not have but speaks of, as ``"$name"``.
    source, mark : str
        As `pegwood.trade.grounds.Ground`, for every part that says nothing else.
    """

    id: str
    name: str
    source: str
    mark: Mark
    part: tuple[Part, ...]
    needs: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)


def read_mechanism(text: str, where: str, reference: Reference, *, own: bool = False) -> Mechanism:
    """
    A mechanism from a file's text.

    Parameters
    ----------
    text : str
        TOML.
    where : str
        What to call the file in an error.
    reference : Reference
        The trade's tables: materials, threads, glues and places to lubricate must be in them.
    own : bool
        Whether the workshop wrote it: then a part's materials may be left open.

    Raises
    ------
    TableError
        With file, line and place, if the text is no mechanism, two parts have one id, or a part speaks of
        something that is nowhere.
    """
    source = Source(text, where)
    mechanism = built(Mechanism, source.table(), source)
    check_parts(mechanism.part, source, reference, own=own)
    known = {part.id for part in mechanism.part}
    for place, part in enumerate(mechanism.part):
        for at, named in spoken_of(part):
            outside = named.removeprefix(OUTSIDE)
            if named == outside:
                check_named(named, part, ("part", place, *at), source, known)
            elif outside not in mechanism.needs:
                raise source.error(
                    ("part", place, *at),
                    f"{named!r} is not among 'needs': {', '.join(mechanism.needs) or 'none'}.",
                )
    return mechanism


def check_parts(parts: Iterable[Part], source: Source, reference: Reference, *, own: bool) -> None:
    """
    Refuse parts as a file writes them, under ``[[part]]``, whose ids or words are amiss.

    Raises
    ------
    TableError
        With file, line and place: an id with a dot or of two parts; a material, thread, glue or place to
        lubricate that no table holds; no material at all, unless the workshop's own file leaves it open.
    """
    known: set[str] = set()
    for place, part in enumerate(parts):
        if "." in part.id:
            raise source.error(
                ("part", place, "id"),
                f"{part.id!r} has a dot, as mechanisms' parts have in families.",
            )
        if part.id in known:
            raise source.error(("part", place, "id"), f"{part.id!r} is the id of two parts.")
        known.add(part.id)
        if not (part.materials or own):
            raise source.error(("part", place), f"{part.id!r} needs at least one material.")
        _check_words(part, place, source, reference)


def spoken_of(part: Part) -> Iterator[tuple[Place, str]]:
    """Every other part that a part speaks of, and where."""
    for n, join in enumerate(part.joins):
        yield from (
            (("joins", n, field), one) for field, one in (("to", join.to), ("under", join.under)) if one
        )
    for n, way in enumerate(part.ways):
        yield from ((("ways", n, "after"), one) for one in way.after)


def check_named(named: str, part: Part, place: Place, source: Source, known: Collection[str]) -> None:
    """Refuse the name of a part, spoken of by another, that is that other or nowhere."""
    if named == part.id:
        raise source.error(place, f"{named!r} cannot be in its own way.")
    if named not in known:
        raise source.error(place, f"{named!r} is the id of no part here. Nearest: {_near(named, known)}.")


def _check_words(part: Part, place: int, source: Source, reference: Reference) -> None:
    for key in part.materials:
        if key not in reference.rows(MATERIALS):
            near = _near(key, map(str, reference.rows(MATERIALS)))
            raise source.error(("part", place, "materials"), f"{key!r} is no material. Nearest: {near}.")
    for n, join in enumerate(part.joins):
        if join.thread:
            try:
                find_thread(reference, join.thread)
            except ValueError as unknown:
                raise source.error(("part", place, "joins", n, "thread"), str(unknown)) from None
    back = ("part", place, "back")
    _check_in(part.back.lubricate, reference.rows(PLACES), (*back, "lubricate"), source)
    _check_in(part.back.glue, reference.rows(GLUES), (*back, "glue"), source)


def _check_in(word: str, rows: Mapping[Hashable, object], place: Place, source: Source) -> None:
    if word and word not in rows:
        raise source.error(place, f"{word!r} is in no table. Nearest: {_near(word, map(str, rows))}.")


def _near(word: str, names: Iterable[str]) -> str:
    return ", ".join(nearest(word, names)) or "none"


@cache
def mechanisms() -> dict[str, Mechanism]:
    """The mechanisms that come with Pegwood, by id."""
    reference = Reference()
    files = sorted(FOLDER.glob("*.toml"))
    read = [read_mechanism(path.read_text("utf-8"), path.name, reference) for path in files]
    return {mechanism.id: mechanism for mechanism in read}
