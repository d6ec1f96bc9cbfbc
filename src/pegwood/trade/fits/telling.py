"""What is told of a fit in warmth and cold, and of a clutch."""

from __future__ import annotations

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.fits.clutch import Clutch
from pegwood.trade.fits.expansion import Expansion, Fit, expansion_of, fit
from pegwood.trade.grounds import Ground, joined, sourced
from pegwood.trade.measured import Measured
from pegwood.trade.numbers import figure, mm
from pegwood.trade.practice import BENCH
from pegwood.trade.reference import Reference

LAW = Ground("physics: diametral change D (a1 - a2) dT", "memory")
CLUTCH = Ground("lesson on clutches, even wear and even pressure; the formulae recalled", "memory")

#: The least a repairer would call a change of a fit, m: below it, look for another reason.
SMALL_M = 10e-6


def _um(metres: float) -> str:
    return f"{figure(metres * 1e6, 2)} um"


def tell_fit(
    reference: Reference,
    outer: str,
    inner: str,
    *,
    diameter_m: float,
    from_c: float = 20.0,
    to_c: float = -10.0,
    clearance: Measured | None = None,
) -> Answer:
    """
    What warmth or cold does to the clearance of a round part in another.

    Parameters
    ----------
    reference : Reference
    outer, inner : str
        Materials, by any name.
    diameter_m : float
        Of the fit, m.
    from_c, to_c : float
        Temperatures, degrees Celsius.
    clearance : Measured, optional
        Diametral clearance at the first temperature, m.

    Raises
    ------
    UnknownWord, ValueError
        If a material or its expansion is not known or a figure cannot be.
    """
    around, outer_name = expansion_of(reference, outer)
    within, inner_name = expansion_of(reference, inner)
    found = fit(around, within, diameter_m=diameter_m, by_k=to_c - from_c, clearance=clearance)
    grounds = joined((LAW,), found.grounds)
    how = "opens" if found.low_m > 0 else "closes" if found.high_m < 0 else "hardly changes"
    if how == "hardly changes" and abs(found.change_m) > SMALL_M / 10:
        how = "opens or closes, the sources differ"
    size = _um(abs(found.change_m))
    ends = [found.low_m, found.high_m]
    if found.low_m * found.high_m > 0:  # all sources agree which way; the words above say it
        ends = sorted(abs(one) for one in ends)
    told = f"{figure(ends[0] * 1e6, 2)} to {figure(ends[1] * 1e6, 2)} um over the sources"
    ranges = f" ({told})" if ends[0] != ends[1] else ""
    then = dict(zip(("clearance_m", "clearance_low_m", "clearance_high_m"), found.then_m or (), strict=False))
    return Answer(
        subject="fit",
        understood=(f"{inner_name} in {outer_name}, {mm(diameter_m)}, from {from_c:g} to {to_c:g} °C"),
        headline=Statement(label="clearance", says=f"{how}: {size} across{ranges}.", grounds=grounds),
        sections=(
            *((_then(found, to_c, grounds),) if found.then_m else ()),
            Section(title="The metals", lines=(_metal(around, outer_name), _metal(within, inner_name))),
            *((_grease(found),) if max(abs(found.low_m), abs(found.high_m)) < SMALL_M else ()),
        ),
        data={
            "outer": around.material,
            "inner": within.material,
            "fit": sourced(
                grounds,
                diameter_m=diameter_m,
                by_k=to_c - from_c,
                change_m=found.change_m,
                change_low_m=found.low_m,
                change_high_m=found.high_m,
                **then,
            ),
        },
    )


def _then(found: Fit, to_c: float, grounds: tuple[Ground, ...]) -> Section:
    assert found.then_m is not None
    then, least, most = found.then_m
    if most <= 0:
        judged = "it binds"
    elif least > 0:
        judged = "it still runs"
    else:
        judged = "too close to call"
    says = f"{figure(then * 1e6, 2)} um"
    if least != most:
        says += f", {figure(least * 1e6, 2)} to {figure(most * 1e6, 2)} in all"
    return Section(
        title=f"At {to_c:g} °C",
        lines=(
            Statement(label="clearance left", says=f"{says}: {judged}.", grounds=grounds),
            Statement(
                label="not reckoned",
                says="Paint, plating, grease and a part that is warmer than the other.",
                grounds=(BENCH,),
            ),
        ),
    )


def _metal(one: Expansion, name: str) -> Statement:
    said = one.said
    alloys = ", ".join(f"{f.value:g}{f' ({f.of})' if f.of else ''}" for f in one.per_mk)
    return Statement(label=name, says=f"{alloys} x 1e-6 per kelvin.", grounds=said.grounds)


def _grease(found: Fit) -> Section:
    return Section(
        title="What that means",
        lines=(
            Statement(
                label="small",
                says="Too little to bind a helicoid that was free: look at its grease first.",
                grounds=joined((BENCH,), found.grounds),
            ),
        ),
    )


def tell_clutch(clutch: Clutch) -> Answer:
    """The torque at which a flat clutch slips, new and worn in."""
    grounds = (CLUTCH,)
    worn, new = clutch.worn_n_m * 1e3, clutch.new_n_m * 1e3
    return Answer(
        subject="clutch",
        understood=(
            f"flat clutch, {figure(clutch.force_n)} N, friction {figure(clutch.friction)}, "
            f"{clutch.faces} pairs of faces between {mm(clutch.inner_m * 2)} and {mm(clutch.outer_m * 2)}"
        ),
        headline=Statement(
            label="slips at", says=f"{figure(worn)} N mm worn in, {figure(new)} N mm as new.", grounds=grounds
        ),
        sections=(
            Section(
                title="How sure that is",
                lines=(
                    Statement(
                        label="friction",
                        says="The least sure of all: oil changes it most. Measure the torque and work back.",
                        grounds=(BENCH,),
                    ),
                ),
            ),
        ),
        data={"clutch": sourced(grounds, worn_n_m=clutch.worn_n_m, new_n_m=clutch.new_n_m)},
    )
