"""A couple and a metal, told."""

from __future__ import annotations

from typing import Any

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, joined, sourced
from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.metals._tables import ANODIC_INDEX, RULES, AnodicIndex, Corrosion, Rule
from pegwood.trade.metals.corrosion import corrosion_of
from pegwood.trade.metals.couples import STEP_V, Couple, Judged, couple, in_order, index_of
from pegwood.trade.names import find
from pegwood.trade.reference import Reference
from pegwood.trade.wording import capital, either

UNCERTAIN = Ground(
    "computed: printed steps of 0.05 V and the spread of the lists, joined after JCGM 100:2008, 5.1.2, k = 2",
    "practice",
)
#: A cathode this many times the anode's area, or this part of it, is a case of its own.
MUCH = 10.0

_VERDICTS = {
    "within": "within the limit",
    "too close to call": "too close to call",
    "outside": "over the limit",
}


def tell_couple(
    reference: Reference, a: str, b: str, environment: str = "normal", area_ratio: float | None = None
) -> Answer:
    """Two metals that touch, as `couple` judges them; the same errors."""
    found = couple(reference, a, b, environment, area_ratio)
    rules = {rule.key: rule for rule in reference.rows(RULES).values()}
    products = _products(reference, found)
    ratio = "" if area_ratio is None else f", A_cathode / A_anode {area_ratio:g}"
    return Answer(
        subject="couple",
        understood=f"{found.a.name} and {found.b.name}, {found.asked.environment.name}{ratio}",
        headline=_headline(found),
        sections=tuple(
            section
            for section in (
                Section(title="By place", lines=tuple(_place(found, one) for one in found.judged)),
                Section(title="What happens", lines=(*_what_happens(found, rules), *_look_of(products))),
                Section(title="What to do", lines=tuple(_ruled(rule) for rule in found.measures)),
            )
            if section.lines
        ),
        cautions=tuple(Statement(says=row.hazard, grounds=row.grounds) for row in products if row.hazard),
        also=(
            *(row.name for row in products[:1]),
            *(f"metal {found.anode.name}" for _ in products[:1] if found.anode),
        ),
        data=_couple_data(found),
    )


def _headline(found: Couple) -> Statement:
    grounds = joined(found.grounds, *(row.grounds for row in found.films))
    if found.a == found.b:
        return Statement(says=f"{capital(found.a.name)} on itself makes no couple.", grounds=grounds)
    whole = "No couple while the film is whole; where it is scratched: " if found.films else ""
    limit = f"{found.difference_v:.2f} V apart, limit {found.asked.environment.limit_v:.2f} V"
    if found.anode is None or found.cathode is None:
        says = f"{whole}no difference in the index: no couple to speak of ({limit})."
        return Statement(says=capital(says), grounds=grounds)
    just = " with little to spare" if found.asked.little_to_spare else ""
    suffers = (
        f"the {found.anode.name} suffers, the {found.cathode.name} does not"
        if found.anode_sure
        else f"which one suffers is not sure (by the index the {found.anode.name}; look below)"
    )
    says = f"{whole}{_VERDICTS[found.asked.verdict]}{just}: {limit}; {suffers}."
    return Statement(says=capital(says), grounds=grounds)


def _place(found: Couple, judged: Judged) -> Statement:
    limit = judged.environment.limit_v
    says = f"{_VERDICTS[judged.verdict]}, {found.difference_v:.2f} V against {limit:.2f} V"
    if judged.little_to_spare:
        at = "exactly at it" if found.difference_v == limit else "under it"
        says += f": {at} by the table, but the index is good to {judged.uncertainty_v:.2f} V"
    elif judged.verdict == "too close to call":
        says += f": over it by less than the {judged.uncertainty_v:.2f} V the index is good to"
    label = judged.environment.name + (" (asked)" if judged == found.asked else "")
    return Statement(
        label=label, says=f"{says}.", grounds=joined(found.grounds, judged.environment.grounds, (UNCERTAIN,))
    )


def _what_happens(found: Couple, rules: dict[str, Rule]) -> list[Statement]:
    lines = [_ruled(rules["film"], *found.films)] if found.films else []
    if found.anode is not None and found.cathode is not None:
        lines += _areas(found, found.anode, found.cathode, rules)
        if found.difference_v <= STEP_V:
            lines.append(_ruled(rules["group"]))
    for finish, bases in found.beneath:
        names = either([one.name for one in bases])
        says = (
            f"{capital(finish.name)} counts, not what lies under it; but through a pore or a scratch "
            f"the {names} beneath is a tiny anode under a huge cathode."
        )
        lines.append(
            Statement(
                label="pores",
                says=says,
                grounds=joined(rules["finish-counts"].grounds, rules["pores"].grounds),
            )
        )
    for finish in found.sacrificed:
        says = f"{capital(finish.name)} is baser than what it covers: eaten first, a shield until it is gone."
        lines.append(
            Statement(
                label="shield", says=says, grounds=joined(rules["finish-counts"].grounds, found.grounds)
            )
        )
    for row in (found.index_a, found.index_b):
        if row.note:
            lines.append(
                Statement(
                    label=row.material.replace("-", " "), says=f"{capital(row.note)}.", grounds=row.grounds
                )
            )
    for other in found.others:
        if other.agreement == "disagrees":
            says = f"The {other.name} puts the two the other way round: which one suffers is not sure."
            lines.append(Statement(label="order", says=says, grounds=other.grounds))
        elif other.agreement == "agrees":
            lines.append(
                Statement(
                    label="order", says=f"The {other.name} has them in the same order.", grounds=other.grounds
                )
            )
    return lines


def _areas(found: Couple, anode: Material, cathode: Material, rules: dict[str, Rule]) -> list[Statement]:
    ratio = found.area_ratio
    if ratio is None:
        says = (
            f"A small {anode.name} part in large {cathode.name} is the bad case; "
            f"a small {cathode.name} part in large {anode.name} the mild one."
        )
        return [Statement(label="areas", says=says, grounds=rules["area"].grounds)]
    rule = rules["area"] if ratio > 1 else rules["large-anode"]
    how = (
        "the bad case: it pits fast"
        if ratio >= MUCH
        else "worse than equal areas"
        if ratio > 1
        else "equal areas"
        if ratio == 1
        else "milder than equal areas"
        if ratio > 1 / MUCH
        else "the mild case"
    )
    says = (
        f"The {cathode.name} has {ratio:g} times the area of the {anode.name}: {how}; "
        f"first estimate, eaten {ratio:g} times as deep as with equal areas."
    )
    return [Statement(label="areas", says=says, grounds=joined(rule.grounds, rules["area-scale"].grounds))]


def _products(reference: Reference, found: Couple) -> list[Corrosion]:
    if found.anode is None:
        return []
    return [row for row in corrosion_of(reference, found.anode.key) if row.from_couple]


def _look_of(products: list[Corrosion]) -> list[Statement]:
    return [
        Statement(label="looks like", says=f"{capital(row.look)}; {row.undone}.", grounds=row.grounds)
        for row in products[:2]
    ]


def _ruled(rule: Rule, *more: AnodicIndex) -> Statement:
    return Statement(says=rule.says, grounds=joined(rule.grounds, *(row.grounds for row in more)))


def _couple_data(found: Couple) -> dict[str, Any]:
    return {
        "couple": sourced(
            joined(found.grounds, (UNCERTAIN,)),
            a=found.a.key,
            b=found.b.key,
            anode=found.anode and found.anode.key,
            cathode=found.cathode and found.cathode.key,
            anode_sure=found.anode_sure,
            difference_v=found.difference_v,
            uncertainty_v=found.uncertainty_v,
            coverage="k = 2",
            area_ratio=found.area_ratio,
            films=[row.material for row in found.films],
        ),
        "environments": [
            sourced(
                joined(found.grounds, one.environment.grounds),
                environment=one.environment.key,
                asked=one == found.asked,
                limit_v=one.environment.limit_v,
                verdict=one.verdict,
                little_to_spare=one.little_to_spare,
            )
            for one in found.judged
        ],
        "order": [sourced(one.grounds, series=one.name, agreement=one.agreement) for one in found.others],
    }


def tell_metal(reference: Reference, material: str) -> Answer:
    """
    The card of one metal or finish: how to tell it, its index and neighbours, what comes on it.

    Raises
    ------
    UnknownWord
        If no material has that name.
    ValueError
        If the tables know neither an index nor a decay of it.
    """
    found = find(reference.rows(MATERIALS), material, "material")
    comes = corrosion_of(reference, found.key)
    if found.key not in reference.rows(ANODIC_INDEX) and not comes:
        index_of(reference, found)  # says why not
    row = reference.rows(ANODIC_INDEX).get(found.key)
    lines = (
        [Statement(label="tell it by", says=f"{capital(found.tell)}.", grounds=found.grounds)]
        if found.tell
        else []
    )
    data: dict[str, Any] = {"material": found.key}
    if row is None:
        headline = Statement(
            says=f"{capital(found.name)}: {found.kind}, no metal; it makes no couple.", grounds=found.grounds
        )
    elif row.insulates:
        headline = Statement(
            says=f"{capital(found.name)}: no anodic index: {row.reason}.", grounds=row.grounds
        )
    else:
        headline, data = _indexed(found, row), {**data, "index": _index_data(row)}
        lines += _neighbours(reference, row)
    grown = tuple(
        Statement(label=one.name, says=f"{capital(one.look)}. Undone: {one.undone}.", grounds=one.grounds)
        for one in comes
    )
    sections = (
        Section(title="The metal", lines=tuple(lines)),
        Section(title="What comes on it", lines=grown),
    )
    return Answer(
        subject="metal",
        understood=found.name,
        headline=headline,
        sections=tuple(section for section in sections if section.lines),
        cautions=tuple(
            Statement(label=one.name, says=one.hazard, grounds=one.grounds) for one in comes if one.hazard
        ),
        also=tuple(one.name if " on " in one.name else f"{one.name} on {found.name}" for one in comes[:2]),
        data=data,
    )


def _indexed(found: Material, row: AnodicIndex) -> Statement:
    low, high = row.bounds
    between = f" ({low:.2f} to {high:.2f} V between alloys and lists)" if low < high else ""
    note = f" {capital(row.note)}." if row.note else ""
    index = f"{row.volts:.2f} V below gold{between}; the bigger corrodes first.{note}"
    return Statement(says=f"{capital(found.name)}: {index}", grounds=row.grounds)


def _neighbours(reference: Reference, row: AnodicIndex) -> list[Statement]:
    metals = reference.rows(MATERIALS)
    order = in_order(reference)
    lines = []
    for label, those in (
        ("eats", [one for one in order if one.volts - row.volts > 0.25]),
        ("is eaten by", [one for one in order if row.volts - one.volts > 0.25]),
    ):
        if those:
            names = ", ".join(metals[one.material].name for one in those)
            lines.append(
                Statement(
                    label=f"{label} (more than 0.25 V apart)",
                    says=f"{names}.",
                    grounds=joined(row.grounds, *(one.grounds for one in those)),
                )
            )
    if row.over:
        names = ", ".join(metals[key].name for key in row.over)
        lines.append(Statement(label="usually lies on", says=f"{names}.", grounds=(OVER,)))
    return lines


OVER = Ground("common bench practice: what such a finish usually lies on", "practice")


def _index_data(row: AnodicIndex) -> dict[str, Any]:
    low, high = row.bounds
    return sourced(
        row.grounds, index_v=row.volts, low_v=low, high_v=high, group=row.group, over=list(row.over)
    )
