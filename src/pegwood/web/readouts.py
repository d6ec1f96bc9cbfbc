"""What the shutter's instrument found, in the words and figures of a page. Pure: plain data in, text out."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pegwood.instruments.shutter import SERIES, MarkedSpeed
from pegwood.instruments.sound import chance_in_words
from pegwood.instruments.uncertainty import Measured
from pegwood.papers.beside import half_width
from pegwood.papers.figures import percent, plain_time, signed_ev, stated_error, stated_time
from pegwood.web.budgets import BudgetLine, budget
from pegwood.web.readout_beside import place_of_channel

#: Where older dials end and doubling dials begin (practice).
FIRST_DOUBLING_YEAR = 1955


@dataclass(frozen=True, kw_only=True)
class Firing:
    """One firing, as a row of a table."""

    number: int
    seen_by: str
    at: str
    effective: str
    as_fraction: str
    total: str
    opening: str
    closing: str
    half_height: str
    efficiency: str
    remarks: tuple[str, ...]
    budget: tuple[BudgetLine, ...]


@dataclass(frozen=True, kw_only=True)
class Group:
    """All firings of a recording taken together."""

    n: int
    effective: str
    as_fraction: str
    error: str
    verdict: str
    target: str
    limit: str
    limit_source: str
    limit_mark: str
    limit_note: str
    spread: str
    range: str
    first_firing: str
    budget: tuple[BudgetLine, ...]


@dataclass(frozen=True, kw_only=True)
class Dial:
    """The markings of one series, as tiles to tap."""

    name: str
    tiles: tuple[Tile, ...]
    mark: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Tile:
    """One marking to tap, with what is accepted of it already."""

    marked: str
    has_found: bool
    has_left: bool


def group(result: Mapping[str, Any], locale: str) -> Group:
    """The group of firings in a shutter result, in words."""
    found = result["summary"]
    return Group(
        n=found["n"],
        effective=time_figure(found["effective_s"], found.get("effective_95_s"), locale),
        as_fraction=as_fraction(found["effective_s"]),
        error=error_figure(found["error_ev"], found.get("error_95_ev"), locale),
        verdict=found["verdict"] if found["n"] else "cannot tell",
        target=target_words(result, locale),
        limit=limit_words(found.get("limit_low_ev"), found.get("limit_high_ev"), locale),
        limit_source=found.get("limit_source") or "",
        limit_mark=found.get("limit_mark") or "",
        limit_note=found.get("limit_note") or "",
        spread=_bare_ev(found.get("spread_ev")),
        range=_bare_ev(found.get("range_ev")),
        first_firing=error_figure(
            found.get("first_firing_ev"),
            _around(found, "first_firing_ev", "first_firing_u_ev", "first_firing_df"),
            locale,
        ),
        budget=budget(found.get("budget", ()), locale),
    )


@dataclass(frozen=True, kw_only=True)
class CannotTell:
    """Something that was heard or seen and given no time."""

    at: str
    reason: str
    remedy: str


def cannot_tell(result: Mapping[str, Any]) -> tuple[CannotTell, ...]:
    """What an instrument for sound or video could not tell, with the reason; each kind of reason once."""
    told: dict[str, CannotTell] = {}
    heard = (result.get("sound") or {}).get("cannot_tell") or ()
    seen = (result.get("video") or {}).get("unread") or ()
    for one in (*heard, *seen):
        line = CannotTell(at=f"{one['at_s']:.2f} s", reason=one["reason"], remedy=one.get("remedy") or "")
        told.setdefault(re.sub(r"\d+(\.\d+)?", "", one["reason"]), line)  # figures differ, the reason is one
    return tuple(told.values())


def firings(result: Mapping[str, Any], locale: str) -> tuple[Firing, ...]:
    """Every firing in a shutter result, in words."""
    shots = result["shots"]
    several = len({shot["channel"] for shot in shots}) > 1
    heard = (result.get("sound") or {}).get("firings") or ()
    return tuple(
        _firing(
            i,
            shot,
            _seen_by(result, shot["channel"]) if several else "",
            locale,
            _heard(heard[i - 1], locale) if i <= len(heard) else "",
        )
        for i, shot in enumerate(shots, 1)
    )


def _heard(firing: Mapping[str, Any], locale: str) -> str:
    """How sure a firing by sound is, and what lies between its sounds."""
    between = time_figure(firing["between_s"], firing["between_95_s"], locale)
    sure = chance_in_words(firing["chance"])
    return f"between the sounds {between}; chance that these are opening and closing: {sure}"


def _seen_by(result: Mapping[str, Any], channel: int) -> str:
    """The place of a sensor, or its channel as the instrument counts them."""
    return place_of_channel(result, channel) or f"channel {channel}"


def _firing(number: int, shot: Mapping[str, Any], seen_by: str, locale: str, heard: str = "") -> Firing:
    remarks = [*filter(None, [heard]), *shot.get("warnings", ())]
    if shot["bounce"]:
        extra = shot.get("bounce_extra_s")
        remarks.insert(0, "bounce" + (f", adds {plain_time(extra, locale)}" if extra else ""))
    return Firing(
        number=number,
        seen_by=seen_by,
        at=f"{shot['at_s']:.2f} s",
        effective=time_figure(shot["effective_s"], shot.get("effective_95_s"), locale),
        as_fraction=as_fraction(shot["effective_s"]),
        total=_timed(shot, "total", locale),
        opening=_timed(shot, "opening", locale),
        closing=_timed(shot, "closing", locale),
        half_height=plain_time(shot["half_height_s"], locale) if shot.get("half_height_s") else "",
        efficiency=percent(shot["efficiency"], locale) if shot.get("efficiency") is not None else "",
        remarks=tuple(remarks),
        budget=budget(shot.get("budget", ()), locale),
    )


def time_figure(seconds: float | None, interval: Iterable[float | None] | None, locale: str) -> str:
    """A time with half its 95 % interval, such as ``10.53 ± 0.18 ms``; empty where there is none."""
    half = half_width(interval)
    if seconds is None:
        return ""
    if not half:
        return plain_time(seconds, locale)
    stated = stated_time(seconds, half, locale)
    return f"{stated.value} ± {stated.plus_minus} {stated.unit}"


def error_figure(error_ev: float | None, interval: Iterable[float | None] | None, locale: str) -> str:
    """An error with half its 95 % interval, such as ``+0.07 ± 0.02 EV``; empty where there is none."""
    half = half_width(interval)
    if error_ev is None:
        return ""
    if not half:
        return f"{signed_ev(error_ev, locale)} EV"
    stated = stated_error(error_ev, half, locale)
    return f"{stated.value} ± {stated.plus_minus} {stated.unit}"


def as_fraction(seconds: float | None) -> str:
    """
    A time as dials write it, for the eye only.

    Examples
    --------
    >>> as_fraction(0.0105), as_fraction(0.31), as_fraction(2.0)
    ('1/95 s', '1/3.2 s', '')
    """
    if not seconds or seconds >= 0.55:
        return ""
    rate = 1 / seconds
    return f"1/{rate:.1f} s" if rate < 10 else f"1/{rate:.0f} s"


def limit_words(low: float | None, high: float | None, locale: str) -> str:
    """A limit in words; empty where neither side has one."""
    if low is None and high is None:
        return ""
    if low is None:
        return f"at most {signed_ev(high or 0.0, locale)} EV"
    if high is None:
        return f"at least {signed_ev(low, locale)} EV"
    return f"{signed_ev(low, locale)} to {signed_ev(high, locale)} EV"


def target_words(result: Mapping[str, Any], locale: str) -> str:
    """What the marking was held against, and how it was read."""
    seconds = result.get("marked_s")
    if seconds is None:
        return ""
    how = "the exact power of two" if result.get("reading") == "exact" else "as marked"
    if result.get("reading") == "exact" and result.get("marked") not in SERIES["doubling"].exact_s:
        how = "as marked: no power of two lies behind it"
    return f"{plain_time(seconds, locale)} ({how})"


def dials(
    shutter: str,
    year_made: int | None,
    measured: Iterable[str] = (),
    found: Collection[str] = (),
    left: Collection[str] = (),
) -> tuple[Dial, ...]:
    """
    The series of markings to offer, the likeliest first; a later one leaves out what an earlier one has.

    B and T stand at the end of the first.

    Parameters
    ----------
    shutter : str
        Kind of shutter, as a family names it.
    year_made : int or None
        When the camera was made.
    measured : iterable of str
        Markings already measured on this camera: they tell more than the year.
    found, left : collection of str
        Markings accepted as found, and as left.
    """
    old = "old focal-plane" if shutter == "focal-plane" else "old front"
    first = old if year_made is not None and year_made < FIRST_DOUBLING_YEAR else "doubling"
    seen = {m for m in measured if m not in ("B", "T")}
    shared = set(SERIES["doubling"].times) & set(SERIES[old].times)
    if tells := seen - shared:
        first = max((first, old, "doubling"), key=lambda key: len(tells & set(SERIES[key].times)))
    offered: set[str] = set()
    offers: list[Dial] = []
    for key in dict.fromkeys((first, "doubling", old, *SERIES)):
        series = SERIES[key]
        times = [t for t in series.times if t not in offered] + ["B", "T"] * (not offers)
        offered.update(times)
        tiles = tuple(Tile(marked=t, has_found=t in found, has_left=t in left) for t in times)
        offers.append(Dial(name=series.name, tiles=tiles, mark=series.mark, source=series.source))
    return tuple(offers)


def slowest_first(marked: str) -> tuple[int, float]:
    """A key to put markings in the order of a dial: slowest first, B and T at the end."""
    speed = MarkedSpeed.parse(marked)
    return (1, 0.0) if speed.nominal_s is None else (0, -float(speed.nominal_s))


def _timed(shot: Mapping[str, Any], name: str, locale: str) -> str:
    return time_figure(shot.get(f"{name}_s"), _around(shot, f"{name}_s", f"{name}_u_s"), locale)


def _around(found: Mapping[str, Any], value: str, u: str, df: str = "") -> tuple[float, float] | None:
    """The 95 % interval where the instrument gives a standard uncertainty and no interval."""
    if found.get(value) is None or found.get(u) is None:
        return None
    degrees = found.get(df)
    return Measured(found[value], found[u], math.inf if degrees is None else degrees).coverage_interval()


def _bare_ev(value: float | None) -> str:
    return "" if value is None else f"{value:.2f} EV"
