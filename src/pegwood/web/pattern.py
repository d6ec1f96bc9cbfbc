"""What the pattern of a shutter's speeds says, as found beside as left, in the words of a page."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from pegwood.instruments.shutter import KINDS, Sign, SpeedReading, what_the_pattern_says
from pegwood.papers.signs import ADVISED, LEAST_SHOWN, chance, figure, where

PHASES = {"as found": "found", "as left": "left"}


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A sign in one phase: `phase` is "found" or "left"; `width` in per cent; not `told`: nothing to say."""

    phase: str
    told: bool
    chance: str
    width: float
    figure: str
    speeds: str


@dataclass(frozen=True, kw_only=True)
class Row:
    """A sign, found above left; its advice where it is likely enough, opened for what is left to do."""

    id: str
    name: str
    bars: tuple[Bar, ...]
    figure_of: str
    order: tuple[str, ...]
    caution: str
    source: str
    mark: str
    is_open: bool


@dataclass(frozen=True, kw_only=True)
class PatternPart:
    """
    The part `parts/pattern.html`: signs, what could not be told, what to measure next, and notes.

    `next` is a marking, `next_shown` the same for people: "1 s" for "1".
    """

    rows: tuple[Row, ...]
    phases: tuple[str, ...]
    cannot_tell: tuple[tuple[str, str], ...]
    next: str
    next_shown: str
    notes: tuple[str, ...]


def pattern_part(
    accepted: Mapping[str, Sequence[SpeedReading]], kind: str, locale: str
) -> PatternPart | None:
    """
    The signs of both phases, likeliest in the later phase first.

    Parameters
    ----------
    accepted : mapping of str to sequence of SpeedReading
        By phase, "as found" and "as left"; either may be missing.
    kind : str
        Kind of shutter; empty if not known.
    locale : str
        How figures are written.

    Returns
    -------
    part : PatternPart or None
        None where nothing is accepted.
    """
    known = kind if kind in KINDS else None
    phases = {one: what_the_pattern_says(accepted[one], known) for one in PHASES if one in accepted}
    if not phases:
        return None
    latest = list(phases.values())[-1]
    by_phase = {phase: {sign.id: sign for sign in one.signs} for phase, one in phases.items()}
    shown = [
        sign
        for sign in latest.signs
        if any(
            signs[sign.id].tells and signs[sign.id].probability >= LEAST_SHOWN for signs in by_phase.values()
        )
    ]
    measured = {phase: {one.marked for one in said.readings} for phase, said in phases.items()}
    following = "" if latest.next is None else latest.next.marked
    return PatternPart(
        rows=tuple(_row(sign, by_phase, measured, locale) for sign in shown),
        phases=tuple(PHASES[phase] for phase in phases),
        cannot_tell=tuple((sign.name, sign.to_tell) for sign in latest.signs if not sign.tells),
        next=following,
        next_shown=f"{following} s" if following.isdigit() else following,
        notes=tuple(dict.fromkeys(note for one in phases.values() for note in one.notes)),
    )


def _row(
    sign: Sign,
    by_phase: Mapping[str, Mapping[str, Sign]],
    measured: Mapping[str, Collection[str]],
    locale: str,
) -> Row:
    here = {phase: signs[sign.id] for phase, signs in by_phase.items()}
    likeliest = max(here.values(), key=lambda one: one.probability if one.tells else 0.0)
    advised = likeliest.probability >= ADVISED
    return Row(
        id=sign.id,
        name=sign.name,
        bars=tuple(_bar(PHASES[phase], one, measured[phase], locale) for phase, one in here.items()),
        figure_of=sign.figure_of,
        order=sign.order if advised else (),
        caution=sign.caution if advised else "",
        source=sign.source,
        mark=sign.mark,
        is_open=sign.probability >= 0.5 and sign.tells,
    )


def _bar(phase: str, sign: Sign, measured: Collection[str], locale: str) -> Bar:
    if not sign.tells:
        return Bar(phase=phase, told=False, chance="–", width=0.0, figure="", speeds="")
    likely = sign.probability >= LEAST_SHOWN
    return Bar(
        phase=phase,
        told=True,
        chance=chance(sign.probability),
        width=round(100 * sign.probability, 1),
        figure=figure(sign, locale) if likely else "",
        speeds=where(sign, measured) if likely else "",
    )
