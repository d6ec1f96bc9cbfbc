"""What a spring that was measured is told to be."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.figures import Several
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.measured import COVERAGE, Measured, Outcome
from pegwood.trade.names import find
from pegwood.trade.numbers import figure, mm, per_cent
from pegwood.trade.practice import BENCH
from pegwood.trade.reference import Reference
from pegwood.trade.springs.coils import (
    BENDING,
    BODY,
    ENDS,
    GUM,
    HELICAL,
    INDEX,
    TORSION,
    WAHL,
    Coil,
    Ends,
    Kind,
    bearable_pa,
    body,
    legs_as_turns,
    measured_body,
    pressed_solid,
    rate,
    stress,
)
from pegwood.trade.springs.wires import SPRING_WIRES, SpringWire
from pegwood.trade.wording import capital

EYES = Ground("29 CFR 1910.133, eye protection", "memory")
LEGS = Ground("beam theory: two straight legs bend as (l1 + l2) / (3 pi D) turns of the coil", "memory")
INITIAL = Ground("spring handbooks: F = Fi + k x, Fi the initial tension", "memory")

FLIES = Statement(
    says="A spring under load flies: eye protection, a cloth or a clear bag over it, let it down slowly.",
    grounds=(EYES, BENCH),
)

#: The relative uncertainty a better gauge of the wire would leave: a micrometer, rather than a calliper.
MICROMETER_U_M = 2e-6

_ENDS: Mapping[Ends, str] = {
    "closed": "one closed turn at each end",
    "ground": "closed and ground ends",
    "plain": "plain ends",
}
_SAID = {"modulus": "the modulus", "wire": "the wire", "diameter": "the coil", "turns": "the turns"}


def tell_spring(
    reference: Reference,
    coil: Coil,
    *,
    kind: Kind = "compression",
    metal: str = "music-wire",
    ends: Ends = "closed",
    free_length_m: float | None = None,
    load: float | None = None,
    initial_n: float | None = None,
    legs_m: float = 0.0,
) -> Answer:
    """
    Rate, lengths and stress of a spring.

    Parameters
    ----------
    reference : Reference
    coil : Coil
        As measured, m.
    kind : str
        ``"compression"``, ``"extension"`` or ``"torsion"``.
    metal : str
        Its wire, by any name in the table of spring wires.
    ends : str
        Of a compression spring: ``"closed"``, ``"ground"`` (closed and ground) or ``"plain"``.
    free_length_m : float, optional
        Of a compression spring, m.
    load : float, optional
        What it must bear: N, or N m for torsion.
    initial_n : float, optional
        Initial tension of an extension spring, N.
    legs_m : float
        Both straight legs of a torsion spring together, m.

    Raises
    ------
    UnknownWord
        If there is no such wire.
    ValueError
        If a figure cannot be.
    """
    wire = find(reference.rows(SPRING_WIRES), metal, "spring wire")
    _check(kind, coil, ends, free_length_m, load, initial_n, legs_m)
    if legs_m:
        bends = legs_as_turns(legs_m, coil.mean_m)
        coil = replace(coil, turns=Measured(coil.turns.value + bends, coil.turns.u))
    modulus, said = wire.modulus("young" if kind == "torsion" else "shear")
    # the free length is taken with the same gauge as the coil
    free = None if free_length_m is None else Measured(free_length_m, coil.diameter.u)
    found = rate(coil, kind, modulus)
    grounds = joined((TORSION if kind == "torsion" else HELICAL,), said.grounds, (LEGS,) if legs_m else ())
    sections = [
        Section(title="How sure that is", lines=tuple(_sureness(coil, found, said, grounds))),
        Section(title="Its lengths", lines=tuple(_lengths(coil, kind, ends, free))),
    ]
    if load is not None:
        sections.append(_under(load, coil, kind, wire, found, initial_n, grounds))
    if free is not None:
        sections.append(_pressed_shut(coil, wire, ends, free, modulus, grounds))
    warned = (Statement(says=f"{capital(wire.note)}.", grounds=wire.grounds),) if wire.note else ()
    return Answer(
        subject="spring",
        understood=(
            f"{kind} spring of {mm(coil.wire.value)} {wire.name}, "
            f"{mm(coil.diameter.value)} {coil.across}, {figure(coil.turns.value)} free turns"
            + (", the legs counted in" if legs_m else "")
        ),
        headline=Statement(label="rate", says=_rate_line(found, kind), grounds=grounds),
        sections=tuple(sections),
        cautions=(FLIES, *warned),
        data=_data(coil, kind, wire, found, ends, grounds),
    )


def _check(
    kind: Kind,
    coil: Coil,
    ends: Ends,
    free: float | None,
    load: float | None,
    initial: float | None,
    legs: float,
) -> None:
    given = [one for one in (free, load, initial, legs) if one is not None]
    if not all(math.isfinite(one) for one in given):
        raise ValueError("length, load, initial tension and legs are plain numbers.")
    if load is not None and not load > 0:
        raise ValueError("the load must be above 0.")
    if initial is not None and (kind != "extension" or initial < 0):
        raise ValueError("initial tension belongs to an extension spring and is not below 0.")
    if legs < 0 or (legs and kind != "torsion"):
        raise ValueError("legs belong to a torsion spring and have a length above 0.")
    if free is not None and kind != "compression":
        raise ValueError("the free length is told of a compression spring only.")
    solid = body(kind, coil.wire.value, coil.turns.value, ends)
    if free is not None and free <= solid:
        raise ValueError(f"free length {mm(free)} is no more than the solid height, {mm(solid)}.")


def _rate_line(found: Outcome, kind: Kind) -> str:
    unit, scale = ("N mm a turn", 1e3) if kind == "torsion" else ("N/mm", 1e-3)
    value, wide = found.value * scale, COVERAGE * found.u * scale
    line = f"{figure(value)} {unit}, give or take {figure(wide, 2)} (95 %)"
    if kind == "torsion":
        line += f"; {figure(value / 360)} N mm a degree"
    return line + "."


def _sureness(coil: Coil, found: Outcome, said: Several, grounds: Grounds) -> list[Statement]:
    shares = {name: abs(part) / found.value for name, part in found.parts.items()}
    ranked = sorted(shares, key=lambda name: -shares[name])
    lines = [
        Statement(
            label="what adds",
            says="; ".join(f"{_SAID[name]} {per_cent(shares[name])}" for name in ranked)
            + f"; together {per_cent(found.relative)} (k = 1).",
            grounds=joined((GUM,), grounds),
        )
    ]
    if found.worst == "wire" and coil.wire.u > MICROMETER_U_M:
        better = math.hypot(
            shares["wire"] * MICROMETER_U_M / coil.wire.u, *(shares[n] for n in shares if n != "wire")
        )
        lines.append(
            Statement(
                label="to be surer",
                says=(
                    f"{figure(coil.wire.u * 1000, 2)} mm on a {mm(coil.wire.value)} wire is "
                    f"{per_cent(shares['wire'])} of the rate. "
                    f"A micrometer (0.002 mm) would leave {per_cent(better)} in all. "
                    "Surest: hang a known weight on it and measure how far it goes."
                ),
                grounds=joined((GUM, BENCH), grounds),
            )
        )
    if said.differ:
        lines.append(
            Statement(
                label="modulus",
                says=f"{said.value:g} GPa used; sources give {said.low:g} to {said.high:g}.",
                grounds=said.grounds,
            )
        )
    if not INDEX[0] <= coil.index <= INDEX[1]:
        lines.append(
            Statement(
                label="index",
                says=f"{figure(coil.index)}, outside 4 to 12: the formula is rougher here, winding harder.",
                grounds=(HELICAL,),
            )
        )
    return lines


def _lengths(coil: Coil, kind: Kind, ends: Ends, free: Measured | None) -> list[Statement]:
    short = measured_body(coil, kind, ends)
    if kind != "compression":
        return [Statement(label="body", says=f"{_mm(short.measured)}, turns lying close.", grounds=(BODY,))]
    says = f"{_mm(short.measured)}, with {_ENDS[ends]}."
    lines = [Statement(label="solid height", says=says, grounds=(ENDS,))]
    if free is not None:
        travel = Measured(free.value - short.value, math.hypot(free.u, short.u))
        lines.append(
            Statement(label="travel", says=f"{_mm(travel)}, from {mm(free.value)} to solid.", grounds=(ENDS,))
        )
    return lines


def _mm(length: Measured) -> str:
    return f"{mm(length.value)}, give or take {figure(COVERAGE * length.u * 1e3, 2)}"


def _pressed_shut(
    coil: Coil, wire: SpringWire, ends: Ends, free: Measured, modulus: Measured, grounds: Grounds
) -> Section:
    force, strain = pressed_solid(coil, ends, modulus, free)
    says = f"{figure(force.value)} N, give or take {figure(COVERAGE * force.u, 2)}."
    lines = (
        Statement(label="force", says=says, grounds=joined(grounds, (ENDS,))),
        _stress_line(strain, coil, "compression", wire),
    )
    return Section(title="Pressed solid", lines=lines)


def _under(
    load: float,
    coil: Coil,
    kind: Kind,
    wire: SpringWire,
    found: Outcome,
    initial: float | None,
    grounds: Grounds,
) -> Section:
    lines = []
    unsure = COVERAGE * found.relative
    if kind == "torsion":
        title = f"Under {figure(load * 1000)} N mm"
        turned = load / found.value * 360
        says = f"{figure(turned)} degrees, give or take {figure(turned * unsure, 2)}."
        lines.append(Statement(label="turned", says=says, grounds=grounds))
    else:
        title = f"Under {figure(load)} N"
        pulls = max(load - (initial or 0.0), 0.0)
        moved = Measured(pulls / found.value, pulls / found.value * found.relative)
        most = "at most " if kind == "extension" and initial is None else ""
        says = f"{most}{_mm(moved)}." if pulls else "not at all: the load is below the initial tension."
        known = (INITIAL,) if initial is not None else ()
        lines.append(Statement(label="moves", says=says, grounds=joined(grounds, known)))
    if kind == "extension" and initial is None:
        lines.append(
            Statement(
                label="initial tension",
                verdict="not known",
                says="Hang weights until the turns just part: that weight is it; give it as --initial.",
                grounds=(INITIAL, BENCH),
            )
        )
    lines.append(_stress_line(stress(coil, kind, load), coil, kind, wire))
    if kind == "extension":
        lines.append(
            Statement(
                label="hooks",
                says="Not reckoned here: a hook is strained more than the coil and breaks first.",
                grounds=(BENCH,),
            )
        )
    return Section(title=title, lines=tuple(lines))


def _stress_line(found: Outcome, coil: Coil, kind: Kind, wire: SpringWire) -> Statement:
    by = (BENDING,) if kind == "torsion" else (WAHL,)
    sort = "bending" if kind == "torsion" else "shear"
    told = f"{figure(found.value / 1e6)} MPa in {sort}"
    bears = bearable_pa(wire, kind, coil.wire.value)
    if bears is None:
        return Statement(
            label="stress",
            verdict="not known",
            says=f"{told}; no source for what {wire.name} of this size bears.",
            grounds=joined(by, wire.grounds),
        )
    share, wide = found.value / bears, COVERAGE * found.u / bears
    if share - wide > 1:
        judged = "too much: it takes a set"
    elif share + wide < 1:
        judged = "new wire bears that"
    else:
        judged = "too close to call: measure wire and coil better"
    return Statement(
        label="stress",
        says=(
            f"{told}, {per_cent(share)} of the {figure(bears / 1e6)} MPa that new wire bears at rest, "
            f"give or take {per_cent(wide)}; {judged}. What an old spring still bears is not known."
        ),
        grounds=joined(by, wire.strength_grounds),
    )


def _data(
    coil: Coil, kind: Kind, wire: SpringWire, found: Outcome, ends: Ends, grounds: Grounds
) -> Mapping[str, Any]:
    if kind == "torsion":
        turn = 2 * math.pi
        rates = {"rate_n_m_per_rad": found.value / turn, "rate_u_n_m_per_rad": found.u / turn}
    else:
        rates = {"rate_n_per_m": found.value, "rate_u_n_per_m": found.u}
    return {
        "kind": kind,
        "metal": wire.key,
        "spring": sourced(
            grounds,
            **rates,
            index=coil.index,
            mean_m=coil.mean_m,
            free_turns=coil.turns.value,
            shortest_m=body(kind, coil.wire.value, coil.turns.value, ends),
        ),
        "budget": sourced(
            joined((GUM,), grounds),
            **{f"{name}_relative": abs(part) / found.value for name, part in found.parts.items()},
        ),
    }
