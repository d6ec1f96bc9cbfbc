"""What the program believes of a family's faults and signs, with where each figure comes from. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault, Sign
from pegwood.causes.story import STORY
from pegwood.trade.grounds import Ground
from pegwood.web.causes import words
from pegwood.web.strip.steps import group_of


@dataclass(frozen=True)
class RaisedShown:
    """What of a story changes a fault's odds, and by how much."""

    says: str
    factor: str


@dataclass(frozen=True, kw_only=True)
class FaultBelieved:
    """A fault: how often such cameras have it, what of a story changes that, what mends it."""

    fault: Fault
    part: str
    prior: str
    raised: tuple[RaisedShown, ...]


@dataclass(frozen=True)
class ShownBy:
    """How often a fault alone shows each answer of a sign; with none of them, the first row."""

    name: str
    shows: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SignBelieved:
    """A look, and how often each answer comes with each of its faults."""

    sign: Sign
    by: str
    minutes: str
    off: tuple[str, ...]
    rows: tuple[ShownBy, ...]


@dataclass(frozen=True, kw_only=True)
class Believed:
    """All of one mechanism. `grounds` are all its sources, each once."""

    called: str
    name: str
    faults: tuple[FaultBelieved, ...]
    signs: tuple[SignBelieved, ...]
    grounds: tuple[Ground, ...]


@dataclass(frozen=True)
class GroupLine:
    """A mechanism in the list: what it is called, by id and in words, and how much is known of it."""

    called: str
    name: str
    faults: int
    signs: int


def groups(causes: FamilyCauses, construction: Construction) -> tuple[GroupLine, ...]:
    """The mechanisms that something is known of, in the family's order."""
    lines = []
    for use in construction.uses:
        within = f"{use.called}."
        faults = sum(one.startswith(within) for one in causes.faults)
        signs = sum(one.startswith(within) for one in causes.signs)
        if faults:
            lines.append(GroupLine(use.called, use.called.replace("-", " "), faults, signs))
    return tuple(lines)


def believed(causes: FamilyCauses, construction: Construction, called: str) -> Believed:
    """What is believed of one mechanism."""
    within = f"{called}."
    faults = [one for one in causes.faults.values() if one.id.startswith(within)]
    signs = [one for one in causes.signs.values() if one.id.startswith(within)]
    known: list[Fault | Sign] = [*faults, *signs]
    grounds = (Ground(one.source, one.mark) for one in known if one.mark)
    return Believed(
        called=called,
        name=group_of(within),
        faults=tuple(_fault(construction, one) for one in sorted(faults, key=lambda one: -one.prior)),
        signs=tuple(_sign(causes, construction, one) for one in signs),
        grounds=tuple(dict.fromkeys(grounds)),
    )


def _fault(construction: Construction, fault: Fault) -> FaultBelieved:
    return FaultBelieved(
        fault=fault,
        part=construction.parts[fault.part].name,
        prior=words.chance(fault.prior),
        raised=tuple(RaisedShown(STORY[one.by], words.times(one.odds)) for one in fault.raised),
    )


def _sign(causes: FamilyCauses, construction: Construction, sign: Sign) -> SignBelieved:
    rows = (
        *((causes.faults[one.fault].name, one.shows) for one in sign.shown_by),
        *((f"{STORY[one.by]}, by itself", one.shows) for one in sign.tells_of),
        ("none of these", sign.leak),
    )
    return SignBelieved(
        sign=sign,
        by=words.BY[sign.by],
        minutes=words.minutes(sign.minutes),
        off=tuple(construction.parts[part].name for part in sign.off),
        rows=tuple(ShownBy(name, tuple(map(words.share, shows))) for name, shows in rows),
    )
