"""What pack of foil is told for a thickness."""

from __future__ import annotations

import math

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.measured import COVERAGE
from pegwood.trade.numbers import figure
from pegwood.trade.practice import BENCH
from pegwood.trade.reference import Reference
from pegwood.trade.shims.packing import Pack, packed
from pegwood.trade.shims.stock import UNIT_M, UNITS_PER_MM, read_stock, units

COUNTED = Ground("the stock as given; every sum of its leaves looked at", "practice")
FOIL = Ground("common bench practice: foil is within about 5 % of its name, 2 um at least", "practice")

#: Standard uncertainty of a leaf: a rectangle of the bounds that `FOIL` names.
_SHARE, _LEAST_M = 0.05 / math.sqrt(3), 2e-6 / math.sqrt(3)

SHARP = Statement(
    says="Cut foil is sharp as a razor: gloves; stone the burr off, or the pack is thicker than its sum.",
    grounds=(BENCH,),
)


def pack_u_m(pack: Pack) -> float:
    """
    Standard uncertainty of a pack's thickness, m.

    Leaves of one thickness come from one sheet and are off together; sheets are off independently.
    """
    return math.hypot(*((one.count or 0) * max(_SHARE * one.thickness_m, _LEAST_M) for one in pack.leaves))


def tell_shims(reference: Reference, wanted_mm: float, stock: str = "metric") -> Answer:
    """
    The fewest leaves that add to a thickness.

    Parameters
    ----------
    reference : Reference
    wanted_mm : float
        Thickness, mm.
    stock : str
        As `read_stock`: ``"0.05x4, 0.1x2, 0.2"`` or the name of a foil set.

    Raises
    ------
    ValueError
        If the thickness or the stock cannot be.
    """
    wanted = units(round(wanted_mm, 4), "mm")
    leaves, known = read_stock(reference, stock)
    found = packed(wanted, leaves)
    grounds = joined((COUNTED,), known)
    understood = f"{figure(wanted / UNITS_PER_MM, 4)} mm from {stock}"
    if found.best:
        return Answer(
            subject="shim",
            understood=understood,
            headline=Statement(label=f"{_mm(wanted)}", says=f"{_told(found.best, wanted)}.", grounds=grounds),
            sections=(Section(title="How thick that is", lines=tuple(_sureness(found.best))),),
            cautions=(SHARP,),
            data={
                "wanted": sourced(grounds, thickness_m=wanted * UNIT_M),
                "pack": _data(found.best, grounds),
            },
        )
    near = [(name, pack) for name, pack in (("thinner", found.below), ("thicker", found.above)) if pack]
    near.sort(key=lambda one: abs(one[1].units - wanted))
    lines = tuple(
        Statement(label=f"next {name}", says=f"{_told(pack, wanted)}.", grounds=grounds)
        for name, pack in near
    )
    says = "This stock does not add to it within 0.01 mm."
    if near:
        says += f" Nearest: {_mm(near[0][1].units)}."
    return Answer(
        subject="shim",
        understood=understood,
        headline=Statement(label=f"{_mm(wanted)}", says=says, grounds=grounds),
        sections=(Section(title="What it gives", lines=lines),) if lines else (),
        cautions=(SHARP,),
        data={
            "wanted": sourced(grounds, thickness_m=wanted * UNIT_M),
            "pack": None,
            **{f"next_{name}": _data(pack, grounds) for name, pack in near},
        },
    )


def _mm(tenths: int) -> str:
    return f"{tenths / UNITS_PER_MM:g} mm"


def _told(pack: Pack, wanted: int) -> str:
    parts = " + ".join(f"{one.count} x {one.told}" for one in reversed(pack.leaves))
    leaves = "1 leaf" if pack.number == 1 else f"{pack.number} leaves"
    off = pack.units - wanted
    gives = f" = {_mm(pack.units)}, {off / 10:+g} um" if off else ""
    return f"{parts}{gives}: {leaves}"


def _sureness(pack: Pack) -> list[Statement]:
    wide = COVERAGE * pack_u_m(pack) * 1e3
    return [
        Statement(
            label="by its names",
            says=f"{_mm(pack.units)}, give or take {figure(wide, 2)} mm (95 %).",
            grounds=(FOIL,),
        ),
        Statement(
            label="before it goes in",
            says="Measure the pack itself, pressed flat, with a micrometer: that is what counts.",
            grounds=(BENCH,),
        ),
    ]


def _data(pack: Pack, grounds: Grounds) -> dict[str, object]:
    return sourced(
        joined(grounds, (FOIL,)),
        thickness_m=pack.units * UNIT_M,
        thickness_u_m=pack_u_m(pack),
        leaves=[
            sourced(grounds, thickness_m=one.thickness_m, count=one.count, inch=one.inch)
            for one in pack.leaves
        ],
    )
