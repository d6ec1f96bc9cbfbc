"""
The way in as a page shows it: what is told in a line, the picture, the list for the bench, other ways.

Pure but for the links it is handed: the page of a family keeps what is asked in its address, a job's page may
store it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part
from pegwood.anatomy.planning import Unreachable
from pegwood.anatomy.planning.in_reach import InReach, in_reach
from pegwood.anatomy.planning.plan import Alternative, Plan
from pegwood.anatomy.planning.plan import plan as planned
from pegwood.trade.reference import Reference
from pegwood.web.strip.asked import (
    Amiss,
    Asked,
    Links,
    coverings,
    covers_are_spared,
    pairs,
    without_ways,
)
from pegwood.web.strip.nodes import GroupShown, Nodes, Press
from pegwood.web.strip.steps import InHand, group_of, in_hand
from pegwood.web.way_picture import Picture

FIRST = "Common practice. The maker's service sheet comes first."
SIDES = ("front", "top", "base", "back")
#: As many more parts as one looks through.
MOST_ALTERNATIVES = 6


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One of an option's values, as a tile of a form."""

    name: str
    value: str
    says: str
    is_on: bool
    kind: str = "checkbox"


@dataclass(frozen=True, kw_only=True)
class Told:
    """
    The plan in one line: all in whole minutes.

    Attributes
    ----------
    parts, minutes, changes, with_risks : int
        How many come off; usual minutes of all, of them for tools and turns; all with what may go wrong.
    proof : str
        Whether something cheaper may exist.
    dearer : str
        What the options cost; empty for nothing.
    """

    parts: int
    minutes: int
    changes: int
    with_risks: int
    proof: str
    dearer: str


@dataclass(frozen=True, kw_only=True)
class WayIn:
    """
    All that is shown of a way in.

    Attributes
    ----------
    reach, off, without : tuple of Press
        What is asked for, each to be taken back by a press.
    options : tuple of Choice
        Spare the covering, avoid glued joints.
    sides : tuple of Choice
        Where to go in from.
    hidden : tuple of (str, str)
        What a form sends along of what is asked.
    amiss : tuple of (str, str, tuple of Press)
        What could not be taken; what a press on what may be meant does, and these.
    told : Told or None
        None where nothing is to be reached, or nothing is left to do.
    closed : str
        Why there is no way in; empty where there is one.
    is_done : bool
        Whether all that was to be reached is off.
    picture : Picture or None
    steps : tuple of InHand
    alternatives, meanwhile : tuple of Press
        Other ways, with what they cost more; what else can be done while one is in there.
    names : tuple of str
        Of all parts that come off, to choose from while typing.
    groups : tuple of GroupShown
        The family's mechanisms.
    view : Press
        To the whole family's picture and back.
    links : Links
    """

    reach: tuple[Press, ...]
    off: tuple[Press, ...]
    without: tuple[Press, ...]
    options: tuple[Choice, ...]
    sides: tuple[Choice, ...]
    hidden: tuple[tuple[str, str], ...]
    amiss: tuple[tuple[str, str, tuple[Press, ...]], ...]
    told: Told | None
    closed: str
    is_done: bool
    picture: Picture | None
    steps: tuple[InHand, ...]
    alternatives: tuple[Press, ...]
    meanwhile: tuple[Press, ...]
    names: tuple[str, ...]
    groups: tuple[GroupShown, ...]
    view: Press
    links: Links
    first: str = FIRST


def way_in(
    construction: Construction,
    asked: Asked,
    links: Links,
    reference: Reference,
    amiss: Iterable[Amiss] = (),
) -> WayIn:
    """
    The way in to what is asked.

    Parameters
    ----------
    construction : Construction
        The family's.
    asked : Asked
        Its parts are the family's.
    links : Links
        Where presses lead.
    reference : Reference
        The trade's tables: what perishes or wants a lubricant.
    amiss : iterable of Amiss
        What of an address could not be taken.
    """
    planned_so = _planned(_Same(construction), replace(asked, whole=False), reference)
    found, closed = planned_so.plan, planned_so.closed
    steps = found.steps if found else ()
    nodes = Nodes(construction, asked, links, steps, planned_so.meanwhile)
    return WayIn(
        reach=tuple(_press(construction, one, links.to(asked.not_reaching(one))) for one in asked.reach),
        off=tuple(_press(construction, one, links.to(asked.not_off(one))) for one in asked.off),
        without=tuple(_taken_back(construction, asked, links)),
        options=_options(construction, asked),
        sides=_sides(asked),
        hidden=_hidden(construction, asked),
        amiss=tuple(_meant(asked, links, one) for one in amiss),
        told=_told(found) if found and steps else None,
        closed=closed,
        is_done=bool(asked.reach and found and not steps),
        picture=nodes.of_the_way() if steps else None,
        steps=in_hand(construction, steps, asked.reach, lambda part: links.to(asked.with_off(part))),
        alternatives=_alternatives(construction, asked, links, found),
        meanwhile=tuple(
            _meanwhile(one, links.to(asked.reaching(one.part.id))) for one in planned_so.meanwhile
        ),
        names=tuple(dict.fromkeys(part.name for part in construction.parts.values() if part.ways)),
        groups=nodes.of_the_family(),
        view=Press(
            says="Chips only" if asked.whole else "Pick on pictures",
            href=links.look(replace(asked, whole=not asked.whole)) + "#family",
            is_on=asked.whole,
        ),
        links=links,
    )


class _Same:
    """A family as a key: the same object is the same family, and is kept as long as the key."""

    def __init__(self, construction: Construction) -> None:
        self.construction = construction

    def __hash__(self) -> int:
        return id(self.construction)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.construction is self.construction


@dataclass(frozen=True)
class _PlannedSo:
    """A plan and what else comes off for little more, or why there is none."""

    plan: Plan | None = None
    meanwhile: tuple[InReach, ...] = ()
    closed: str = ""


@lru_cache(maxsize=64)
def _planned(family: _Same, asked: Asked, reference: Reference) -> _PlannedSo:
    """The plan; kept, as a press often leads back."""
    if not asked.reach:
        return _PlannedSo()
    construction = without_ways(family.construction, asked.without)
    try:
        found = planned(
            construction,
            asked.reach,
            asked.off,
            asked.spare,
            avoid=asked.avoid,
            only_from=(asked.only_from,) if asked.only_from else (),
        )
    except Unreachable as closed:
        return _PlannedSo(closed=_without_ids(construction, str(closed)))
    return _PlannedSo(found, in_reach(construction, found, reference=reference) if found.steps else ())


def _without_ids(construction: Construction, told: str) -> str:
    """A refusal as the page tells it: a repairer knows the part by its name."""
    for part in construction.parts:
        told = told.replace(f" ({part})", "")
    return told[:1].upper() + told[1:]


def _told(found: Plan) -> Told:
    risks = sum(step.risk_minutes for step in found.steps)
    proof = (
        "proved the cheapest"
        if found.is_optimal
        else f"at most {found.gap:.0%} dearer than the cheapest there can be"
    )
    if found.order_gap_min > 0:
        proof += f"; another order might save up to {found.order_gap_min:g} min of changes"
    dearer = f"{found.dearer_min:.0f} min of it for what you keep out of" if found.dearer_min >= 0.5 else ""
    return Told(
        parts=len(found.steps),
        minutes=round(found.minutes),
        changes=round(found.changes_min),
        with_risks=round(found.minutes + risks),
        proof=proof,
        dearer=dearer,
    )


def _press(construction: Construction, part: str, href: str) -> Press:
    return _named(construction.parts[part], href)


def _named(part: Part, href: str) -> Press:
    return Press(says=part.name, beside=group_of(part.id), href=href)


def _meant(asked: Asked, links: Links, amiss: Amiss) -> tuple[str, str, tuple[Press, ...]]:
    """What could not be taken, and what may have been meant, each to be pressed."""
    does, then = {
        "reach": ("Reach the", asked.reaching),
        "off": ("It is off: the", asked.with_off),
        "spare": ("Spare the", asked.sparing),
    }[amiss.wanted]
    return amiss.says, does, tuple(_named(part, links.to(then(part.id))) for part in amiss.candidates)


def _taken_back(construction: Construction, asked: Asked, links: Links) -> Iterable[Press]:
    for part, way in asked.without:
        left = tuple(one for one in asked.without if one != (part, way))
        yield Press(
            says=f"{construction.parts[part].name}, not {way}" if way else construction.parts[part].name,
            href=links.to(replace(asked, without=left)),
        )


def _options(construction: Construction, asked: Asked) -> tuple[Choice, ...]:
    covers = coverings(construction)
    found = []
    if covers.difference(asked.reach):
        is_on = covers_are_spared(asked, covers)
        found.append(Choice(name="spare", value="covering", says="Spare the covering", is_on=is_on))
    found.append(Choice(name="avoid", value="glue", says="Avoid glued joints", is_on="glue" in asked.avoid))
    return tuple(found)


def _sides(asked: Asked) -> tuple[Choice, ...]:
    kept = (*SIDES, asked.only_from) if asked.only_from not in ("", *SIDES) else SIDES
    return tuple(
        Choice(
            name="from",
            value=side,
            says=f"Only from the {side}" if side else "From any side",
            is_on=side == asked.only_from,
            kind="radio",
        )
        for side in ("", *kept)
    )


def _hidden(construction: Construction, asked: Asked) -> tuple[tuple[str, str], ...]:
    """All that is asked but what the form's own tiles say."""
    own = {("spare", "covering"), ("avoid", "glue")}
    return tuple(one for one in pairs(asked, coverings(construction)) if one not in own and one[0] != "from")


def _alternatives(
    construction: Construction, asked: Asked, links: Links, found: Plan | None
) -> tuple[Press, ...]:
    if found is None:
        return ()
    told = []
    for one in found.alternatives[:MOST_ALTERNATIVES]:
        step = one.instead_of
        way = f", not {step.way.name}" if step.way.name else ", another way"
        told.append(
            Press(
                says=f"{step.part.name}{way}",
                beside=_more_minutes(one, found) + _difference(construction, one),
                href=links.to(asked.not_by(step.part.id, step.way.name)),
            )
        )
    return tuple(told)


def _meanwhile(one: InReach, href: str) -> Press:
    besides = [step.part.name for step in one.steps[:-1]]
    after = f"; off too: {', '.join(besides)}" if besides else ""
    return Press(
        says=one.part.name,
        beside=f"+{one.extra:.0f} min{after}. {one.worth.says[:1].upper()}{one.worth.says[1:]}",
        href=href,
    )


def _more_minutes(one: Alternative, found: Plan) -> str:
    more = round(one.cost - found.cost)
    return f"{more} min more" if more else "as quick"


def _difference(construction: Construction, one: Alternative) -> str:
    def names(parts: Iterable[str]) -> str:
        return ", ".join(construction.parts[part].name for part in parts)

    more = f"; off too: {names(one.more)}" if one.more else ""
    fewer = f"; stays: {names(one.fewer)}" if one.fewer else ""
    return more + fewer
