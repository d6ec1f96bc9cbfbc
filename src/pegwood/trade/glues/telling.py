"""Glues, joins and coverings, told."""

from __future__ import annotations

from typing import Any

from pegwood.trade.answers import Answer, Section, Statement, Verdict
from pegwood.trade.glues._tables import COVERINGS, JOINS, Glue
from pegwood.trade.glues.curing import Curing, cure
from pegwood.trade.glues.joins import Choice, Ranking, best_glues
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.materials import MATERIALS
from pegwood.trade.names import UnknownWord, find
from pegwood.trade.numbers import ZERO_C_K
from pegwood.trade.reference import Reference
from pegwood.trade.spread import Spread
from pegwood.trade.wording import agent_named, capital, either, told_spread

NEAR: dict[str, Verdict] = {"fine": "safe", "with care": "with care", "never": "never"}
#: What the tables of Pegwood are: a question they do not answer is not known.
TABLES = Ground("the tables of glues and joins", "seen")
ASK_FIRST = Ground("common bench practice: ask what paint and covering bear before an agent", "practice")


def tell_glue(reference: Reference, glue: str, temperature_k: float | None = None) -> Answer:
    """One glue: its times, what lifts it, whether it may be near glass; errors as `cure`."""
    found = cure(reference, glue, temperature_k)
    row = found.glue
    lines = [
        Statement(label="for", says=f"{capital(row.use)}.", grounds=row.grounds),
        Statement(
            label="near glass",
            verdict=NEAR[row.near_optics],
            says=f"{capital(row.why)}.",
            grounds=row.grounds,
        ),
        Statement(label="comes off", says=f"{capital(row.removable)}: {row.lifted_by}.", grounds=row.grounds),
        *_times(found),
    ]
    if row.carries:
        says = (
            f"It brings {_agents(row.carries)} along: ask what paint, plastics and covering beside it bear."
        )
        lines.append(Statement(label="its own solvent", says=says, grounds=joined(row.grounds, (ASK_FIRST,))))
    holds = [
        (join, fit) for join in reference.rows(JOINS).values() for fit in join.fits if fit.glue == row.key
    ]
    held = tuple(
        Statement(label=join.what, says=f"{capital(fit.holds)}: {fit.why}.", grounds=join.grounds)
        for join, fit in holds
    )
    sections = (Section(title="The glue", lines=tuple(lines)), Section(title="How it holds", lines=held))
    return Answer(
        subject="glue",
        understood=row.name + ("" if temperature_k is None else f" at {temperature_k - ZERO_C_K:.4g} °C"),
        headline=Statement(says=_times_in_short(found), grounds=found.grounds),
        sections=tuple(section for section in sections if section.lines),
        cautions=_cautions([row]),
        also=tuple(f"{agent_named(agent)} on leather" for agent in row.lifts[:1]),
        data={"glue": _glue_data(row), "curing": curing_data(found)},
    )


def _times_in_short(found: Curing) -> str:
    sets, full = told_spread(found.set_s), told_spread(found.full_s)
    return f"{capital(found.glue.name)}: sets in {sets}, full strength after {full}."


def _times(found: Curing) -> list[Statement]:
    warmth = found.glue.warmth
    if warmth is None:
        says = "Times hold in a warm room; no figure is known for other temperatures, cold is slower."
        return [Statement(label="temperature", says=says, grounds=found.grounds)]
    at = (found.temperature_k or warmth.at_c + ZERO_C_K) - ZERO_C_K
    within = f"from {warmth.low_c:g} to {warmth.high_c:g} °C"
    says = f"Times hold at {at:.4g} °C; they halve with every {warmth.halving_k:g} °C more, {within}."
    return [Statement(label="temperature", says=says, grounds=warmth.grounds)]


def curing_data(found: Curing) -> dict[str, Any]:
    """Times for JSON, [s] and [K]."""
    return {
        "glue": found.glue.key,
        "temperature": sourced(found.grounds, temperature_k=found.temperature_k),
        "set_s": sourced(found.glue.set.grounds, **found.set_s.plain()),
        "full_s": sourced(found.glue.full.grounds, **found.full_s.plain()),
    }


def _glue_data(row: Glue) -> dict[str, Any]:
    return sourced(
        row.grounds,
        key=row.key,
        lifts=list(row.lifts),
        carries=list(row.carries),
        removable=row.removable,
        near_optics=row.near_optics,
    )


def tell_join(
    reference: Reference, a: str, b: str, *, near_optics: bool = False, must_come_off_again: bool = True
) -> Answer:
    """What holds two materials, as `best_glues` ranks it; the same errors."""
    found = best_glues(reference, a, b, near_optics=near_optics, must_come_off_again=must_come_off_again)
    near = ", near glass" if found.near_optics else ""
    for_good = "" if must_come_off_again else ", for good"
    join = found.join
    how = (Statement(says=join.how, grounds=join.grounds),) if join and join.how else ()
    sections = (
        Section(title="What holds, what comes off again first", lines=tuple(map(_chosen, found.choices))),
        Section(title="How", lines=how),
        Section(title="Not here", lines=tuple(map(_refused, found.refused))),
    )
    return Answer(
        subject="join",
        understood=f"{found.a.name} to {found.b.name}{near}{for_good}",
        headline=_join_headline(found),
        sections=tuple(section for section in sections if section.lines),
        cautions=_cautions([choice.glue for choice in found.choices]),
        also=tuple(f"glue {choice.glue.name}" for choice in found.choices[:2]),
        data={
            "join": {"a": found.a.key, "b": found.b.key, "near_optics": found.near_optics},
            "choices": [_choice_data(one) for one in found.choices],
            "refused": [_choice_data(one) for one in found.refused],
        },
    )


def _join_headline(found: Ranking) -> Statement:
    pair = f"{capital(found.a.name)} to {found.b.name}"
    if found.join is None:
        says = f"{pair}: the tables name no glue. Clamp, screw or sew it, or put your own row in joins.toml."
        return Statement(says=says, verdict="not known", grounds=(TABLES,))
    for_good = [choice.glue.name for choice in found.refused if choice.only_for_good]
    if not found.choices and for_good:
        says = f"{pair}: nothing that comes off again holds it; for a broken part: {either(for_good)}."
        return Statement(says=says, grounds=joined(*(choice.grounds for choice in found.refused)))
    if not found.choices:
        says = f"{pair}: nothing that may be used holds it. {capital(found.refused[0].reason)}."
        return Statement(says=says, verdict="never", grounds=found.refused[0].grounds)
    best = found.choices[0]
    off = "comes off again" if best.glue.removable == "yes" else f"comes off: {best.glue.removable}"
    full = told_spread(best.glue.full.seconds)
    says = f"{pair}: {best.glue.name}; {off} ({best.glue.lifted_by}); full strength after {full}."
    return Statement(says=says, grounds=joined(best.grounds, best.glue.full.grounds))


def _chosen(choice: Choice) -> Statement:
    full = told_spread(choice.glue.full.seconds)
    says = f"{capital(choice.reason)}. Comes off: {choice.glue.removable}; full strength after {full}."
    for one in choice.spoils:
        says += f" Its own {one.agent.name} spoils {one.material.name}: keep it off that, or take another."
    return Statement(
        label=choice.glue.name,
        verdict="with care" if choice.spoils else "",
        says=says,
        grounds=joined(choice.grounds, choice.glue.full.grounds, *(one.grounds for one in choice.spoils)),
    )


def _refused(choice: Choice) -> Statement:
    return Statement(
        label=choice.glue.name,
        verdict="" if choice.only_for_good else "never",
        says=f"{capital(choice.reason)}.",
        grounds=choice.grounds,
    )


def _choice_data(choice: Choice) -> dict[str, Any]:
    return sourced(
        joined(choice.grounds, *(one.grounds for one in choice.spoils)),
        glue=choice.glue.key,
        holds=choice.fit.holds,
        removable=choice.glue.removable,
        reason=choice.reason,
        spoils=sorted({one.material.key for one in choice.spoils}),
    )


def tell_covering(reference: Reference, covering: str) -> Answer:
    """
    How a covering comes off and goes back.

    Raises
    ------
    UnknownWord
        If no material has that name.
    ValueError
        If the tables know no covering of that material.
    """
    material = find(reference.rows(MATERIALS), covering, "material")
    rows = reference.rows(COVERINGS)
    if material.key not in rows:
        raise UnknownWord(
            covering, "covering", [reference.rows(MATERIALS)[key].name for key in list(rows)[:3]]
        )
    row = rows[material.key]
    off = [Statement(says=step, grounds=row.grounds) for step in row.off]
    off.append(Statement(label="pull", says=f"{capital(row.pull)}.", grounds=row.grounds))
    if row.lifts:
        says = f"{capital(_agents(row.lifts))}; ask first what paint and covering bear."
        off.append(Statement(label="lifts its glue", says=says, grounds=joined(row.grounds, (ASK_FIRST,))))
    off.append(_work(row.minutes_off, row.grounds))
    back = [
        *(Statement(says=step, grounds=row.grounds) for step in row.back),
        _work(row.minutes_back, row.grounds),
    ]
    limit = row.not_above
    cautions = [Statement(says=row.caution, grounds=row.grounds)] if row.caution else []
    if limit:
        says = f"Not above {limit.t_c:g} °C: {limit.why}."
        cautions.append(Statement(label="heat", says=says, grounds=limit.grounds))
    return Answer(
        subject="covering",
        understood=material.name,
        headline=Statement(says=f"{capital(material.name)}: {row.off[0]}", grounds=row.grounds),
        sections=(
            Section(title="Off", lines=tuple(off)),
            Section(
                title="If it tears", lines=(Statement(says=f"{capital(row.torn)}.", grounds=row.grounds),)
            ),
            Section(title="Back on", lines=tuple(back)),
        ),
        cautions=tuple(cautions),
        also=(f"glue {material.name} aluminium",),
        data={
            "covering": material.key,
            "lifts": list(row.lifts),
            "off_s": sourced(row.grounds, **row.minutes_off.times(60).plain()),
            "back_s": sourced(row.grounds, **row.minutes_back.times(60).plain()),
            **({"not_above": sourced(limit.grounds, t_k=limit.t_c + ZERO_C_K)} if limit else {}),
        },
    )


def _work(minutes: Spread, grounds: Grounds) -> Statement:
    return Statement(label="work", says=f"{capital(told_spread(minutes.times(60)))}.", grounds=grounds)


def _agents(keys: tuple[str, ...]) -> str:
    return ", ".join(agent_named(key) for key in keys)


def _cautions(glues: list[Glue]) -> tuple[Statement, ...]:
    return tuple(
        Statement(label=one.name, says=one.caution, grounds=one.grounds) for one in glues if one.caution
    )
