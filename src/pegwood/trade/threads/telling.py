"""Threads and torques in words."""

from __future__ import annotations

import math
from typing import Any

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.numbers import figure
from pegwood.trade.reference import Reference
from pegwood.trade.threads.likeness import Candidate, Likeness, threads_like
from pegwood.trade.threads.looks import Look, looks
from pegwood.trade.threads.measured import U_ANGLE_DEG, U_DIAMETER_M
from pegwood.trade.threads.rows import Crest, Thread
from pegwood.trade.threads.torque import FACTOR, Torque, tightening_torque
from pegwood.trade.wording import capital

#: Below this a candidate is counted, not told.
TOLD_P = 1e-3
#: From here on the screw is taken for none of the tables'.
NONE_TOLD_P = 0.5

NEVER_FORCE = Statement(
    says="Try a screw with two fingers only. Where it stiffens after a turn or two it is another thread: "
    "never force it, least of all in brass, aluminium or plastic.",
    grounds=(Ground("common bench practice", "practice"),),
)
#: The measurement is the asker's own; what stands beside it in the data says so.
AS_MEASURED: Grounds = (Ground("as measured and typed", "seen"),)


def tell_thread(
    reference: Reference,
    diameter_m: float,
    pitch_m: float,
    *,
    u_diameter_m: float = U_DIAMETER_M,
    u_pitch_m: float | None = None,
    angle_deg: float | None = None,
    u_angle_deg: float = U_ANGLE_DEG,
    crest: Crest | None = None,
    origin: str | None = None,
) -> Answer:
    """
    Which thread a measured screw has, and what to measure next to be sure.

    Parameters
    ----------
    As for `threads_like`.

    Raises
    ------
    ValueError
        If a figure cannot be a screw's.
    """
    likeness = threads_like(
        reference,
        diameter_m,
        pitch_m,
        u_diameter_m=u_diameter_m,
        u_pitch_m=u_pitch_m,
        angle_deg=angle_deg,
        u_angle_deg=u_angle_deg,
        crest=crest,
        origin=origin,
    )
    return told(likeness, origin)


def told(likeness: Likeness, origin: str | None = None, more: tuple[Section, ...] = ()) -> Answer:
    """A likeness as an answer; `more` stands below what it can be."""
    found = looks(likeness)
    unlike_all = likeness.none_p >= NONE_TOLD_P
    first = () if unlike_all else (_next(likeness, found),)
    return Answer(
        subject="thread",
        understood=_understood(likeness, origin),
        headline=_headline(likeness),
        sections=(Section(title="It can be", lines=_can_be(likeness)), *more, *first),
        cautions=(NEVER_FORCE,),
        also=() if unlike_all else (f"torque {likeness.candidates[0].thread.name} in brass",),
        data=_data(likeness, found),
    )


def _percent(p: float) -> str:
    if p > 0.995:
        return "over 99 %"
    return f"{100 * p:.0f} %" if p >= 0.01 else "under 1 %"


def _grounds(likeness: Likeness, *those: Candidate) -> Grounds:
    return joined(*(one.grounds for one in those), likeness.grounds)


def _headline(likeness: Likeness) -> Statement:
    best, *others = likeness.leading
    if likeness.none_p >= NONE_TOLD_P:
        return Statement(
            says=f"No thread of the tables ({_percent(likeness.none_p)}). Measure again: the diameter over "
            "the crests of unworn turns, the pitch over ten turns; and look whether it is a wood screw.",
            grounds=likeness.grounds,
        )
    says = f"{best.thread.name}, {_percent(best.p)}"
    if others:
        says += f"; or {', '.join(f'{one.thread.name} {_percent(one.p)}' for one in others[:3])}"
    return Statement(says=f"{says}.", grounds=_grounds(likeness, best, *others[:3]))


def _can_be(likeness: Likeness) -> tuple[Statement, ...]:
    lines = [
        Statement(
            label=one.thread.name,
            says=f"{_percent(one.p)}. {_described(one.thread)}",
            grounds=_grounds(likeness, one),
            share=one.p,
        )
        for one in likeness.leading
        if one.p >= TOLD_P
    ]
    if likeness.none_p >= 0.01:
        lines.append(
            Statement(
                label="none of the tables'",
                says=f"{_percent(likeness.none_p)}.",
                grounds=likeness.grounds,
                share=likeness.none_p,
            )
        )
    return tuple(lines)


def _described(thread: Thread) -> str:
    return (
        f"{thread.family.name}: {thread.diameter_m * 1e3:.4g} mm by name, its screws "
        f"{thread.limits.low_m * 1e3:.2f} to {thread.limits.high_m * 1e3:.2f}; pitch "
        f"{thread.pitch_m * 1e3:.4g} mm, {thread.form.angle_deg:.3g}°, crests {thread.form.crest}."
    )


def _next(likeness: Likeness, found: tuple[Look, ...]) -> Section:
    title = "To tell them apart, next"
    if not found:
        return Section(
            title=title, lines=(Statement(says=_nothing_left(likeness), grounds=likeness.grounds),)
        )
    lines = [Statement(label=found[0].do, says=found[0].how, grounds=found[0].grounds)]
    lines += [
        Statement(label=f"  {name}", says=f"{reads}.", grounds=found[0].grounds)
        for name, reads in found[0].reads
    ]
    if others := found[1:3]:
        doubt = _doubt_bits(likeness)
        also = "; ".join(f"{one.do} ({one.gain_bits / doubt:.0%})".replace("%", " %") for one in others)
        settles = f"{100 * found[0].gain_bits / doubt:.0f} % of the doubt"
        lines.append(
            Statement(
                label="it tells",
                says=f"On average it settles {settles}. Else: {also}.",
                grounds=joined(found[0].grounds, likeness.grounds),
            )
        )
    return Section(title=title, lines=tuple(lines))


def _doubt_bits(likeness: Likeness) -> float:
    """How much doubt there is, [bit]: the entropy of the threads it can be, as Shannon defined it."""
    among = [one.p for one in likeness.candidates if one.p > 0]
    return -sum(p / sum(among) * math.log2(p / sum(among)) for p in among)


def _nothing_left(likeness: Likeness) -> str:
    if len(likeness.leading) > 1:
        return "Nothing here tells these apart; they fit the same holes well enough to use either."
    return "Nothing: no other thread of the tables comes near."


def _understood(likeness: Likeness, origin: str | None) -> str:
    measured = likeness.measured
    parts = [
        f"outside diameter {measured.diameter_m * 1e3:.3f} ± {measured.u_diameter_m * 1e3:.3f} mm",
        f"pitch {measured.pitch_m * 1e3:.4f} ± {measured.u_pitch_m * 1e3:.4f} mm",
    ]
    if measured.angle_deg is not None:
        parts.append(f"flanks {measured.angle_deg:g} ± {measured.u_angle_deg:g}°")
    if measured.crest:
        parts.append(f"crests {measured.crest}")
    if origin:
        parts.append(f"camera from {', '.join(likeness.origins.values())}")
    return ", ".join(parts)


def _data(likeness: Likeness, found: tuple[Look, ...]) -> dict[str, Any]:
    measured = likeness.measured
    return {
        "measured": sourced(
            AS_MEASURED,
            diameter_m=measured.diameter_m,
            u_diameter_m=measured.u_diameter_m,
            pitch_m=measured.pitch_m,
            u_pitch_m=measured.u_pitch_m,
            **({"angle_deg": measured.angle_deg} if measured.angle_deg is not None else {}),
        ),
        "candidates": [
            sourced(
                _grounds(likeness, one),
                thread=one.thread.name,
                p=one.p,
                diameter_m=one.thread.diameter_m,
                pitch_m=one.thread.pitch_m,
                diameter_low_m=one.thread.limits.low_m,
                diameter_high_m=one.thread.limits.high_m,
                angle_deg=one.thread.form.angle_deg,
                crest=one.thread.form.crest,
                height=one.thread.form.height,
                family=one.thread.family.name,
            )
            for one in likeness.candidates
            if one.p >= TOLD_P
        ],
        "none_of_these": sourced(likeness.grounds, p=likeness.none_p),
        "less_likely": sourced(
            likeness.grounds, p=sum(one.p for one in likeness.candidates if one.p < TOLD_P)
        ),
        "next": _look(found[0])
        if found
        else {"measure": "nothing more", "how": _nothing_left(likeness), "reads": []},
        "or_else": [_look(one) for one in found[1:]],
    }


def _look(look: Look) -> dict[str, Any]:
    reads = [{"thread": name, "reads": reading} for name, reading in look.reads]
    return sourced(look.grounds, measure=look.do, how=look.how, gain_bits=look.gain_bits, reads=reads)


def tell_torque(reference: Reference, thread: str, hole: str = "steel") -> Answer:
    """
    How tight a screw may be in a hole of some material.

    Parameters
    ----------
    As for `tightening_torque`.

    Raises
    ------
    ValueError
        If the tables know thread or material not.
    """
    torque = tightening_torque(reference, thread, hole)
    grounds = torque.grounds
    name, holds = torque.thread.name, torque.material.name
    lines = [
        Statement(label="oiled or waxed", says=f"{_nm(torque.oiled_nm)} pulls as hard.", grounds=grounds),
        Statement(label="dry and rough", says=f"it may take {_nm(torque.rough_nm)}.", grounds=grounds),
        Statement(
            label="an old slotted screw, or one of brass",
            says=f"begin at {_nm(torque.torque_nm / 2)} and stop where it is firm.",
            grounds=joined(grounds, FROM_HALF),
        ),
        Statement(
            label="pull",
            says=f"about {torque.pull_n:.0f} N, over a stress area of {torque.stress_area_m2 * 1e6:.3f} mm².",
            grounds=grounds,
        ),
    ]
    if torque.below_chart:
        lines.append(
            Statement(
                label="below the chart",
                says="it begins at 1 mm; this is its rule carried on.",
                grounds=BELOW_CHART,
            )
        )
    return Answer(
        subject="torque",
        understood=f"{name} in {holds}",
        headline=Statement(
            label=f"{name} in {holds}", says=f"{_nm(torque.torque_nm)}, dry and clean.", grounds=grounds
        ),
        sections=(Section(title="That holds as far as friction does", lines=tuple(lines)),),
        cautions=_cautions(torque),
        data={
            "torque": sourced(
                grounds,
                thread=name,
                hole=torque.material.key,
                torque_n_m=torque.torque_nm,
                oiled_n_m=torque.oiled_nm,
                rough_n_m=torque.rough_nm,
                old_slotted_n_m=torque.torque_nm / 2,
                pull_n=torque.pull_n,
                stress_area_m2=torque.stress_area_m2,
            )
        },
    )


FROM_HALF: Grounds = (
    Ground("common bench practice: old slotted screws in soft metal begin at half", "practice"),
)
BELOW_CHART: Grounds = (Ground("extrapolated below the chart's smallest screw, M1", "practice"),)


def _cautions(torque: Torque) -> tuple[Statement, ...]:
    oil = Statement(
        says="Never give the dry figure to an oiled or waxed screw: it pulls up to two thirds harder.",
        grounds=(FACTOR,),
    )
    if not torque.hole.plastic:
        return (oil,)
    creeps = Statement(
        says=f"{capital(torque.material.name)} strips without warning: stop at first firm contact.",
        grounds=(Ground("common bench practice", "practice"),),
    )
    return (creeps, oil)


def _nm(torque_nm: float) -> str:
    """A torque in newton metres and in the unit of small drivers."""
    if torque_nm >= 1:
        return f"{figure(torque_nm, 2)} N·m"
    return f"{figure(torque_nm, 2)} N·m ({figure(torque_nm * 100, 2)} cN·m)"
