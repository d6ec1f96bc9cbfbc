"""How a whole assembly may be cleaned: what is open, what to take off for more, what closes the rest."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any

from pegwood.trade.agents._bearing import Part
from pegwood.trade.agents._judging import Reason
from pegwood.trade.agents._kinds import Agent, Dirt
from pegwood.trade.agents._routes import Route, parts_of, routes
from pegwood.trade.agents._tables import Tables
from pegwood.trade.agents._words import cautions, listed
from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.reference import Reference
from pegwood.trade.wording import capital

MOST_AGENTS = 6
#: That the tables were looked through and nothing in them serves.
NONE_SERVES: Grounds = (Ground("the tables here: no way in them is open for this", "seen"),)


def tell_routes(
    reference: Reference, parts: Iterable[str | tuple[str, str]], dirt: Dirt | None = None
) -> Answer:
    """
    Which ways of cleaning an assembly are open, and what must come off for the others.

    Parameters
    ----------
    reference : Reference
        The tables.
    parts : iterable of str or (str, str)
        Materials, or parts with their material, by any of its names.
    dirt : str, optional
        What is to come off.

    Raises
    ------
    ValueError
        If nothing is named, or the dirt is none that the tables know; `UnclearWord`, `UnknownWord` for
        names.
    """
    parts = tuple(parts)
    assembly = parts_of(reference, parts)
    found = routes(reference, parts, dirt)
    told = [_open(found), *_by_hand(assembly, found), _take_off(found), _closing(found), _always(found)]
    return Answer(
        subject="clean",
        understood=_understood(assembly, dirt),
        headline=_headline(found),
        sections=tuple(section for section in told if section.lines),
        cautions=cautions(Tables(reference), _first_agents(found)),
        also=tuple(dict.fromkeys(f"material {part.material.name}" for part in assembly))[:3],
        data={
            "parts": [{"part": part.name, "material": part.material.key} for part in assembly],
            **({"dirt": dirt} if dirt else {}),
            "routes": [_as_data(route) for route in found],
        },
    )


def _understood(assembly: Sequence[Part], dirt: Dirt | None) -> str:
    told = [
        part.name if part.name == part.material.name else f"{part.name} of {part.material.name}"
        for part in assembly
    ]
    return f"cleaning {listed(told)}" + (f", to take off {dirt}" if dirt else "")


def _headline(found: Sequence[Route]) -> Statement:
    if not found:
        return Statement(says="Nothing in the tables takes that off.", grounds=NONE_SERVES)
    baths = [route for route in found if route.method.kind == "bath"]
    told: list[str] = []
    used: list[Route] = []
    if bath := next((route for route in baths if route.open), None):
        return Statement(
            label="gentlest bath", verdict=bath.verdict, says=f"{capital(bath.says)}.", grounds=bath.grounds
        )
    if bath := next((route for route in baths if route.can_open), None):
        told.append(f"No bath as it stands. Take off the {_the(bath.take_off)} first: then {bath.says}.")
        used.append(bath)
    elif baths:
        told.append("No bath, whatever is taken off.")
    by_hand = [route for route in found if route.open]
    if hand := next((route for route in by_hand if route.agent), next(iter(by_hand), None)):
        told.append(f"By hand: {hand.says}." if hand.agent else f"Nothing wet as it stands; {hand.says}.")
        used.append(hand)
    elif not told or not used:
        told.append("Nothing in the tables is open for it.")
    grounds = joined(*(route.grounds for route in used)) or NONE_SERVES
    return Statement(says=" ".join(told), grounds=grounds)


def _the(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _open(found: Sequence[Route]) -> Section:
    return Section(
        title="Open as it stands, the gentlest first", lines=tuple(_ways(r for r in found if r.open))
    )


def _ways(found: Iterable[Route]) -> Iterable[Statement]:
    """A line for each method and verdict: the gentlest way through, and with what else."""
    for (method, verdict), same in groupby(found, lambda route: (route.method.name, route.verdict_then)):
        first, *others = list(same)
        instead = [route.agent.name for route in others if route.agent]
        says = capital(first.says) + (f"; or with {listed(instead, MOST_AGENTS)}." if instead else ".")
        if mind := _mind(first):
            says = f"{says} {mind}"
        grounds = joined(*(route.grounds for route in (first, *others)))
        yield Statement(label=method, verdict=verdict, says=says, grounds=grounds)


def _mind(route: Route) -> str:
    """What wants care on the way, each reason once with the parts that it is said of."""
    found: dict[str, list[str]] = {}
    for one in route.care:
        found.setdefault(one.reason.why, []).append(one.part.name)
    told = [f"{capital(listed(names))}: {why}" for why, names in found.items()]
    return " ".join([*told, *(reason.why for reason in route.cautions)])


def _by_hand(assembly: Sequence[Part], found: Sequence[Route]) -> Iterable[Section]:
    """What a swab or a drop may do to each part by itself, where the assembly is more than one."""
    local = [route for route in found if route.method.kind == "local" and not route.never]
    names = list(dict.fromkeys(part.name for part in assembly))
    if len(names) > 1 and any(not route.open for route in local):
        lines = [line for name in names for line in _on_part(name, local)]
        yield Section(
            title="By hand, on each part alone; keep what runs off from the others", lines=tuple(lines)
        )


def _on_part(name: str, local: Sequence[Route]) -> Iterable[Statement]:
    free = [route for route in local if name not in route.take_off and route.method.key == "swab"]
    minded = [route for route in free if any(one.part.name == name for one in route.care)]
    safe = [route for route in free if route not in minded]
    if some := safe or minded:
        gentlest = sorted((route.agent for route in some if route.agent), key=lambda agent: agent.gentle)
        yield Statement(
            label=name,
            verdict="safe" if safe else "with care",
            says=f"Swab of {listed((agent.name for agent in gentlest), MOST_AGENTS)}.",
            grounds=joined(*(route.grounds for route in some)),
        )


def _take_off(found: Sequence[Route]) -> Section:
    """For each way of cleaning the smallest set of parts that opens it; each set with all that it opens."""
    closed = [route for route in found if route.can_open]
    lines = []
    for off in _smallest(closed):
        opened = sorted(_opened(off, closed), key=lambda route: route.method.gentle)
        ways = []
        for method, same in groupby(opened, lambda route: route.method.name):
            ways.append(f"{method} ({listed((r.agent.name for r in same if r.agent), 4)})")
        grounds = joined(*(route.grounds for route in opened))
        says = f"{capital('; '.join(ways))}."
        lines.append(Statement(label=f"without the {_the(off)}", says=says, grounds=grounds))
    return Section(title="Take off first, and more opens", lines=tuple(lines))


def _smallest(closed: Sequence[Route]) -> list[tuple[str, ...]]:
    """The sets worth telling: of each method the smallest, and of those as small the one that opens most."""
    sets = []
    for method in {route.method.key: route.method for route in closed}:
        own = {route.take_off for route in closed if route.method.key == method}
        sets.append(min(own, key=lambda off: (len(off), -len(_opened(off, closed)), off)))
    return sorted(set(sets), key=lambda off: (len(off), off))


def _opened(off: Sequence[str], closed: Sequence[Route]) -> list[Route]:
    return [route for route in closed if set(route.take_off) <= set(off)]


def _closing(found: Sequence[Route]) -> Section:
    """What closes ways, part by part; what the same reason closes stands in one line."""
    reasons: dict[tuple[str, str], tuple[Reason, list[str]]] = {}
    closing = [one for route in found for one in route.closed_by]
    names = found[0].parts if found else ()
    for one in sorted(closing, key=lambda one: names.index(one.part.name)):
        key = one.part.name, one.reason.why
        reasons.setdefault(key, (one.reason, []))[1].append(one.reason.what)
    lines = [
        Statement(
            label=part,
            verdict=reason.verdict,
            says=f"{capital(listed(whats, MOST_AGENTS))}: {reason.why}",
            grounds=reason.grounds,
        )
        for (part, _), (reason, whats) in reasons.items()
    ]
    return Section(title="What closes the others", lines=tuple(lines))


def _always(found: Sequence[Route]) -> Section:
    """What is closed whatever is taken off."""
    barred: dict[str, tuple[Reason, str, list[str]]] = {}
    for route in found:
        for reason in route.never:
            said = barred.setdefault(reason.why, (reason, route.method.name, []))
            said[2].append(reason.what)
    lines = [
        Statement(
            label=method,
            verdict=reason.verdict,
            says=f"{capital(listed(whats, MOST_AGENTS))}: {reason.why}",
            grounds=reason.grounds,
        )
        for reason, method, whats in barred.values()
    ]
    return Section(title="Closed whatever is taken off", lines=tuple(lines))


def _first_agents(found: Sequence[Route]) -> list[Agent]:
    """The agents of the ways that are told first: of each method the gentlest."""
    ways = [route for route in found if route.open or route.can_open]
    first = {route.method.key: route for route in reversed(ways)}
    return [step.agent for route in first.values() for step in route.steps if step.agent]


def _as_data(route: Route) -> dict[str, Any]:
    closing = {(one.part.name, one.reason.what, one.reason.verdict) for one in route.closed_by}
    return sourced(
        route.grounds,
        steps=[
            {"method": step.method.key, **({"agent": step.agent.key} if step.agent else {})}
            for step in route.steps
        ],
        verdict=route.verdict,
        take_off=list(route.take_off),
        **({"verdict_then": route.verdict_then} if route.can_open else {}),
        closed_by=[{"part": part, "by": what, "verdict": verdict} for part, what, verdict in sorted(closing)],
        **({"closed_always": [reason.why for reason in route.never]} if route.never else {}),
    )
