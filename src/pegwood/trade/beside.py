"""What stands beside an answer because somebody may be hurt: an agent's dangers, those of a material."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.materials import MATERIALS
from pegwood.trade.names import find
from pegwood.trade.reference import Reference

#: Sections of a substance's own answer that belong beside the agent it is in.
BESIDE = ("What the label says", "At the bench", "Know too")


def with_safety(reference: Reference, agent: str, answer: Answer) -> Answer:
    """
    The answer about an agent, with how the first dangerous thing in it burns, poisons and is labelled.

    Parameters
    ----------
    reference : Reference
        The tables.
    agent : str
        The agent, by any of its names.
    answer : Answer
        What was told of it.
    """
    from pegwood.trade.agents import Tables
    from pegwood.trade.safety import SUBSTANCES, tell_substance

    rows = reference.rows(SUBSTANCES)
    substances = Tables(reference).agent(agent).substances
    held = [one for one in substances if one in rows and rows[one].classified]
    sections = [_section(tell_substance(reference, one)) for one in held[:1]]
    also = tuple(f"{rows[one].name} safety" for one in held)
    return replace(
        answer,
        sections=(*answer.sections, *sections),
        also=tuple(dict.fromkeys((*answer.also, *also))),
    )


def with_hazards(reference: Reference, materials: Iterable[str], answer: Answer) -> Answer:
    """The answer about some materials, by any of their names, with what in them can hurt before all else."""
    told = hazards_of(reference, (find(reference.rows(MATERIALS), one, "material").key for one in materials))
    also = tuple(f"hazard {one.label}" for one in told)
    return replace(answer, cautions=(*told, *answer.cautions), also=(*answer.also, *also))


def hazards_of(reference: Reference, materials: Iterable[str]) -> tuple[Statement, ...]:
    """What can hurt in materials, given by their keys: a line each, to stand with the headline."""
    wanted = set(materials)
    if not any(wanted & set(row.get("materials", ())) for row in reference.raw("hazards")):
        return ()  # nearly always: then the room of safety need not be opened
    from pegwood.trade.safety import HAZARDS

    return tuple(
        Statement(label=row.name, says=row.short, grounds=row.grounds)
        for row in reference.rows(HAZARDS).values()
        if wanted & set(row.materials)
    )


def _section(told: Answer) -> Section:
    lines = [replace(told.headline, label="in short")]
    lines += [line for section in told.sections if section.title in BESIDE for line in section.lines]
    return Section(title=f"Safety: {told.headline.label}", lines=tuple(lines))
