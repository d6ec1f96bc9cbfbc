"""Treatments of a part, told line by line."""

from __future__ import annotations

from typing import Any

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.beside import hazards_of
from pegwood.trade.grounds import Grounds, joined, sourced
from pegwood.trade.reference import Reference
from pegwood.trade.treatments._judging import Proposal, Treatments
from pegwood.trade.wording import capital, told_spread


def tell_treatments(reference: Reference, found: Treatments, made_of: Grounds) -> Answer:
    """
    What may be done, for somebody at the bench.

    Parameters
    ----------
    reference : Reference
        The tables.
    found : Treatments
        Of at least one product.
    made_of : tuple of Ground
        What it rests on that the part is made of these materials.

    Raises
    ------
    ValueError
        If nothing was recognised.
    """
    if not found.products:
        raise ValueError("nothing here reads as corrosion or decay that the tables know.")
    first = found.products[0]
    ways = f"{len(found.open)} ways" if len(found.open) > 1 else "one way" if found.open else "no way"
    says = f"{capital(first.name)}: {ways} in the tables that its materials allow. {first.can_be_undone}"
    return Answer(
        subject="treatment",
        understood="; or ".join(one.name for one in found.products),
        headline=Statement(says=says, grounds=joined(first.grounds, made_of)),
        sections=tuple(
            section
            for section in (
                Section(title="What its materials allow", lines=_lines(found, found.open)),
                Section(title="Closed to it", lines=_lines(found, found.closed)),
                Section(title="Then", lines=(Statement(says=first.next, grounds=first.grounds),)),
            )
            if section.lines
        ),
        cautions=_cautions(reference, found),
        also=tuple(dict.fromkeys(agent.name for one in found.open for agent in one.agents[:1]))[:3],
        data={"treatments": [_data(one) for one in (*found.open, *found.closed)]},
    )


def _lines(found: Treatments, proposals: tuple[Proposal, ...]) -> tuple[Statement, ...]:
    return tuple(_line(one, found) for one in proposals)


def _line(one: Proposal, found: Treatments) -> Statement:
    treatment = one.treatment
    if not one.is_open:
        return Statement(label=one.what, verdict=one.verdict, says=" ".join(one.why), grounds=one.grounds)
    what_for = f"{one.product.name}: " if len(found.products) > 1 else ""
    says = f"{capital(what_for + treatment.does)}. {_times(one)}; {treatment.chance}."
    minded = " ".join(filter(None, (treatment.caution, *one.why)))
    return Statement(
        label=one.what, verdict=one.verdict, says=f"{says} {minded}".rstrip(), grounds=one.grounds
    )


def _times(one: Proposal) -> str:
    work = f"{capital(told_spread(one.treatment.bench_s))} of work"
    waiting = one.treatment.waiting_s
    return f"{work}, {told_spread(waiting)} of waiting" if waiting.high else work


def _cautions(reference: Reference, found: Treatments) -> tuple[Statement, ...]:
    """What may hurt: the product, the material under it, and each agent that is proposed."""
    products = [one for one in found.products if one.hazard]
    told = [Statement(label=one.name, says=one.hazard, grounds=one.grounds) for one in products]
    under = {part.key for one in (*found.open, *found.closed) for part, _ in one.reasons}
    told += hazards_of(reference, under)
    agents = dict.fromkeys(agent for one in found.open for agent in one.agents)
    burning = [agent for agent in agents if agent.flammable]
    if burning:
        says = "Flammable: moving air, no flame, no spark, little at a time; never into an ultrasonic tank."
        label = ", ".join(agent.name for agent in burning)
        told.append(Statement(label=label, says=says, grounds=joined(*(one.grounds for one in burning))))
    minded = [agent for agent in agents if agent.caution]
    told += [Statement(label=one.name, says=one.caution, grounds=one.grounds) for one in minded]
    return tuple(told)


def _data(one: Proposal) -> dict[str, Any]:
    return {
        **sourced(one.grounds, verdict=one.verdict, does=one.treatment.does, product=one.product.key),
        "agents": [agent.key for agent in one.agents],
        "method": one.treatment.method,
        "bench_s": sourced(one.grounds, **one.treatment.bench_s.plain()),
        "waiting_s": sourced(one.grounds, **one.treatment.waiting_s.plain()),
        "why": list(one.why),
    }
