"""What is told of a cell and of those that may stand in for it."""

from __future__ import annotations

import math

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.cells.table import Known, StandIn, known, stand_ins
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.numbers import figure
from pegwood.trade.practice import BENCH
from pegwood.trade.reference import Reference

RATIO = Ground("arithmetic: log2 of the ratio of the volts", "memory")
SERIES = Ground("a series circuit with a CdS cell of gamma 0.7: reads log2(V / V0) / 0.7 EV high", "memory")
BRIDGE = Ground("circuit theory: a bridge at balance does not see its supply", "memory")
DIODE = Ground("an encyclopaedia on mercury batteries: meters draw 10 to 200 uA, a diode varies", "seen")
NO_SALE = Ground("an encyclopaedia on mercury batteries: sale banned in many countries", "seen")
WASTE = Ground("common rule: cells with mercury are hazardous waste", "memory")
SPILL = Ground("US EPA, what never to do after a mercury spill", "seen")
LEAK = Ground("an encyclopaedia on battery leakage", "seen")

#: Systems whose electrolyte is potassium or sodium hydroxide.
CAUSTIC = frozenset("LMNSP")

#: Up to this height a lithium cell of the same width is sold.
BUTTON_MM = 17.0

#: Exponent of a CdS cell's resistance over illuminance, 0.6 to 0.9.
GAMMA = 0.7


def current_ev(volts: float, instead_of: float) -> float:
    """How much more current a circuit draws from other volts, EV: log2 of their ratio."""
    return math.log2(volts / instead_of)


def reads_high_ev(volts: float, instead_of: float, gamma: float = GAMMA) -> float:
    """How much too bright a meter without a bridge reads, EV: positive leads to less light on the film."""
    return current_ev(volts, instead_of) / gamma


def tell_cell(reference: Reference, word: str) -> Answer:
    """
    A cell's system, volts and size, what may stand in for it and what that changes.

    Parameters
    ----------
    reference : Reference
    word : str
        IEC 60086 designation, or the number printed in the battery chamber.

    Raises
    ------
    UnknownWord
        If the tables know no such cell.
    """
    old = known(reference, word)
    others = stand_ins(reference, old)
    gone = ", no longer sold" if old.system.mercury else ""
    best = ""
    if others:
        best = f" Nearest: {_name(others[0][0], others[0][1])}, {figure(_volts(*others[0]))} V."
    headline = Statement(
        label=old.cell.name,
        says=(
            f"{old.system.name}, {figure(old.volts)} V, {old.system.curve}{gone}; "
            f"{old.size.diameter_mm:g} x {old.size.height_mm:g} mm at most.{best}"
        ),
        grounds=joined(old.grounds, *((one.grounds) for _, one in others[:1])),
    )
    sections = [Section(title="Size", lines=(_size(old),))]
    if old.cell.note:
        sections.append(
            Section(title="Mind", lines=(Statement(says=f"{old.cell.note}.", grounds=old.cell.grounds),))
        )
    if others:
        lines = tuple(_stands_in(old, one, other) for one, other in others)
        sections.append(Section(title="What may stand in for it", lines=lines))
        if any(abs(current_ev(_volts(*one), old.volts)) > 0.01 for one in others):
            sections.append(_meters(old, others))
    elif old.system.mercury:
        sections.append(
            Section(
                title="What may stand in for it",
                lines=(Statement(says="None known here.", verdict="not known", grounds=old.cell.grounds),),
            )
        )
    return Answer(
        subject="cell",
        understood=f"{old.cell.name}, {old.system.name}",
        headline=headline,
        sections=tuple(sections),
        cautions=tuple(_cautions(old)),
        also=tuple(dict.fromkeys(other.cell.name for _, other in others))[:3],
        data=_data(old, others),
    )


def _volts(one: StandIn, other: Known) -> float:
    return one.number * other.volts


def _name(one: StandIn, other: Known) -> str:
    return f"{one.number} x {other.cell.name}" if one.number > 1 else other.cell.name


def _size(old: Known) -> Statement:
    size = old.size
    across, high = f"{size.diameter_mm:g}", f"{size.height_mm:g}"
    if size.least_diameter_mm and size.least_height_mm:
        across, high = f"{size.least_diameter_mm:g} to {across}", f"{size.least_height_mm:g} to {high}"
    return Statement(label=size.name, says=f"{across} mm across, {high} mm high.", grounds=size.grounds)


def _stands_in(old: Known, one: StandIn, other: Known) -> Statement:
    volts = _volts(one, other)
    told = [f"{other.system.name}, {figure(volts)} V, {other.system.curve}"]
    ev = current_ev(volts, old.volts)
    if abs(ev) > 0.005:
        told.append(f"{figure(volts / old.volts, 4)} times the volts, {ev:+.2f} EV of current")
    narrow = old.size.diameter_mm - other.size.diameter_mm
    low = old.size.height_mm - one.number * other.size.height_mm
    fits = [
        *(
            [f"{figure(abs(narrow))} mm {'narrower' if narrow > 0 else 'wider'}"]
            if abs(narrow) > 0.05
            else []
        ),
        *([f"{figure(abs(low))} mm {'lower' if low > 0 else 'higher'}"] if abs(low) > 0.05 else []),
    ]
    told.append(" and ".join(fits) if fits else "same size")
    if one.note:
        told.append(one.note)
    if other.system.needs_air:
        told.append("its holes must get air: seal off, wait some minutes, no airtight chamber")
    return Statement(
        label=_name(one, other),
        says="; ".join(told) + ".",
        grounds=joined(one.grounds, (RATIO,), old.grounds, other.grounds),
    )


def _meters(old: Known, others: list[tuple[StandIn, Known]]) -> Section:
    off = [(one, other, reads_high_ev(_volts(one, other), old.volts)) for one, other in others]
    told = ", ".join(f"{_name(one, other)} {ev:+.2f} EV" for one, other, ev in off)
    return Section(
        title="What a meter makes of other volts",
        lines=(
            Statement(
                label="without a bridge",
                says=(
                    f"A needle in series with a CdS cell reads about {told}: plus reads too bright, the film "
                    "gets too little. Set it anew or shift the film speed, and check at two levels."
                ),
                grounds=joined((SERIES,), old.grounds, *(other.grounds for _, other, _ in off)),
            ),
            Statement(
                label="with a bridge",
                says="Balanced to a null: the volts do not matter. Find out which it is first.",
                grounds=(BRIDGE,),
            ),
            Statement(
                label="diode",
                says="Takes volts off, more at a high current than at a low one: never exact over the scale.",
                grounds=(DIODE,),
            ),
        ),
    )


def _cautions(old: Known) -> list[Statement]:
    told = []
    if old.system.mercury:
        told.append(
            Statement(
                says=(
                    "Mercury: an old cell is hazardous waste, in a closed bag, never in a bin or a fire. "
                    "Leaked or burst: air the room, pick the drops up with card and dropper; "
                    "never a vacuum cleaner, broom or drain."
                ),
                grounds=(NO_SALE, WASTE, SPILL),
            )
        )
    if old.system.lithium:
        told.append(
            Statement(
                says=(
                    "Lithium, 3 V: never in place of one 1.35, 1.5 or 1.55 V cell, even where it fits; "
                    "do not solder, short or charge it."
                ),
                grounds=joined((BENCH,), old.system.grounds),
            )
        )
    elif old.cell.cells == 1 and old.size.height_mm <= BUTTON_MM:
        told.append(
            Statement(
                says="No 3 V lithium cell in its place, even where one fits: twice the volts.",
                grounds=(BENCH,),
            )
        )
    if old.system.letter in CAUSTIC:
        told.append(
            Statement(
                says=(
                    "What leaks is lye and burns skin and eyes: gloves. Weak vinegar on a swab, then water, "
                    "then alcohol; no acid on zinc die-cast or aluminium beside it."
                ),
                grounds=(LEAK, BENCH),
            )
        )
    elif not old.system.letter:
        told.append(
            Statement(
                says="What leaks is acid: bicarbonate in water on a swab, then water, then alcohol; gloves.",
                grounds=(LEAK,),
            )
        )
    return told


def _data(old: Known, others: list[tuple[StandIn, Known]]) -> dict[str, object]:
    return {
        "cell": _cell(old, old.volts, old.grounds),
        "stand_ins": [
            {
                **_cell(other, _volts(one, other), joined(other.grounds, old.grounds)),
                "number": one.number,
                "note": one.note,
                "current_ev": current_ev(_volts(one, other), old.volts),
                "reads_high_without_bridge_ev": reads_high_ev(_volts(one, other), old.volts),
            }
            for one, other in others
        ],
    }


def _cell(one: Known, volts: float, grounds: Grounds) -> dict[str, object]:
    return sourced(
        grounds,
        designation=one.cell.name,
        system=one.system.name,
        volts=volts,
        diameter_m=one.size.diameter_mm / 1000,
        height_m=one.size.height_mm / 1000,
    )
