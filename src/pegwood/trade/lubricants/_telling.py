"""What is told of a lubricant and of a place."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Grounds, joined, sourced
from pegwood.trade.lubricants.grades import NLGI, NLGI_GROUND, VG_GROUND, iso_vg
from pegwood.trade.lubricants.tables import (
    BEHAVIOURS,
    LUBRICANTS,
    Lubricant,
    Place,
    Viscosities,
    lubricant,
    place,
    places_of,
)
from pegwood.trade.lubricants.viscosity import MM2, check_temperature
from pegwood.trade.numbers import ZERO_C_K, celsius
from pegwood.trade.reference import Reference
from pegwood.trade.said import told
from pegwood.trade.wording import capital

#: Told when no temperature is asked for, [K].
USUAL_K = (313.15, 293.15, 273.15, 263.15)


def tell_lubricant(reference: Reference, word: str, temperatures_k: Iterable[float] = USUAL_K) -> Answer:
    """
    How thick a lubricant is at some temperatures, where it belongs, how it creeps and dries.

    Parameters
    ----------
    reference : Reference
        The tables.
    word : str
        A class ("synthetic oil VG 10"), or points: "32@40 5.4@100", "32@40 VI 95".
    temperatures_k : iterable of float
        [K]

    Raises
    ------
    UnknownWord
        If no class is called that.
    ValueError
        If points are given that make no line, or a temperature is none that a camera meets.
    """
    one = lubricant(reference, word)
    temperatures_k = tuple(temperatures_k)
    for kelvin in temperatures_k:
        check_temperature(kelvin)
    found = [(kelvin, _at(one, kelvin)) for kelvin in temperatures_k] if one.known else []
    homes = places_of(reference, one)
    sections = (
        Section(title="How thick", lines=tuple(_viscosity_line(one, *pair) for pair in found)),
        Section(title="Where it belongs", lines=tuple(_home(where) for where in homes)),
        Section(title="Know too", lines=(*told(one.notes), *_behaviours(reference, one))),
    )
    return Answer(
        subject="lubricant",
        understood=one.name,
        headline=_headline(one, homes),
        sections=tuple(section for section in sections if section.lines),
        cautions=tuple(
            Statement(label=where.name, says=line.says, grounds=line.grounds)
            for where in homes[:2]
            for line in where.never[:1]
        ),
        also=("blades", f"{one.name} cold") if one.key != "given" else (),
        data={"lubricant": _as_data(one, found)},
    )


def _at(one: Lubricant, kelvin: float) -> Viscosities | str:
    """The viscosity, or why there is none."""
    try:
        return one.viscosity(kelvin)
    except ValueError as reason:
        return str(reason)


def mm2(one: Viscosities) -> str:
    """A viscosity with its range as people read it."""
    ends = f" ({_short(one.lowest)} to {_short(one.highest)})" if one.highest > 1.01 * one.lowest else ""
    return f"{_short(one.value)}{ends} mm²/s"


def _short(value_m2_s: float) -> str:
    return f"{float(f'{value_m2_s / MM2:.3g}'):g}"


def _viscosity_line(one: Lubricant, kelvin: float, found: Viscosities | str) -> Statement:
    label = f"at {celsius(kelvin)}"
    if isinstance(found, str):
        grounds = joined(one.viscosity_grounds, one.pour_c.grounds if one.pour_c else ())
        return Statement(label=label, says=found, verdict="not known", grounds=grounds)
    return Statement(label=label, says=f"{mm2(found)}.", grounds=one.viscosity_grounds)


def _headline(one: Lubricant, homes: tuple[Place, ...]) -> Statement:
    says, grounds = [], [one.grounds]
    if one.nlgi:
        least, most = NLGI[one.nlgi]
        says.append(f"Grease NLGI {one.nlgi} (worked penetration {least} to {most} tenths of a mm).")
        grounds.append((NLGI_GROUND,))
    if one.known:
        at_40 = _at(one, USUAL_K[0])
        if isinstance(at_40, Viscosities):
            grade = iso_vg(at_40.value)
            base = "Base oil" if one.kind == "grease" else "Oil"
            says.append(f"{base} of {_short(at_40.value)} mm²/s at 40 °C, {_grade(grade)}.")
            grounds += [one.viscosity_grounds, (VG_GROUND,)]
    if homes:
        says.append(f"For {', '.join(where.name for where in homes)}.")
    elif one.key != "given":
        says.append("No place of a camera asks for it.")
    return Statement(label=one.name, says=" ".join(says), grounds=joined(*grounds))


def _grade(grade: int | None) -> str:
    return f"ISO VG {grade}" if grade else "between two ISO VG grades"


def _home(where: Place) -> Statement:
    return Statement(label=where.name, says=where.amount, grounds=where.grounds)


def _behaviours(reference: Reference, one: Lubricant) -> tuple[Statement, ...]:
    return tuple(
        Statement(label=row.name, says=row.says, grounds=row.grounds)
        for row in reference.rows(BEHAVIOURS).values()
        if one.kind in row.kinds
    )


def _as_data(one: Lubricant, found: list[tuple[float, Viscosities | str]]) -> dict[str, Any]:
    pour = {}
    if one.pour_c:
        pour = {"pour_point": sourced(one.pour_c.grounds, temperature_k=one.pour_c.ends[1] + ZERO_C_K)}
    return {
        "key": one.key,
        "name": one.name,
        "kind": one.kind,
        **({"nlgi": one.nlgi} if one.nlgi else {}),
        **pour,
        "viscosities": [viscosity_data(one.viscosity_grounds, kelvin, value) for kelvin, value in found],
    }


def viscosity_data(grounds: Grounds, kelvin: float, found: Viscosities | str) -> dict[str, Any]:
    """A viscosity at a temperature for JSON; null with the reason where there is none."""
    if isinstance(found, str):
        return sourced(grounds, temperature_k=kelvin, viscosity_m2_s=None, reason=found)
    return sourced(
        grounds,
        temperature_k=kelvin,
        viscosity_m2_s=found.value,
        lowest_m2_s=found.lowest,
        highest_m2_s=found.highest,
    )


def tell_place(reference: Reference, word: str) -> Answer:
    """
    What goes on a place of a camera, how much and why, or that none may be there.

    Raises
    ------
    UnknownWord
        If no place is called that.
    """
    one = place(reference, word)
    table = reference.rows(LUBRICANTS)
    goes = [table[key] for key in one.lubricants if key in table]
    others = tuple(
        Statement(label=other.name, says="Also for this place.", grounds=one.grounds) for other in goes[1:]
    )
    lines = [Statement(label="why", says=one.why, grounds=one.grounds)]
    if one.cold:
        lines.append(Statement(label="in the cold", says=f"{capital(one.cold)}.", grounds=one.grounds))
    sections = (Section(title="Why", lines=tuple(lines)), Section(title="Or", lines=others))
    return Answer(
        subject="place",
        understood=one.name,
        headline=Statement(
            label=one.name,
            says=f"{capital(goes[0].name)}. {one.amount}" if goes else f"No oil, no grease. {one.amount}",
            verdict="" if goes else "never",
            grounds=joined(one.grounds, *(row.grounds for row in goes)),
        ),
        sections=tuple(section for section in sections if section.lines),
        cautions=told(one.never),
        also=tuple(f"{row.name} cold" for row in goes[:1]),
        data={
            "place": {
                "key": one.key,
                "name": one.name,
                "lubricants": [row.key for row in goes],
                **sourced(one.grounds, amount=one.amount, why=one.why),
            }
        },
    )
