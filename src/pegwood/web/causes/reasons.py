"""Why a fault is as likely as it is, in words, and what mends it."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.book.models import MendDone
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault, Mend
from pegwood.causes.why import Reason, why
from pegwood.trade.agents import AGENTS
from pegwood.trade.grounds import Ground
from pegwood.trade.reference import Reference
from pegwood.web.causes import words
from pegwood.web.causes.shown import about
from pegwood.web.causes.stage import Stage

KINDS = {"story": "told", "finding": "found or read", "sign": "seen", "ruling": "decided"}


@dataclass(frozen=True, kw_only=True)
class ReasonShown:
    """
    One thing that bears on a fault.

    Attributes
    ----------
    kind, says : str
        "seen", and what.
    raised : bool or None
        None where it changed nothing worth a word.
    factor : str
        By what the odds were changed: "× 3.2".
    then, without : str
        The chance once it was known; what it would be now without it.
    """

    kind: str
    says: str
    raised: bool | None
    factor: str
    then: str
    without: str


@dataclass(frozen=True)
class BreaksShown:
    """What a mend may break, and how often."""

    name: str
    says: str


@dataclass(frozen=True, kw_only=True)
class MendShown:
    """A mend with names for its parts and agents; `agents` are the names that the trade's page answers to."""

    mend: Mend
    success: str
    parts: tuple[str, ...]
    agents: tuple[str, ...]
    breaks: tuple[BreaksShown, ...]


@dataclass(frozen=True, kw_only=True)
class FaultShown:
    """A fault with all that bears on it; `tried` are the mends done on it in this camera, the first first."""

    fault: Fault
    slug: str
    part: str
    before: str
    now: str
    ruled: bool | None
    reasons: tuple[ReasonShown, ...]
    idle: tuple[ReasonShown, ...]
    mends: tuple[MendShown, ...]
    tried: tuple[MendDone, ...]
    is_mended: bool
    ground: Ground | None


def fault_shown(stage: Stage, fault: str, reference: Reference) -> FaultShown:
    """
    A fault with what raised and lowered it, and its mends.

    Raises
    ------
    ValueError
        If the family has no such fault.
    """
    found = why(stage.causes, stage.case, fault)
    reasons = tuple(_reason(stage, one) for one in found.reasons)
    one = found.fault
    return FaultShown(
        fault=one,
        slug=words.slug(one.id),
        part=stage.construction.parts[one.part].name,
        before=words.chance(found.before),
        now=words.chance(found.now),
        ruled=stage.decided.get(fault),
        reasons=tuple(each for each in reasons if each.raised is not None),
        idle=tuple(each for each in reasons if each.raised is None),
        mends=tuple(mend_shown(stage.causes, stage.construction, mend, reference) for mend in one.mends),
        tried=tuple(row for row in stage.mends if row.fault == fault),
        is_mended=fault in stage.mended,
        ground=Ground(one.source, one.mark) if one.mark else None,
    )


def _reason(stage: Stage, one: Reason) -> ReasonShown:
    by_itself = one.kind == "sign" and one.about in stage.by_itself
    return ReasonShown(
        kind=KINDS["finding" if by_itself else one.kind],
        says=about(stage, one.kind, one.about),
        raised=one.log_odds > 0 if one.changes else None,
        factor=words.factor(one.log_odds),
        then=words.chance(one.chance),
        without=words.chance(one.without),
    )


def mend_shown(
    causes: FamilyCauses, construction: Construction, mend: Mend, reference: Reference
) -> MendShown:
    """A mend with names for what it uses and may break."""
    agents = reference.rows(AGENTS)
    return MendShown(
        mend=mend,
        success=words.chance(mend.success),
        parts=tuple(construction.parts[part].name for part in mend.parts if part in construction.parts),
        agents=tuple(agents[key].name if key in agents else key for key in mend.agents),
        breaks=tuple(
            BreaksShown(causes.faults[one.fault].name, words.chance(one.chance))
            for one in mend.breaks
            if one.fault in causes.faults
        ),
    )
