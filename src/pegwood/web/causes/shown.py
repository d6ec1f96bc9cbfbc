"""What is wrong with a camera as its page shows it: the story, the likely faults, what none explains."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pegwood.causes.known import Fault
from pegwood.causes.story import COMMON, STORY, denied
from pegwood.causes.weighing import Likely
from pegwood.causes.why import NOTHING, Moved, moved
from pegwood.causes.words.story_told import told_by
from pegwood.web.causes import words
from pegwood.web.causes.stage import Stage

#: So many of the likeliest stand as bars; the rest has a page.
MOST_BARS = 8
#: A fault less likely than that is no bar, [1].
LEAST_BAR = 0.01
#: What nobody told seems so from such a chance on, [1], where its odds are so many times the usual ones.
SEEMS_FROM = 0.25
SEEMS_TIMES = 2.0
#: So many reasons stand beside a bar.
MOST_REASONS = 2


@dataclass(frozen=True)
class StoryTap:
    """
    One thing of the story: its key, its words, and whether it is so, not so, or nobody knows.

    `seems` is how likely it is by what was seen, where that speaks for it and nobody told; `reads_so` is
    whether the owner's words seem to tell it.
    """

    key: str
    says: str
    so: bool | None
    seems: str = ""
    reads_so: bool = False


@dataclass(frozen=True, kw_only=True)
class Bar:
    """
    A fault and its chance as a bar.

    Attributes
    ----------
    fault : Fault
    slug : str
        Its id as a page's own names have it.
    part : str
        Its part's name.
    says : str
        The chance in words.
    width : float
        Of the bar, from 0 to 100.
    ruled : bool or None
    mended : bool
    speaks_for, speaks_against : tuple of str
        What changed it most, short.
    """

    fault: Fault
    slug: str
    part: str
    says: str
    width: float
    ruled: bool | None
    mended: bool
    speaks_for: tuple[str, ...] = ()
    speaks_against: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Bars:
    """What somebody found, what is likely, how many more there are, and what was ruled out."""

    found: tuple[Bar, ...]
    likely: tuple[Bar, ...]
    more: int
    out: tuple[Bar, ...]


def story(stage: Stage) -> tuple[StoryTap, ...]:
    """All taps of the story, as they stand."""
    case = stage.case
    told = told_by(stage.job.story)
    return tuple(
        StoryTap(
            key,
            says,
            True if key in case.told else False if key in case.denied else None,
            _seems(stage, key),
            key in told and key not in case.told | case.denied,
        )
        for key, says in STORY.items()
    )


def _seems(stage: Stage, key: str) -> str:
    chance = stage.weighed.story.get(key)
    if chance is None or key in stage.case.told | stage.case.denied or chance < SEEMS_FROM:
        return ""
    common = COMMON[key]
    raised = chance / (1 - chance) >= SEEMS_TIMES * common / (1 - common) if chance < 1 else True
    return words.chance(chance) if raised else ""


def bars(stage: Stage, most: int = MOST_BARS, *, with_reasons: bool = True) -> Bars:
    """The faults as bars, with what speaks for and against the likely ones."""
    found, plain = plain_bars(stage, most)
    did = moved(stage.causes, stage.case) if with_reasons and stage.weighed.is_possible else ()
    likely = tuple(
        replace(
            one,
            speaks_for=_most(stage, did, one.fault.id, up=True),
            speaks_against=_most(stage, did, one.fault.id, up=False),
        )
        for one in plain
    )
    return Bars(
        found=found,
        likely=likely,
        more=len(_those(stage, None)) - len(likely),
        out=tuple(_bar(stage, one) for one in _those(stage, False)),
    )


def plain_bars(stage: Stage, most: int) -> tuple[tuple[Bar, ...], tuple[Bar, ...]]:
    """What somebody found, mended or not, and the likeliest of what nobody decided, without reasons."""
    undecided = _those(stage, None)[:most]
    return (
        tuple(_bar(stage, one) for one in _those(stage, True)),
        tuple(_bar(stage, one) for one in undecided if one.chance >= LEAST_BAR),
    )


def _those(stage: Stage, decided: bool | None) -> list[Likely]:
    """The faults of which somebody said so, the likeliest first."""
    return [one for one in stage.weighed.faults if stage.decided.get(one.fault.id) is decided]


def _bar(stage: Stage, one: Likely) -> Bar:
    decided = stage.decided.get(one.fault.id)
    return Bar(
        fault=one.fault,
        slug=words.slug(one.fault.id),
        part=stage.construction.parts[one.fault.part].name,
        says=words.chance(one.chance),
        width=round(100 * one.chance, 1),
        ruled=decided,
        mended=decided is True and one.fault.id in stage.mended,
    )


def _most(stage: Stage, did: Iterable[Moved], fault: str, *, up: bool) -> tuple[str, ...]:
    """What raised, or lowered, a fault most."""
    sign = 1 if up else -1
    by = [(sign * one.log_odds[fault], one) for one in did]
    strong = sorted((one for one in by if one[0] >= NOTHING), key=lambda one: -one[0])
    return tuple(about(stage, one.kind, one.about) for _, one in strong[:MOST_REASONS])


def about(stage: Stage, kind: str, key: str) -> str:
    """Something that was told, seen or ruled, short: "was in salt water", "Move the lever slowly: stiff"."""
    if kind == "story":
        return STORY[key] if key in stage.case.told else denied(key)
    if kind == "sign":
        return words.seen(stage.causes.signs[key], stage.said.get(key, ""))
    if kind == "ruling":
        name = stage.causes.faults[key].name
        if stage.case.rulings.get(key):
            return name
        return f"mended: {name}" if stage.decided.get(key) else f"not there: {name}"
    return stage.says_of.get(key, f"a finding on '{stage.causes.faults[key].name}'")
