"""What is told of a hazard, and of letting a charged capacitor down."""

from __future__ import annotations

import math

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.reference import Reference
from pegwood.trade.safety.capacitor import Discharge, discharge, resistor_for
from pegwood.trade.safety.hazards import Hazard, hazard
from pegwood.trade.said import told

PHYSICS = Ground(
    "E = C U²/2, U = U0 exp(-t/RC), P = U²/R: textbook physics of a capacitor and a resistor", "seen"
)
E12_GROUND = Ground("IEC 60063, series E12", "memory")
SAFE = Ground("common bench practice: 5 V left is taken for let down", "practice")
GIVEN = Ground("as you gave it", "practice")
REGAIN = Ground("dielectric absorption of electrolytic capacitors, up to 15 %", "memory")
TEN_JOULES = Ground(
    "title of a paper on capacitor hazard thresholds of the US Department of Energy; the 10 J recalled",
    "memory",
)
LIMIT_VOLTAGE = Ground("data sheets of small resistors", "memory")
USUAL_SAFE_V = 5.0
REGAINED = 0.15
HAZARDOUS_J = 10.0


def tell_hazard(reference: Reference, word: str) -> Answer:
    """
    How a hazard is recognised, what to do, what never to do, what the law says.

    Raises
    ------
    UnknownWord
        If nothing is known by that name.
    """
    one = hazard(reference, word)
    symbol = one.pictograms[0] if one.pictograms else ""
    sections = (
        Section(title="Recognise it", lines=told(one.recognise)),
        Section(title="Do", lines=told(one.do)),
        Section(title="What rules say", lines=told(one.law)),
    )
    return Answer(
        subject="hazard",
        understood=one.name,
        headline=Statement(label=one.name, says=one.short, grounds=one.grounds, pictogram=symbol),
        sections=tuple(section for section in sections if section.lines),
        cautions=told(one.never),
        also=(f"{one.substance.replace('-', ' ')} safety",) if one.substance else (),
        data={"hazard": _as_data(one)},
    )


def _as_data(one: Hazard) -> dict[str, object]:
    return {
        "key": one.key,
        "name": one.name,
        "pictograms": list(one.pictograms),
        **{
            name: [sourced(said.grounds, says=said.says) for said in getattr(one, name)]
            for name in ("recognise", "do", "never", "law")
        },
    }


def tell_capacitor(
    reference: Reference,
    capacitance_f: float,
    voltage_v: float,
    resistance_ohm: float | None = None,
    safe_v: float = USUAL_SAFE_V,
) -> Answer:
    """
    How a charged capacitor is let down: energy, resistor, time, and that it regains charge.

    Parameters
    ----------
    reference : Reference
        The tables; the hazard's cautions come from them.
    capacitance_f, voltage_v : float
        [F], [V].
    resistance_ohm : float, optional
        The resistor at hand [ohm]; without one, the E12 value that a 10 W resistor stands from the first
        moment.
    safe_v : float
        The voltage taken for safe, [V].

    Raises
    ------
    ValueError
        If a figure is not above zero, or too large to be meant.
    """
    chosen = resistance_ohm if resistance_ohm is not None else resistor_for(voltage_v)
    one = discharge(capacitance_f, voltage_v, chosen, safe_v)
    own_choice = resistance_ohm is not None
    by = (PHYSICS,) if own_choice else (PHYSICS, E12_GROUND)
    charged = hazard(reference, "charged-capacitor")
    return Answer(
        subject="capacitor",
        understood=(
            f"{capacitance_f * 1e6:g} µF at {voltage_v:g} V, through {_ohm(chosen)}, safe at {safe_v:g} V"
        ),
        headline=Statement(
            label=f"{capacitance_f * 1e6:g} µF at {voltage_v:g} V", says=_in_short(one), grounds=by
        ),
        sections=(
            Section(title="Letting it down", lines=_letting_down(one, own_choice)),
            Section(title="Afterwards", lines=_afterwards(one)),
        ),
        cautions=told((*charged.never, *charged.do[:1])),
        also=("charged flash capacitor hazard",),
        data={"capacitor": _figures(one, by)},
    )


def _in_short(one: Discharge) -> str:
    if one.voltage_v <= one.safe_v:
        return f"{_joule(one.energy_j)} J; it is below {one.safe_v:g} V already. Measure it all the same."
    return (
        f"{_joule(one.energy_j)} J. Through {_ohm(one.resistance_ohm)} it is below {one.safe_v:g} V after "
        f"{_at_least(one.time_to_safe_s)}. Then measure."
    )


def _letting_down(one: Discharge, own_choice: bool) -> tuple[Statement, ...]:
    rating = one.rating_w
    if rating is None:
        stands = (
            "no usual resistor stands that for long: take a larger value, or one whose data "
            "sheet allows the pulse"
        )
    else:
        stands = (
            f"a rating of {rating:g} W stands it from the first moment; a smaller one only if its data sheet "
            f"allows a pulse of {_joule(one.energy_j)} J"
        )
    whose = (GIVEN,) if own_choice else (E12_GROUND,)
    lines = [
        Statement(
            label="resistor",
            says=f"{_ohm(one.resistance_ohm)}: {one.starting_power_w:.3g} W at the start, and {stands}.",
            grounds=(PHYSICS, *whose),
        ),
        Statement(
            label="time constant",
            says=(
                f"{_seconds(one.time_constant_s)}; after five of them "
                f"{one.left_v(5 * one.time_constant_s):.3g} V are left."
            ),
            grounds=(PHYSICS,),
        ),
        Statement(
            label="voltage of the resistor",
            says=(
                f"Its own limit must be above {one.voltage_v:g} V: small ones stop at 200 to 350 "
                "V. Two halves in series do."
            ),
            grounds=(LIMIT_VOLTAGE,),
        ),
    ]
    if one.energy_j >= HAZARDOUS_J:
        lines.insert(
            0,
            Statement(
                label="energy",
                says=(
                    f"{_joule(one.energy_j)} J, above the {HAZARDOUS_J:g} J from which it usually "
                    "counts as hazardous."
                ),
                grounds=(PHYSICS, TEN_JOULES),
            ),
        )
    return tuple(lines)


def _afterwards(one: Discharge) -> tuple[Statement, ...]:
    return (
        Statement(
            label="measure",
            says=(
                f"With a meter rated for {one.voltage_v:g} V or more, at the terminals, before a "
                "finger goes near."
            ),
            grounds=(Ground("secondary page quoting NFPA 70E", "seen"),),
        ),
        Statement(
            label="regain of charge",
            says=(
                f"Up to {one.voltage_v * REGAINED:.0f} V can come back within minutes: leave the "
                "resistor on while you work."
            ),
            grounds=(Ground("DOE-HDBK-1092 (electrical safety), 10.10.1", "seen"), REGAIN),
        ),
    )


def _figures(one: Discharge, by: Grounds) -> dict[str, object]:
    return {
        **sourced(
            joined(by, (SAFE,)),
            capacitance_f=one.capacitance_f,
            voltage_v=one.voltage_v,
            resistance_ohm=one.resistance_ohm,
            safe_v=one.safe_v,
            energy_j=one.energy_j,
            time_constant_s=one.time_constant_s,
            time_to_safe_s=one.time_to_safe_s,
            starting_power_w=one.starting_power_w,
            rating_w=one.rating_w,
        ),
        "regain": sourced((REGAIN,), most_v=one.voltage_v * REGAINED),
    }


def _joule(value: float) -> str:
    return f"{value:.4g}" if value >= 1 else f"{value:.2g}"


def _seconds(value: float) -> str:
    return f"{value:.0f} s" if value >= 10 else f"{value:.2g} s"


def _at_least(value: float) -> str:
    """A time to wait: rounded up, for a second too few leaves it above what is taken for safe."""
    step = 10.0 ** max(math.floor(math.log10(value)) - 1, -3) if value < 100 else 1.0
    return f"{math.ceil(round(value / step, 6)) * step:.6g} s"


def _ohm(value: float) -> str:
    for factor, prefix in ((1e6, "M"), (1e3, "k")):
        if value >= factor:
            return f"{value / factor:g} {prefix}Ω"
    return f"{value:g} Ω"
