"""What an agent does to materials, and what may touch a material, told line by line."""

from __future__ import annotations

from collections.abc import Iterable

from pegwood.trade.agents._judging import NO_ROW, Judgement, Reason, agent_on, judged, method_on, worst
from pegwood.trade.agents._kinds import Agent, Method
from pegwood.trade.agents._tables import Tables
from pegwood.trade.agents._words import as_data, cautions, listed, sections
from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import joined
from pegwood.trade.materials import Material
from pegwood.trade.reference import Reference
from pegwood.trade.wording import capital

MOST = 6


def tell_agent(reference: Reference, agent: str, on: Iterable[str] = (), method: str | None = None) -> Answer:
    """
    What an agent does to some materials, or to all that the tables know.

    Parameters
    ----------
    reference : Reference
        The tables.
    agent : str
        By any of its names.
    on : iterable of str
        Materials by any of their names; none for all.
    method : str, optional
        How it is put on.

    Raises
    ------
    UnclearWord, UnknownWord
        If a name is not found, or may mean several things.
    """
    read = Tables(reference)
    found = read.agent(agent)
    materials = tuple(dict.fromkeys(read.material(one) for one in on))
    put_on = read.method(method) if method else None
    if materials:
        return _on_some(read, found, materials, put_on)
    return _on_all(read, found, put_on)


def _on_some(read: Tables, agent: Agent, materials: tuple[Material, ...], method: Method | None) -> Answer:
    judgements = [judged(read, agent, material, method) for material in materials]
    by = f", {method.name}" if method else ""
    understood = f"{agent.name} on {listed(material.name for material in materials)}{by}"
    lines = [line for one in judgements for line in _judgement(one)]
    return Answer(
        subject="agent",
        understood=understood,
        headline=_headline(understood, judgements),
        sections=(Section(title="On each", lines=tuple(lines)), _about(read, agent)),
        cautions=cautions(read, [agent]),
        also=(f"{agent.name} safety", *(f"material {material.name}" for material in materials[:2])),
        data={
            "agent": agent.key,
            **({"method": method.key} if method else {}),
            "on": [
                {
                    "material": one.material.key,
                    "verdict": one.verdict,
                    "reasons": [as_data(reason, about=reason.about) for reason in one.reasons],
                }
                for one in judgements
            ],
        },
    )


def _headline(understood: str, judgements: list[Judgement]) -> Statement:
    verdict = worst(*(one.verdict for one in judgements))
    grounds = joined(*(one.grounds for one in judgements))
    if len(judgements) == 1:
        return Statement(label=understood, verdict=verdict, says=judgements[0].why, grounds=grounds)
    if all(one.verdict == verdict for one in judgements):
        return Statement(
            label=understood, verdict=verdict, says="That holds for each of them.", grounds=grounds
        )
    each = "; ".join(f"{one.material.name} {one.verdict}" for one in judgements)
    return Statement(label=understood, verdict=verdict, says=f"{capital(each)}.", grounds=grounds)


def _judgement(judgement: Judgement) -> list[Statement]:
    """A line for each reason; a method's own lines only where it has something against it."""
    first, *others = judgement.reasons
    shown = [first, *(one for one in others if one.verdict != "safe")]
    name = judgement.material.name
    return [
        Statement(
            label=name if judgement.method is None else f"{name}, {reason.what}",
            verdict=reason.verdict,
            says=reason.why,
            grounds=reason.grounds,
        )
        for reason in shown
    ]


def _on_all(read: Tables, agent: Agent, method: Method | None) -> Answer:
    reasons = [(one, _worst_reason(judged(read, agent, one, method))) for one in read.materials.values()]
    never = [one.name for one, reason in reasons if reason.verdict == "never"]
    grounds = joined(agent.grounds, *(reason.grounds for _, reason in reasons if reason.verdict == "never"))
    says = f"{capital(agent.use)}. Never on {listed(never, MOST)}." if never else f"{capital(agent.use)}."
    by = f", {method.name}" if method else ""
    return Answer(
        subject="agent",
        understood=f"{agent.name}{by}: what it does to each material",
        headline=Statement(label=f"{agent.name}{by}", says=says, grounds=grounds),
        sections=(_about(read, agent), *sections((one.name, reason) for one, reason in reasons)),
        cautions=cautions(read, [agent]),
        also=(f"{agent.name} safety",),
        data={
            "agent": agent.key,
            "on": [as_data(reason, material=one.key) for one, reason in reasons],
        },
    )


def _worst_reason(judgement: Judgement) -> Reason:
    return judgement.reasons[0]


def _about(read: Tables, agent: Agent) -> Section:
    """What it is, how it is put on, how it is rinsed and dried."""
    told = [("for", agent.use), ("strength", agent.strength)]
    if agent.also:
        told.append(("also called", listed(agent.also)))
    ways = [read.methods[one].name for one in agent.put_on]
    told.append(("put on by", listed(ways) if ways else "nothing: it has no place in cleaning"))
    if agent.put_on:
        rinses = [listed(read.agents[one].name for one in row) or "nothing" for row in agent.rinse]
        told.append(("rinse with", "; or ".join(rinses)))
        told.append(("dry", "; or ".join(read.methods[one].does.removeprefix("dry ") for one in agent.dry)))
    lines = tuple(Statement(label=label, says=says, grounds=agent.grounds) for label, says in told)
    return Section(title="About it", lines=lines)


def tell_material(reference: Reference, material: str) -> Answer:
    """
    What may touch a material, what never, and how it bears each way of cleaning.

    Raises
    ------
    UnclearWord, UnknownWord
        If the name is not found, or may mean several things.
    """
    read = Tables(reference)
    found = read.material(material)
    gentlest = sorted(read.agents.values(), key=lambda agent: agent.gentle)
    agents = [(agent.name, agent_on(read, agent, found)) for agent in gentlest]
    methods = [(method.name, method_on(read, method, found)) for method in read.methods.values()]
    tell = (Statement(label="how to know it", says=f"{capital(found.tell)}.", grounds=found.grounds),)
    known = (Section(title="About it", lines=tell),) if found.tell else ()
    return Answer(
        subject="material",
        understood=f"{found.name}: what may touch it",
        headline=_may_touch(found, agents),
        sections=(*sections(agents), _ways(methods), *known),
        also=(f"clean {found.name}",),
        data={
            "material": found.key,
            "agents": [
                as_data(reason, agent=agent.key) for agent, (_, reason) in zip(gentlest, agents, strict=True)
            ],
            "methods": [
                as_data(reason, method=method.key)
                for method, (_, reason) in zip(read.methods.values(), methods, strict=True)
            ],
        },
    )


def _may_touch(material: Material, agents: list[tuple[str, Reason]]) -> Statement:
    reasons = [reason for _, reason in agents]
    never = [name for name, reason in agents if reason.verdict == "never"]
    if len(never) == len(agents) and len({reason.why for reason in reasons}) == 1:
        return Statement(
            label=material.name, verdict="never", says=reasons[0].why, grounds=reasons[0].grounds
        )
    safe = [name for name, reason in agents if reason.verdict == "safe"]
    care = [name for name, reason in agents if reason.verdict == "with care"]
    told = [f"Safe: {listed(safe, MOST)}." if safe else "Nothing is simply safe."]
    told += [f"With care: {listed(care, MOST)}."] if care and not safe else []
    told += [f"Never: {listed(never, MOST)}."] if never else []
    grounds = joined(*(reason.grounds for reason in reasons)) or NO_ROW
    return Statement(label=material.name, says=" ".join(told), grounds=grounds)


def _ways(methods: list[tuple[str, Reason]]) -> Section:
    lines = [line for section in sections(methods) for line in section.lines]
    return Section(title="Ways of cleaning and drying", lines=tuple(lines))
