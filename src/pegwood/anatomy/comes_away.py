"""What comes away with a part: screws, shims and pins that its family knows of, to be counted and kept."""

from __future__ import annotations

from collections.abc import Mapping

from pegwood.anatomy.bench_log import Kept, KeptKind
from pegwood.anatomy.parts import JoinKind, Part

#: Joins that leave something in the hand.
LEAVES: Mapping[JoinKind, tuple[KeptKind, str]] = {
    "screw": ("screw", ""),
    "pin": ("pin", ""),
    "circlip": ("other", "circlip"),
    "rivet": ("other", "rivet"),
}
#: What tells that somebody was in there before, each as it is written down.
EARLIER_HAND = (
    "foreign glue",
    "marred slots",
    "a screw that is not its own",
    "plier or file marks",
    "solder not the maker's",
    "grease over old grease",
    "a scribed line of somebody's",
)


def comes_away_with(part: Part) -> tuple[Kept, ...]:
    """
    The small things that come away with a part, as its family has them; none is measured yet.

    The keys are the places in this list: "0", "1", ...
    """
    found: list[Kept] = []
    for join in part.joins:
        if join.kind in LEAVES:
            kind, what = LEAVES[join.kind]
            found.append(
                Kept(
                    id=str(len(found)),
                    kind=kind,
                    what=what,
                    count=join.count,
                    thread=join.thread,
                    head=join.head,
                    length_mm=join.length_mm,
                )
            )
    for shim in part.shims:
        found.append(Kept(id=str(len(found)), kind="shim", place=shim.place, side=shim.side))
    return tuple(found)
