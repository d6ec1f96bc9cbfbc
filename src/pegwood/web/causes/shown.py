"""What is wrong with a camera as its page shows it: the story, the likely faults, what none explains."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.anatomy.construction import Construction
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Fault
from pegwood.causes.story import STORY
from pegwood.causes.weighing import Likely, Weighed
from pegwood.causes.why import NOTHING, Moved, moved
from pegwood.web.causes import words

#: So many of the likeliest stand as bars; the rest has a page.
MOST_BARS = 8
#: A fault less likely than that is no bar, [1].
LEAST_BAR = 0.01
#: So many reasons stand beside a bar.
MOST_REASONS = 2


@dataclass(frozen=True)
class StoryTap:
    """One thing of the story: its key, its words, and whether it is so, not so, or nobody knows."""

    key: str
    says: str
    so: bool | None


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
    speaks_for, speaks_against : tuple of str
        What changed it most, short.
    ruled : bool or None
    """

    fault: Fault
    slug: str
    part: str
    says: str
    width: float
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    ruled: bool | None


@dataclass(frozen=True, kw_only=True)
class Bars:
    """What somebody found, what is likely, how many more there are, and what was ruled out."""

    found: tuple[Bar, ...]
    likely: tuple[Bar, ...]
    more: int
    out: tuple[Bar, ...]


def story(case: Case) -> tuple[StoryTap, ...]:
    """All taps of the story, as they stand."""
    return tuple(
        StoryTap(key, says, True if key in case.told else False if key in case.denied else None)
        for key, says in STORY.items()
    )


def bars(
    causes: FamilyCauses,
    construction: Construction,
    case: Case,
    weighed: Weighed,
    said: dict[str, str],
    *,
    most: int = MOST_BARS,
) -> Bars:
    """
    The faults as bars.

    Parameters
    ----------
    said : dict of str to str
        By sign: its answer in words.
    """
    undecided = [one for one in weighed.faults if one.ruled is None]
    shown = [one for one in undecided[:most] if one.chance >= LEAST_BAR]
    did = moved(causes, case) if weighed.is_possible else ()

    def bar(one: Likely, with_reasons: bool = False) -> Bar:
        reasons = did if with_reasons else ()
        return Bar(
            fault=one.fault,
            slug=words.slug(one.fault.id),
            part=construction.parts[one.fault.part].name,
            says=words.chance(one.chance),
            width=round(100 * one.chance, 1),
            speaks_for=_most(causes, reasons, one.fault.id, said, up=True),
            speaks_against=_most(causes, reasons, one.fault.id, said, up=False),
            ruled=one.ruled,
        )

    return Bars(
        found=tuple(bar(one) for one in weighed.faults if one.ruled is True),
        likely=tuple(bar(one, with_reasons=True) for one in shown),
        more=len(undecided) - len(shown),
        out=tuple(bar(one) for one in weighed.faults if one.ruled is False),
    )


def _most(
    causes: FamilyCauses, did: Iterable[Moved], fault: str, said: dict[str, str], *, up: bool
) -> tuple[str, ...]:
    """What raised, or lowered, a fault most."""
    sign = 1 if up else -1
    by = [(sign * one.log_odds[fault], one) for one in did]
    strong = sorted((one for one in by if one[0] >= NOTHING), key=lambda one: -one[0])
    return tuple(about(causes, one.kind, one.about, said) for _, one in strong[:MOST_REASONS])


def about(causes: FamilyCauses, kind: str, key: str, said: dict[str, str]) -> str:
    """Something that was told, seen or ruled, short: "was in salt water", "Move the lever slowly: stiff"."""
    if kind == "story":
        return STORY[key]
    if kind == "sign":
        return words.seen(causes.signs[key], said.get(key, ""))
    if kind == "ruling":
        return causes.faults[key].name
    return f"a finding that bears on '{causes.faults[key].name}'"
