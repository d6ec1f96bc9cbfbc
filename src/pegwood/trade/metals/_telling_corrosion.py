"""Corrosion and rust, told."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, joined, sourced
from pegwood.trade.metals._tables import Corrosion, RustGrade, Treatment
from pegwood.trade.metals.corrosion import corrosion_seen
from pegwood.trade.metals.grades import (
    EYE,
    FORMULA,
    MISLEADS,
    Graded,
    grade_from_area,
    grade_from_look,
)
from pegwood.trade.reference import Reference
from pegwood.trade.wording import agent_named, capital, told_spread

ASK_FIRST = Ground(
    "common bench practice: ask what every material in reach bears before an agent", "practice"
)
PAINTED = Ground(
    "ISO 4628-3 is made for painted steel; bare steel has ISO 8501-1, plated parts ISO 10289", "seen"
)


def tell_corrosion(reference: Reference, words: str) -> Answer:
    """What a look such as "white powder on zinc" is and what to do about it; errors as `corrosion_seen`."""
    seen = corrosion_seen(reference, words)
    first, others = seen.likely[0], seen.likely[1:4]
    sections = [
        Section(
            title="How to tell",
            lines=(
                Statement(label="look", says=f"{capital(first.look)}.", grounds=first.grounds),
                Statement(label="test", says=f"{capital(first.tell)}.", grounds=first.grounds),
            ),
        ),
        Section(
            title="What to do, the gentlest first", lines=tuple(_treated(one) for one in first.treatments)
        ),
        Section(title="Then", lines=(Statement(says=first.next, grounds=first.grounds),)),
        Section(
            title="It may also be",
            lines=tuple(
                Statement(label=one.name, says=f"{capital(one.look)}. Test: {one.tell}.", grounds=one.grounds)
                for one in others
            ),
        ),
    ]
    cautions = [
        Statement(label=one.name, says=one.hazard, grounds=one.grounds)
        for one in (first, *others)
        if one.hazard
    ]
    if first.treatments:
        says = "Before any agent ask what all materials in reach bear: plastics, lacquer, leather, glass."
        cautions.append(Statement(says=says, grounds=(ASK_FIRST,)))
    sure = "" if not others else "Most likely "
    return Answer(
        subject="corrosion",
        understood=words,
        headline=Statement(
            says=capital(f"{sure}{first.name}. {first.can_be_undone}"),
            grounds=first.grounds,
        ),
        sections=tuple(section for section in sections if section.lines),
        cautions=tuple(cautions),
        also=tuple(f"{agent} on {base}" for agent in _agents(first)[:1] for base in first.bases[:1]),
        data={"corrosion": [corrosion_data(one) for one in seen.likely]},
    )


def _treated(one: Treatment) -> Statement:
    agents = ", then ".join(agent_named(agent) for agent in one.treat_with) or "dry"
    times = f"{told_spread(one.bench_s)} of work"
    if one.waiting_s.high:
        times += f", {told_spread(one.waiting_s)} of waiting"
    caution = f" {one.caution}" if one.caution else ""
    return Statement(
        label=f"{agents} ({one.method.replace('-', ' ')})",
        says=f"{capital(one.does)}; {times}; {one.chance}.{caution}",
        grounds=one.grounds,
    )


def _agents(row: Corrosion) -> list[str]:
    return [agent for one in row.treatments for agent in one.treat_with]


def corrosion_data(row: Corrosion) -> dict[str, Any]:
    """A row of corrosion for JSON, its treatments in seconds."""
    return {
        **sourced(row.grounds, key=row.key, name=row.name, bases=list(row.bases), reversible=row.reversible),
        "look": row.look,
        "next": row.next,
        "treatments": [
            {
                "does": one.does,
                "treat_with": list(one.treat_with),
                "method": one.method,
                "chance": one.chance,
                "caution": one.caution,
                "bench_s": sourced(one.grounds, **one.bench_s.plain()),
                "waiting_s": sourced(one.grounds, **one.waiting_s.plain()),
            }
            for one in row.treatments
        ],
    }


def tell_rust(reference: Reference, area_or_look: str, flags: Iterable[str] = ()) -> Answer:
    """
    The grade of rust from its area ("0.3 %") or its look ("a few specks").

    Raises
    ------
    UnknownWord
        If it is neither a figure nor a look in the table.
    ValueError
        If the area is no percentage or a flag is none of the five.
    """
    percent = _percent(area_or_look)
    if percent is None:
        look = grade_from_look(reference, area_or_look)
        return _told_rust(grade_from_area(reference, look.up_to_percent, flags), look)
    return _told_rust(grade_from_area(reference, percent, flags), None)


def _percent(text: str) -> float | None:
    try:
        return float(text.replace("%", "").replace(",", ".").strip())
    except ValueError:
        return None


def _told_rust(found: Graded, look: RustGrade | None) -> Answer:
    grade = found.grade
    between = f"{found.lowest} to {found.highest}" if found.lowest < found.highest else f"{grade.grade}"
    area = (
        f"{found.percent:g} % of the surface" if look is None else f"{look.name}, up to {found.percent:g} %"
    )
    why = [flag for flag in found.flags if flag != "pitted"]
    says = f"Grade {grade.grade} of 5 ({area}): {grade.look}."
    if found.fails:
        by_area = f"by area alone grade {grade.grade} of 5 ({area})"
        says = f"A failure, whatever the area: {', '.join(why)}; {by_area}."
    beside = [
        Statement(
            label="ISO 4628-3",
            says=f"Ri {grade.ri}; European scale Re {grade.re}.",
            grounds=joined(grade.grounds, (PAINTED,)),
        ),
    ]
    if look is None:
        rp = (
            ""
            if found.rp_formula is None
            else f" ({found.rp_formula:.2f} by the formula before rounding; the band decides)"
        )
        beside += [
            Statement(
                label="ASTM D610",
                says=f"Rust grade {found.d610.grade} (10 is the best).",
                grounds=found.d610.grounds,
            ),
            Statement(
                label="ISO 10289",
                says=f"Rp {found.rp.grade} (10 is the best){rp}.",
                grounds=joined(found.rp.grounds, (FORMULA,) if rp else ()),
            ),
            Statement(
                label="by eye",
                says=f"An area judged by eye may be half or twice as big: grade {between}.",
                grounds=joined((EYE,), grade.grounds),
            ),
        ]
    hides = [
        Statement(
            label="area misleads",
            says="0.1 % on a pivot is a failure: note with the grade whether it is "
            "pitted, cracked, swollen, a moving part or an optical face.",
            grounds=(MISLEADS,),
        )
    ]
    if "pitted" in found.flags:
        hides.append(Statement(label="pitted", says="Pits stay when the rust is gone.", grounds=(MISLEADS,)))
    grounds = joined(grade.grounds, (MISLEADS,) if found.fails else ())
    return Answer(
        subject="rust",
        understood=f"rust, {area}" + (f", {', '.join(found.flags)}" if found.flags else ""),
        headline=Statement(says=says, grounds=grounds),
        sections=(
            Section(title="Beside it", lines=tuple(beside)),
            Section(title="What area hides", lines=tuple(hides)),
        ),
        also=("rust on steel",),
        data={"rust": _rust_data(found, look)},
    )


def _rust_data(found: Graded, look: RustGrade | None) -> dict[str, Any]:
    told: dict[str, Any] = {
        "grade": found.grade.grade,
        "iso_4628_3_ri": found.grade.ri,
        "european_re": found.grade.re,
        "flags": list(found.flags),
        "fails": found.fails,
    }
    if look is None:
        told |= {
            "area_ratio": found.percent / 100,
            "grade_lowest": found.lowest,
            "grade_highest": found.highest,
            "astm_d610": found.d610.grade,
            "iso_10289_rp": found.rp.grade,
        }
    return sourced(joined(found.grade.grounds, *((found.grounds, (EYE,)) if look is None else ())), **told)
