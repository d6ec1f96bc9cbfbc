"""All faults of a camera by their mechanisms."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.causes.known import Fault
from pegwood.web.causes import words
from pegwood.web.causes.stage import Stage
from pegwood.web.strip.steps import group_of


@dataclass(frozen=True)
class FaultLine:
    """A fault in the list of all: its part, its chance in words, and whether somebody decided."""

    fault: Fault
    part: str
    says: str
    ruled: bool | None


@dataclass(frozen=True)
class FaultGroup:
    """What may be wrong with one mechanism, the likeliest first."""

    name: str
    faults: tuple[FaultLine, ...]


def all_faults(stage: Stage, wanted: str) -> tuple[FaultGroup, ...]:
    """All faults by their mechanisms, or those that every word of `wanted` is found in."""
    asked = wanted.casefold().split()
    construction = stage.construction
    order = {use.called.replace("-", " "): n for n, use in enumerate(construction.uses)}
    found: dict[str, list[FaultLine]] = {}
    for one in stage.weighed.faults:
        group, part = group_of(one.fault.id), construction.parts[one.fault.part].name
        text = f"{group} {one.fault.name} {part}".casefold()
        if all(word in text for word in asked):
            line = FaultLine(one.fault, part, words.chance(one.chance), stage.decided.get(one.fault.id))
            found.setdefault(group, []).append(line)
    names = sorted(found, key=lambda name: order.get(name, len(order)))
    return tuple(FaultGroup(name, tuple(found[name])) for name in names)
