"""What the live page shows of a session: the speed at hand, its firings, and how far the walk has come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from pegwood.book.instrument import marked_speed
from pegwood.book.listening import Session
from pegwood.book.measuring import limit_of
from pegwood.book.models import Job
from pegwood.book.workshop import workshop
from pegwood.instruments.shutter import Doubt, Heard, Shot, doubts, error_ev, group_of
from pegwood.web.readouts import as_fraction, error_figure, limit_words, time_figure

#: Points of a light curve drawn beside its figure, and the box they lie in.
_POINTS, _WIDE, _HIGH = 120, 240, 60


@dataclass(frozen=True, kw_only=True)
class Fired:
    """One firing, in words."""

    number: int
    place: int
    effective: str
    as_fraction: str
    error: str
    against: tuple[str, ...]
    reason: str
    is_settled: bool
    is_struck: bool
    curve: str

    @property
    def value(self) -> str:
        """The figure by itself, to be read from afar."""
        return self.effective.partition(" ± ")[0]

    @property
    def plus_minus(self) -> str:
        """Its uncertainty and its unit."""
        _value, sign, rest = self.effective.partition(" ± ")
        return f"± {rest}" if sign else ""

    @property
    def is_measured(self) -> bool:
        return bool(self.effective)


@dataclass(frozen=True, kw_only=True)
class SpeedNow:
    """One marked speed of the walk."""

    marked: str
    firings: tuple[Fired, ...]
    together: int
    mean: str
    error: str
    verdict: str
    limit: str
    spread: str
    is_shown: bool

    @property
    def standing(self) -> tuple[Fired, ...]:
        return tuple(fired for fired in self.firings if not fired.is_struck)


@dataclass(frozen=True, kw_only=True)
class Stage:
    """Everything on the page that changes while it listens."""

    ticket: UUID
    speeds: tuple[SpeedNow, ...]
    wanted: int
    next: str
    before: str
    heard_s: float
    fired: int

    @property
    def now(self) -> SpeedNow | None:
        return next((speed for speed in self.speeds if speed.is_shown), None)

    @property
    def last(self) -> Fired | None:
        """The last firing of the speed at hand, if it was not struck out."""
        now = self.now
        return now.firings[-1] if now and now.firings else None

    @property
    def is_done(self) -> bool:
        """Whether enough firings of the speed at hand belong together, and the last of them is settled."""
        now, last = self.now, self.last
        return bool(now and last and last.is_settled and now.together >= self.wanted)

    @property
    def is_walked(self) -> bool:
        """Whether every speed has what was wanted."""
        return all(speed.together >= self.wanted for speed in self.speeds)

    @property
    def says(self) -> str:
        """One sentence: what to do now."""
        now = self.now
        if now is None:
            return "Next: listen, then fire"
        if now.together < self.wanted:
            more = self.wanted - now.together
            return f"Next: fire {now.marked}, {more} more"
        if self.next:
            return f"Next: set the dial to {self.next}"
        return (
            "Next: keep it with the job" if self.is_walked else "Next: go back to what is missing, or keep it"
        )


def stage_of(job: Job, session: Session, heard: Sequence[Heard], locale: str) -> Stage:
    """What there is to show of a session."""
    walk, plan = session.walk, session.plan
    marked = tuple(dict.fromkeys((*plan.speeds, *walk.visited)))
    shown = walk.speed or marked[0]
    place = marked.index(shown)
    return Stage(
        ticket=session.ticket,
        speeds=tuple(_speed(job, session, heard, one, locale) for one in marked),
        wanted=plan.firings,
        next=marked[place + 1] if place + 1 < len(marked) else "",
        before=marked[place - 1] if place else "",
        heard_s=session.seconds,
        fired=len(heard),
    )


def _speed(job: Job, session: Session, heard: Sequence[Heard], marked: str, locale: str) -> SpeedNow:
    walk = session.walk
    own = [one for one in heard if walk.speed_at(one.begins) == marked]
    standing = [one for one in own if one.number not in walk.struck]
    shots = {one.number: one.shot for one in standing if one.shot is not None}
    against = dict(zip(shots, doubts(list(shots.values())), strict=True))
    speed = marked_speed(marked)
    target_s = speed.seconds(workshop().reading)  # type: ignore[arg-type]
    limit = limit_of(job, speed)
    group = group_of(list(shots.values()), target_s, limit)
    mean, error = group.effective, group.error
    return SpeedNow(
        marked=marked,
        firings=tuple(
            _fired(one, i, target_s, against.get(one.number, ()), one.number in walk.struck, locale)
            for i, one in enumerate(own, 1)
        ),
        together=sum(all(doubt.kind == "bounce" for doubt in found) for found in against.values()),
        mean=time_figure(mean.value, mean.coverage_interval(), locale) if mean else "",
        error=error_figure(error.value, error.coverage_interval(), locale) if error else "",
        verdict=group.verdict if error else "",
        limit=limit_words(limit.low_ev, limit.high_ev, locale) if limit else "",
        spread="" if group.spread_ev is None else f"{group.spread_ev:.2f} EV",
        is_shown=marked == (walk.speed or session.plan.speeds[0]),
    )


def _fired(
    one: Heard, place: int, target_s: float | None, against: tuple[Doubt, ...], is_struck: bool, locale: str
) -> Fired:
    shot = one.shot
    error = error_ev(shot.effective, target_s) if shot and target_s else None
    time = shot.effective if shot else None
    return Fired(
        number=one.number,
        place=place,
        effective=time_figure(time.value, time.coverage_interval(), locale) if time else "",
        as_fraction=as_fraction(time.value) if time else "",
        error=error_figure(error.value, error.coverage_interval(), locale) if error else "",
        against=(*(doubt.says for doubt in against), *(shot.warnings if shot else ())),
        reason=one.reason,
        is_settled=one.settled,
        is_struck=is_struck,
        curve=_curve(shot) if shot else "",
    )


def _curve(shot: Shot) -> str:
    """The light curve as points of a drawing."""
    t, level = shot.curve.t_s, shot.curve.level
    if len(t) < 2 or t[-1] <= t[0]:
        return ""
    every = max(1, len(t) // _POINTS)
    across = _WIDE / (t[-1] - t[0])
    points = zip(t[::every], level[::every], strict=True)
    return " ".join(
        f"{(x - t[0]) * across:.1f},{_HIGH - 6 - (_HIGH - 12) * min(max(y, -0.1), 1.1):.1f}"
        for x, y in points
    )
