"""What a spring that is gone or tired can be wound from again."""

from __future__ import annotations

import math

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.measured import Measured
from pegwood.trade.names import find
from pegwood.trade.numbers import figure, mm, per_cent
from pegwood.trade.practice import BENCH
from pegwood.trade.reference import Reference
from pegwood.trade.springs.coils import BODY, ENDS, HELICAL, TORSION, Coil, Ends, Kind, body, rate
from pegwood.trade.springs.telling import FLIES
from pegwood.trade.springs.winding import Space, Winding, windings
from pegwood.trade.springs.wires import SPRING_WIRES, WIRE_SIZES

BEST = 5
FEW_TURNS = Ground("Shigley's Mechanical Engineering Design, 3 to 15 free turns", "memory")


def rate_of(reference: Reference, coil: Coil, kind: Kind, metal: str) -> Measured:
    """The rate of a measured coil, N/m or N m a turn, to wind another to."""
    wire = find(reference.rows(SPRING_WIRES), metal, "spring wire")
    return rate(coil, kind, wire.modulus("young" if kind == "torsion" else "shear")[0]).measured


def room_of(coil: Coil, kind: Kind, ends: Ends) -> Space:
    """The room that a measured coil takes up itself: its inside, its outside and its shortest length, m."""
    half = coil.wire.value
    return Space(
        over_m=coil.mean_m - half - coil.diameter.u,
        within_m=coil.mean_m + half + coil.diameter.u,
        height_m=body(kind, coil.wire.value, coil.turns.value, ends) * (1 + 1e-9),
    )


def tell_windings(
    reference: Reference,
    wanted: Measured,
    *,
    space: Space,
    kind: Kind = "compression",
    metal: str = "music-wire",
    sizes: str = "metric",
    ends: Ends = "closed",
    near_mean_m: float | None = None,
) -> Answer:
    """
    Wires and turns that give a rate within a space, the one that bears most first.

    Parameters
    ----------
    reference : Reference
    wanted : Measured
        Rate: N/m, or N m a turn for torsion; its uncertainty goes into the turns.
    space : Space
    kind, metal, ends
        As `tell_spring`.
    sizes : str
        Which list of wire sizes, by any name in its table.
    near_mean_m : float, optional
        Mean diameter to keep to, m.

    Raises
    ------
    UnknownWord, ValueError
        If a word is not known or a figure cannot be.
    """
    wire = find(reference.rows(SPRING_WIRES), metal, "spring wire")
    series = find(reference.rows(WIRE_SIZES), sizes, "list of wire sizes")
    found = windings(
        wanted.value,
        kind=kind,
        wire=wire,
        sizes=series.sizes_m,
        space=space,
        ends=ends,
        near_mean_m=near_mean_m,
    )[:BEST]
    said = wire.modulus("young" if kind == "torsion" else "shear")[1]
    grounds = joined(
        (TORSION if kind == "torsion" else HELICAL, ENDS if kind == "compression" else BODY),
        (FEW_TURNS,),
        said.grounds,
        series.grounds,
        wire.strength_grounds,
    )
    asked = f"{_rate(wanted.value, kind)} from {wire.name}{_room(space)}"
    if not found:
        headline = Statement(
            says=(
                f"No wire of the {series.name} gives {asked}, with index 4 to 12 and 3 turns at least. "
                "Allow more height or width, or another metal or list of sizes."
            ),
            grounds=grounds,
        )
        return Answer(subject="winding", understood=asked, headline=headline, data={"windings": []})
    best = found[0]
    others = tuple(Statement(says=f"{_line(one, kind)}.", grounds=grounds) for one in found[1:])
    return Answer(
        subject="winding",
        understood=asked,
        headline=Statement(label="wind", says=f"{_line(best, kind)}.", grounds=grounds),
        sections=(
            *((Section(title="Would do as well", lines=others),) if others else ()),
            Section(title="At the bench", lines=tuple(_advice(wanted, best, kind, grounds))),
        ),
        cautions=(FLIES,),
        data={
            "kind": kind,
            "metal": wire.key,
            "windings": [_data(one, kind, grounds) for one in found],
        },
    )


def _rate(value: float, kind: Kind) -> str:
    return f"{figure(value * 1e3)} N mm a turn" if kind == "torsion" else f"{figure(value / 1e3)} N/mm"


def _room(space: Space) -> str:
    told = []
    if space.over_m > 0:
        told.append(f"over {mm(space.over_m)}")
    if math.isfinite(space.within_m):
        told.append(f"within {mm(space.within_m)}")
    if math.isfinite(space.height_m):
        told.append(f"no longer than {mm(space.height_m)} closed")
    return "".join(f", {one}" for one in told)


def _line(one: Winding, kind: Kind) -> str:
    bears = "what it bears is not known"
    if one.greatest_load is not None:
        turns = kind == "torsion"
        most = f"{figure(one.greatest_load * 1e3, 2)} N mm" if turns else f"{figure(one.greatest_load, 2)} N"
        bears = f"bears {most}"
    return (
        f"{mm(one.wire_m)} wire, {round(one.turns, 2):g} free turns, "
        f"{mm(one.mean_m + one.wire_m)} outside, {mm(one.body_m)} closed "
        f"(index {figure(one.index, 2)}); {bears}"
    )


def _advice(wanted: Measured, best: Winding, kind: Kind, grounds: Grounds) -> list[Statement]:
    lines = []
    if wanted.u > 0:
        unsure = wanted.u / wanted.value
        lines.append(
            Statement(
                label="how sure",
                says=(
                    f"The rate is known to {per_cent(unsure)} (k = 1), so the turns are "
                    f"{round(best.turns, 2):g}, give or take {figure(2 * unsure * best.turns, 2)}: wind "
                    "more than that, try it, and cut back until it pulls as it should."
                ),
                grounds=joined(grounds, (BENCH,)),
            )
        )
    lines.append(
        Statement(
            label="mandrel",
            says=(
                f"Thinner than the inside, {mm(best.mean_m - best.wire_m)}: it opens when let go. "
                "How much, only a trial turn of that wire tells."
            ),
            grounds=(BENCH,),
        )
    )
    if kind != "compression":
        lines.append(Statement(label="hooks and legs", says="Come on top of these turns.", grounds=(BENCH,)))
    return lines


def _data(one: Winding, kind: Kind, grounds: Grounds) -> dict[str, object]:
    return sourced(
        grounds,
        wire_m=one.wire_m,
        mean_m=one.mean_m,
        free_turns=one.turns,
        shortest_m=one.body_m,
        index=one.index,
        **(
            {"rate_n_m_per_rad": one.rate / (2 * math.pi), "bears_n_m": one.greatest_load}
            if kind == "torsion"
            else {"rate_n_per_m": one.rate, "bears_n": one.greatest_load}
        ),
    )
