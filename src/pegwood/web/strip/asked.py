"""What somebody wants of a way in, from an address and back into one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal, Protocol, get_args
from urllib.parse import urlencode

from pegwood.anatomy.construction import WITHIN, Construction
from pegwood.anatomy.part_names import NotOnePart, find_part
from pegwood.anatomy.parts import JoinKind, Part, Side

#: In an address, all coverings of a family.
COVERING = "covering"
#: Between a part and one of its ways in an address; neither has it.
BY = "~"
#: More parts than a camera has, so that nobody's address keeps the planner busy.
MOST_NAMED = 200
#: The longest name of a part that is looked for.
LONGEST_NAME = 80


class Lists(Protocol):
    """What Django's QueryDict gives: every value of a name."""

    def getlist(self, name: str, /) -> list[str]:
        """The values of a name, in their order."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """
    What somebody wants.

    Attributes
    ----------
    reach, off, spare : tuple of str
        Parts by id: to be reached, off already, to stay.
    avoid : tuple of str
        Kinds of joints not to be undone: "glue".
    only_from : str
        The side to go in from; empty for any.
    without : tuple of (str, str)
        Ways that are not to be gone: part, and the way's name.
    whole : bool
        Whether the whole family is drawn, to pick from.
    """

    reach: tuple[str, ...] = ()
    off: tuple[str, ...] = ()
    spare: tuple[str, ...] = ()
    avoid: tuple[str, ...] = ()
    only_from: str = ""
    without: tuple[tuple[str, str], ...] = ()
    whole: bool = False

    def reaching(self, part: str) -> Asked:
        """The same with one more part to reach; it is then neither off nor spared."""
        return replace(
            self,
            reach=tuple(dict.fromkeys((*self.reach, part))),
            off=_less(self.off, part),
            spare=_less(self.spare, part),
        )

    def not_reaching(self, part: str) -> Asked:
        """The same without a part to reach."""
        return replace(self, reach=_less(self.reach, part))

    def with_off(self, part: str) -> Asked:
        """The same with a part that has come off."""
        return replace(self, off=tuple(dict.fromkeys((*self.off, part))))

    def not_off(self, part: str) -> Asked:
        """The same with a part that is still on."""
        return replace(self, off=_less(self.off, part))

    def sparing(self, part: str) -> Asked:
        """The same with one more part to stay; it is then not to be reached."""
        spare = tuple(sorted({*self.spare, part}))
        return replace(self, spare=spare, reach=_less(self.reach, part))

    def not_by(self, part: str, way: str) -> Asked:
        """The same without one way of a part."""
        return replace(self, without=tuple(dict.fromkeys((*self.without, (part, way)))))


@dataclass(frozen=True)
class Amiss:
    """A name in an address that could not be taken: why, the parts it may mean, and what was wanted of it."""

    says: str
    candidates: tuple[Part, ...] = ()
    wanted: Literal["reach", "off", "spare"] = "reach"


class Links(Protocol):
    """
    Where a press leads.

    The page of a family keeps all in its address; a job's page may store it instead.
    """

    @property
    def stores(self) -> bool:
        """Whether a press changes something that is kept, and so is sent by a form."""

    def to(self, asked: Asked) -> str:
        """Where a press leads that asks for this, and keeps it if presses are kept."""

    def look(self, asked: Asked) -> str:
        """The address of a page that shows this and keeps nothing: for what can only be a link."""

    def form(self) -> str:
        """The address that the search and the options are sent to."""


@dataclass(frozen=True)
class QueryLinks:
    """All of it in the address, so that a link can be kept or handed on."""

    path: str
    covers: frozenset[str]
    stores: bool = False

    def to(self, asked: Asked) -> str:
        """The page's path with what is asked."""
        query = urlencode(pairs(asked, self.covers))
        return f"{self.path}?{query}" if query else self.path

    def look(self, asked: Asked) -> str:
        """The same: nothing is kept."""
        return self.to(asked)

    def form(self) -> str:
        """The page's path: its fields are the query."""
        return self.path


def pairs(asked: Asked, covers: frozenset[str]) -> list[tuple[str, str]]:
    """What is asked as the names and values of an address; `covers` are the family's coverings."""
    covered = covers_are_spared(asked, covers)
    spare = [one for one in asked.spare if not (covered and one in covers)]
    return [
        *(("reach", one) for one in asked.reach),
        *(("off", one) for one in asked.off),
        *([("spare", COVERING)] if covered else []),
        *(("spare", one) for one in spare),
        *(("avoid", one) for one in asked.avoid),
        *([("from", asked.only_from)] if asked.only_from else []),
        *(("without", f"{part}{BY}{way}") for part, way in asked.without),
        *([("view", "whole")] if asked.whole else []),
    ]


def covers_are_spared(asked: Asked, covers: frozenset[str]) -> bool:
    """Whether every covering that is not to be reached itself is to stay."""
    others = covers.difference(asked.reach)
    return bool(others) and others <= set(asked.spare)


def coverings(construction: Construction) -> frozenset[str]:
    """The coverings of a family: what its covering mechanism glues on, and what is called so."""
    return frozenset(
        part.id
        for part in construction.parts.values()
        if any(join.kind == "glue" for join in part.joins)
        and (part.id.partition(WITHIN)[0] == COVERING or COVERING in part.name.split())
    )


def asked_from(query: Lists, construction: Construction) -> tuple[Asked, tuple[Amiss, ...]]:
    """
    What an address asks for, and what in it could not be taken; the rest is kept.

    Parts are understood by id or by any name; `find` is one more to reach.
    """
    amiss: list[Amiss] = []

    def part_ids(
        values: Iterable[str], wanted: Literal["reach", "off", "spare"] = "reach"
    ) -> tuple[str, ...]:
        found: list[str] = []
        for said in list(values)[:MOST_NAMED]:
            name = said.replace("\0", "").strip()[:LONGEST_NAME]
            if not name:
                continue
            try:
                found.append(find_part(construction, name).id)
            except NotOnePart as unsure:
                amiss.append(Amiss(told(name, unsure), unsure.candidates, wanted))
        return tuple(dict.fromkeys(found))

    reach = part_ids((*query.getlist("reach"), *query.getlist("find")))
    spared = query.getlist("spare")
    spare = {*part_ids((one for one in spared if one != COVERING), "spare")}
    if COVERING in spared:
        spare |= coverings(construction) - set(reach)
    if both := spare & set(reach):
        names = _names(construction, both)
        amiss.append(Amiss(f"{names} cannot be reached and spared. It is to be reached."))
    off = part_ids(query.getlist("off"), "off")
    asked = Asked(
        reach=reach,
        off=off,
        spare=tuple(sorted(spare - set(reach))),
        avoid=_known(query.getlist("avoid"), get_args(JoinKind), "no kind of joint", amiss),
        only_from="".join(_known(query.getlist("from")[-1:], get_args(Side), "no side", amiss)),
        without=_ways(query.getlist("without"), construction, amiss),
        whole="whole" in query.getlist("view"),
    )
    return asked, tuple(amiss)


def told(name: str, unsure: NotOnePart) -> str:
    """Why a name could not be taken, before the parts that may be meant."""
    names = (said.casefold() for one in unsure.candidates for said in (one.name, *one.also))
    if name.casefold() in names:
        return f"'{name}' may be several parts here. Which?"
    near = " Nearest:" if unsure.candidates else " Look it up among the parts below."
    return f"'{name}' is no part of this family.{near}"


def _known(values: list[str], known: Iterable[str], what: str, amiss: list[Amiss]) -> tuple[str, ...]:
    known = tuple(known)
    said = dict.fromkeys(one.strip() for one in values[:MOST_NAMED] if one.strip())
    for one in said:
        if one not in known:
            amiss.append(Amiss(f"'{one[:LONGEST_NAME]}' is {what}. Expected one of: {', '.join(known)}."))
    return tuple(one for one in said if one in known)


def _ways(values: list[str], construction: Construction, amiss: list[Amiss]) -> tuple[tuple[str, str], ...]:
    found: list[tuple[str, str]] = []
    for said in values[:MOST_NAMED]:
        part, _, way = said.partition(BY)
        ways = construction.parts[part].ways if part in construction.parts else ()
        if way in {one.name for one in ways}:
            found.append((part, way))
        else:
            amiss.append(Amiss(f"'{said[:LONGEST_NAME]}' is no way of a part of this family."))
    return tuple(dict.fromkeys(found))


def _names(construction: Construction, parts: Iterable[str]) -> str:
    return ", ".join(sorted(construction.parts[one].name for one in parts))


def _less(parts: tuple[str, ...], part: str) -> tuple[str, ...]:
    return tuple(one for one in parts if one != part)


def without_ways(construction: Construction, ways: Iterable[tuple[str, str]]) -> Construction:
    """The family without some ways of its parts."""
    gone: Mapping[str, set[str]] = _by_part(ways)
    if not gone:
        return construction
    parts = {
        part.id: replace(part, ways=tuple(way for way in part.ways if way.name not in gone[part.id]))
        if part.id in gone
        else part
        for part in construction.parts.values()
    }
    return replace(construction, parts=parts)


def _by_part(ways: Iterable[tuple[str, str]]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for part, way in ways:
        found.setdefault(part, set()).add(way)
    return found
