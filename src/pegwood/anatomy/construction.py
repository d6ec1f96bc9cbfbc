"""
A family's construction: mechanisms put together, their parts under the family's names, and parts of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from pegwood.anatomy.families import Family, Shutter
from pegwood.anatomy.mechanism import (
    OUTSIDE,
    Mechanism,
    check_named,
    check_parts,
    mechanisms,
    spoken_of,
)
from pegwood.anatomy.parts import Join, Minutes, Part
from pegwood.anatomy.planning import Removal, StripDown, loop_among
from pegwood.trade.grounds import Ground, Mark
from pegwood.trade.names import nearest, plain
from pegwood.trade.reference import Reference
from pegwood.trade.typed_toml import Source, built

#: Between a mechanism's name in the family and a part's id in the mechanism: "shutter.cocking-ring".
WITHIN = "."
FOLDER = Path(__file__).parent / "constructions"


@dataclass(frozen=True, kw_only=True)
class Bind:
    """Which part of the family a mechanism means by a name that it only speaks of; empty: there is none."""

    need: str
    part: str


@dataclass(frozen=True, kw_only=True)
class Use:
    """
    A mechanism in a family.

    Attributes
    ----------
    mechanism : str
        Its id.
    called : str
        What its parts are called by in this family: "shutter".
    bind : tuple of Bind
        For each of the mechanism's needs.
    without : tuple of str
        Parts of the mechanism, by id, that this family never has.
    """

    mechanism: str
    called: str
    bind: tuple[Bind, ...] = ()
    without: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Also:
    """Parts that must be off before another in this family, whatever its mechanism says."""

    part: str
    after: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Learned:
    """
    What jobs taught of a part when the file was last written: what came off before it.

    Whatever of the file differs from it was changed by a person, and stays when more jobs are learned from.
    """

    part: str
    after: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _File:
    id: str
    name: str
    source: str
    mark: Mark
    use: tuple[Use, ...] = ()
    part: tuple[Part, ...] = ()
    also: tuple[Also, ...] = ()
    shutter: Shutter = ""
    picked: tuple[str, ...] = ()
    learned: tuple[Learned, ...] = ()

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)
        if not self.id or self.id != self.id.strip().lower() or " " in self.id:
            raise ValueError(f"the id is {self.id!r}. Expected lower case and dashes, as 'half-frame'.")
        if not self.name.strip():
            raise ValueError("the name is empty.")
        if not (self.use or self.part):
            raise ValueError("expected at least one mechanism, under [[use]], or one part, under [[part]].")
        if not all(one.strip() for one in self.picked):
            raise ValueError("picked holds an empty name.")


@dataclass(frozen=True, kw_only=True)
class Construction:
    """
    How cameras of a family are put together.

    Attributes
    ----------
    id, name : str
        The family's.
    parts : mapping of str to Part
        By their id in the family; what they speak of has its id in the family too.
    ground : Ground
        What the putting together rests on; every part has its own besides.
    shutter : str
        ``"leaf"``, ``"focal-plane"``, or empty where it may be either.
    picked : tuple of str
        Names of parts that are offered when such a camera is looked over; empty for all there are.
    learned : tuple of Learned
        Of a family that was drafted from jobs.
    uses : tuple of Use
        The mechanisms it is put together from.
    """

    id: str
    name: str
    parts: Mapping[str, Part]
    ground: Ground
    shutter: Shutter = ""
    picked: tuple[str, ...] = ()
    learned: tuple[Learned, ...] = ()
    uses: tuple[Use, ...] = ()

    def with_minutes(self, learned: Mapping[tuple[str, str], tuple[Minutes, str]]) -> Construction:
        """
        The same with minutes from this bench; the file's own are kept beside them, `Way.file_minutes`.

        Parameters
        ----------
        learned : mapping of (str, str) to (Minutes, str)
            By part and name of the way: the minutes, and what they rest on. What is not there stays as it is.
        """
        parts = dict(self.parts)
        for (part, name), (minutes, rests_on) in learned.items():
            ways = tuple(
                replace(
                    way, minutes=minutes, file_minutes=way.file_minutes or way.minutes, minutes_from=rests_on
                )
                if way.name == name
                else way
                for way in parts[part].ways
            )
            parts[part] = replace(parts[part], ways=ways)
        return replace(self, parts=parts)

    def family(self) -> Family:
        """The same as a kind of camera to choose: its name, and the parts that are offered for a finding."""
        names = self.picked or tuple(dict.fromkeys(part.name for part in self.parts.values()))
        return Family(
            slug=self.id,
            name=self.name,
            shutter=self.shutter,
            parts=names,
            source=self.ground.source,
            mark=self.ground.mark,
        )

    def strip_down(self) -> StripDown:
        """The graph of it, for planning."""
        return StripDown(
            {
                part.id: tuple(
                    Removal(
                        after=frozenset(way.after),
                        cost=way.cost_minutes,
                        tool=way.tool,
                        side=way.side,
                        name=way.name,
                    )
                    for way in part.ways
                )
                for part in self.parts.values()
            }
        )


def read_construction(
    text: str,
    where: str,
    known: Mapping[str, Mechanism],
    reference: Reference | None = None,
    *,
    own: bool = False,
) -> Construction:
    """
    A family's construction from a file's text.

    Parameters
    ----------
    text : str
        TOML.
    where : str
        What to call the file in an error.
    known : mapping of str to Mechanism
        The mechanisms that it may use, by id.
    reference : Reference, optional
        The trade's tables, for the words of parts that stand in the file itself; those that came where none
        is given.
    own : bool
        Whether the workshop wrote it: then a part's materials may be left open.

    Raises
    ------
    TableError
        With file, line and place: if the text is none, holds neither a mechanism nor a part, names a
        mechanism or a part that is nowhere, leaves a need unbound, has two parts of one id, or parts would
        wait for each other in a ring (each of them is named).
    """
    source = Source(text, where)
    told = built(_File, source.table(), source)
    ground = Ground(told.source, told.mark, own)
    parts: dict[str, Part] = {}
    for place, use in enumerate(told.use):
        if use.mechanism not in known:
            near = ", ".join(nearest(use.mechanism, known)) or "none"
            raise source.error(
                ("use", place, "mechanism"), f"{use.mechanism!r} is no mechanism. Nearest: {near}."
            )
        if not use.called or WITHIN in use.called:
            raise source.error(
                ("use", place, "called"), f"it is called {use.called!r}. Expected a word without a dot."
            )
        for part in _used(known[use.mechanism], use, place, source):
            if part.id in parts:
                raise source.error(("use", place, "called"), f"{use.called!r} is called so twice.")
            parts[part.id] = part
    check_parts(told.part, source, reference or Reference(), own=own)
    for part in told.part:
        parts[part.id] = replace(part, source=part.source or told.source, mark=part.mark or told.mark)
    for place, part in enumerate(told.part):
        for at, named in spoken_of(part):
            check_named(named, part, ("part", place, *at), source, parts)
    for place, also in enumerate(told.also):
        if also.part not in parts:
            raise source.error(("also", place, "part"), _nowhere(also.part, parts))
        if also.part in also.after:
            raise source.error(("also", place, "after"), f"{also.part!r} cannot be in its own way.")
        parts[also.part] = _after_too(parts[also.part], also.after)
    found = Construction(
        id=told.id,
        name=told.name,
        parts=parts,
        ground=ground,
        shutter=told.shutter,
        picked=told.picked,
        learned=told.learned,
        uses=told.use,
    )
    _check(found, source, told)
    return found


def _used(mechanism: Mechanism, use: Use, place: int, source: Source) -> list[Part]:
    """The parts of a mechanism as a family has them."""
    bound = {one.need: one.part for one in use.bind}
    at = ("use", place)
    if missing := [need for need in mechanism.needs if need not in bound]:
        raise source.error(at, f"{mechanism.id!r} speaks of {missing[0]!r}: bind it to a part.")
    if strange := [need for need in bound if need not in mechanism.needs]:
        raise source.error((*at, "bind"), f"{mechanism.id!r} speaks of no {strange[0]!r}.")
    ids = {part.id for part in mechanism.part}
    if strange := [one for one in use.without if one not in ids]:
        raise source.error((*at, "without"), f"{mechanism.id!r} has no {strange[0]!r}.")

    def in_family(named: str) -> str:
        if named.startswith(OUTSIDE):
            return bound[named.removeprefix(OUTSIDE)]
        return f"{use.called}{WITHIN}{named}"

    gone = set(use.without)
    found = []
    for part in mechanism.part:
        if part.id in gone:
            continue
        joins = tuple(_joined(join, gone, in_family) for join in part.joins)
        ways = tuple(
            replace(way, after=tuple(filter(None, (in_family(one) for one in way.after if one not in gone))))
            for way in part.ways
        )
        found.append(
            replace(
                part,
                id=in_family(part.id),
                joins=joins,
                ways=ways,
                source=part.source or mechanism.source,
                mark=part.mark or mechanism.mark,
            )
        )
    return found


def _joined(join: Join, gone: set[str], in_family: Callable[[str], str]) -> Join:
    """A join with the family's names; what the family lacks hides nothing and holds nothing."""
    to, under = ("" if one in gone or not one else in_family(one) for one in (join.to, join.under))
    return replace(join, to=to, under=under)


def _after_too(part: Part, after: tuple[str, ...]) -> Part:
    ways = tuple(replace(way, after=tuple(dict.fromkeys((*way.after, *after)))) for way in part.ways)
    return replace(part, ways=ways)


def _check(found: Construction, source: Source, told: _File) -> None:
    for place, use in enumerate(told.use):
        for n, bind in enumerate(use.bind):
            if bind.part and bind.part not in found.parts:
                raise source.error(("use", place, "bind", n, "part"), _nowhere(bind.part, found.parts))
    for place, also in enumerate(told.also):
        if strange := [one for one in also.after if one not in found.parts]:
            raise source.error(("also", place, "after"), _nowhere(strange[0], found.parts))
    if ring := loop_among(found.strip_down()):
        after = " after ".join(_told(found.parts[one]) for one in ring)
        places = [("part", n) for n, part in enumerate(told.part) if part.id in ring]
        raise source.error(places[0] if places else (), f"these wait for each other: {after}.")


def _told(part: Part) -> str:
    """A part by its name; where its id says something else, by that too, as that is what the file has."""
    return part.name if plain(part.id) == plain(part.name) else f"{part.name} ({part.id})"


def _nowhere(named: str, parts: Mapping[str, Part]) -> str:
    return f"{named!r} is no part of this family. Nearest: {', '.join(nearest(named, parts)) or 'none'}."


@cache
def constructions() -> dict[str, Construction]:
    """The families' constructions that come with Pegwood, by the family's slug."""
    files = sorted(FOLDER.glob("*.toml"))
    read = [read_construction(path.read_text("utf-8"), path.name, mechanisms()) for path in files]
    return {one.id: one for one in read}
