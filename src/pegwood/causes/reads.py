"""
From an instrument's readings to the answers of a sign: soft evidence out of value and uncertainty.

A reading is not a yes or a no. How likely it is at each answer is taken as the share of its own distribution
(Student's t with the reading's degrees of freedom, the normal where they are without end; JCGM 100:2008,
annex G) that lies between the answer's edges. Of several speeds the worst counts: errors are taken as
independent, so the chance that the worst lies below an edge is the product of the chances that each does.
What the recordings share, as a clock, is far below the edges of any answer, which are thirds of a stop.

Other instruments than the shutter's tell figures of a camera: how far each is from what is right counts in
the same way, in the figure's own unit. Where one was read of several marks, as a diaphragm's, the worst
counts.

Where an instrument answers by chances, as that of light leaks does, what it read speaks for an answer
with its chance after over its chance before: p / prior for, (1 - p) / (1 - prior) against (Bayes' rule).
What the instrument held likely before it looked is so taken out again, or it would count beside the fault's
own prior. Places of one leak are answered one by one, each against all the others.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from scipy.special import ndtr, stdtr

Instrument = Literal["shutter", "meter", "iris", "focus", "rangefinder", "transport", "leaks", "glass"]
OF_A_SHUTTER = ("error", "time", "unevenness")


@dataclass(frozen=True, kw_only=True)
class Figure:
    """
    What another instrument than the shutter's read.

    Attributes
    ----------
    instrument, what : str
        "meter"; the figure by its name in the instrument's answer, its unit included: "offset_ev".
    marked : str
        The mark it was read at; empty where there is none.
    value, u, df : float
        The figure, its standard uncertainty in the same unit, and its degrees of freedom, [1].

    Raises
    ------
    ValueError
        If a figure cannot be.
    """

    instrument: str
    what: str
    value: float
    u: float
    df: float = math.inf
    marked: str = ""

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.value, self.u))) or self.u < 0:
            raise ValueError(f"{self.what}: a figure is a plain number with an uncertainty of 0 or more.")
        if not self.df > 0:
            raise ValueError(f"{self.what}: the degrees of freedom are above 0.")


@dataclass(frozen=True, kw_only=True)
class Chance:
    """
    How likely another instrument holds one of its own answers.

    Attributes
    ----------
    instrument, what : str
        "leaks"; the answer by its word in the instrument's: "back-seal-top".
    p, prior : float
        Its chance after looking and before, [1].

    Raises
    ------
    ValueError
        If a chance cannot be.
    """

    instrument: str
    what: str
    p: float
    prior: float

    def __post_init__(self) -> None:
        if not 0 <= self.p <= 1 or not 0 < self.prior < 1:
            raise ValueError(f"{self.what}: a chance is from 0 to 1, and what it was before between them.")


@dataclass(frozen=True, kw_only=True)
class Reading:
    """
    What an instrument read of one marked speed.

    Attributes
    ----------
    instrument, what : str
        "shutter"; "error" against the marked time, or "unevenness" of a gate's places, both [EV].
    marked : str
        As the dial says, "1/125".
    marked_s : float
        What that stands for, [s].
    value, u, df : float
        The figure and its standard uncertainty, [EV], and its degrees of freedom, [1]; infinite where the
        uncertainty is taken as known.

    Raises
    ------
    ValueError
        If a figure cannot be.
    """

    instrument: str
    what: Literal["error", "unevenness"]
    marked: str
    marked_s: float
    value: float
    u: float
    df: float = math.inf

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.value, self.u, self.marked_s))) or self.u < 0:
            raise ValueError(f"{self.marked}: a reading is a plain number with an uncertainty of 0 or more.")
        if self.marked_s <= 0 or not self.df > 0:
            raise ValueError(f"{self.marked}: the marked time and the degrees of freedom are above 0.")


@dataclass(frozen=True, kw_only=True)
class Reads:
    """
    Which readings answer a sign.

    Attributes
    ----------
    instrument : str
    what : str
        Of a shutter: "error" of each marked speed; "time", its length against `against`; "unevenness" of a
        gate's places. Of another instrument: a figure by its name in the instrument's answer, "offset_ev".
    edges : tuple of float
        Between the answers, rising, above nought, [EV] or the unit of the figure; none for a chance.
    chance_of : tuple of str
        The instrument's own answers that are a yes, where it answers by chances: "back-seal-top".
    spread : bool
        Whether the figure is a scatter, of which a large one is never known closely.
    signed : bool
        Whether only what is too long, or too large, counts; else how far off it is either way.
    below : bool
        Whether only what is too small counts.
    right : float
        What the figure is where nothing is wrong, in its unit: 1 for a gain. Of a shutter always nought.
    slowest, fastest : str
        Marked speeds that count, both ends among them: "1", "1/15"; empty for no end.
    of : int
        How many marked speeds that asks for.
    pick_fastest : bool
        Whether of those that were read the `of` fastest count, and no other.
    against : str
        For "time": the time that it is held against, "1/30".
    at : str
        Of another instrument: the one mark at which it counts; empty for any.
    marks_from : float
        Of another instrument: the smallest mark that counts, such as f/8, where a figure at a wider stop says
        nothing; nought for all, and for what has no mark.

    Raises
    ------
    ValueError
        If it asks for what cannot be.
    """

    instrument: Instrument
    edges: tuple[float, ...] = ()
    chance_of: tuple[str, ...] = ()
    spread: bool = False
    what: str = "error"
    signed: bool = False
    below: bool = False
    right: float = 0.0
    slowest: str = ""
    fastest: str = ""
    of: int = 1
    pick_fastest: bool = False
    against: str = ""
    at: str = ""
    marks_from: float = 0.0

    def __post_init__(self) -> None:
        if self.chance_of:
            self._check_chance()
            return
        if not self.edges or list(self.edges) != sorted(set(self.edges)) or self.edges[0] <= 0:
            raise ValueError("edges rise, above nought.")
        if self.of < 1:
            raise ValueError(f"of is {self.of}. Expected 1 or more.")
        if self.signed and self.below:
            raise ValueError("what is too large, or what is too small: one of signed and below.")
        of_speeds = self.slowest or self.fastest or self.of != 1 or self.pick_fastest or self.against
        if self.instrument == "shutter":
            if self.what not in OF_A_SHUTTER:
                raise ValueError(f"what is {self.what!r}. Expected one of {', '.join(OF_A_SHUTTER)}.")
            if self.below or self.right or self.at or self.marks_from or self.spread:
                raise ValueError("below, right, at, marks_from and spread are of other instruments.")
        elif self.what in OF_A_SHUTTER or of_speeds:
            raise ValueError(
                'another instrument answers by a figure, such as what = "offset_ev", of no speed.'
            )
        if (self.what == "time") != bool(self.against):
            raise ValueError('a time is held against a time, such as against = "1/30", and nothing else is.')
        times = [seconds(marked) for marked in (self.slowest, self.fastest, self.against) if marked]
        if self.slowest and self.fastest and times[0] < times[1]:
            raise ValueError(f"{self.slowest} is faster than {self.fastest}.")

    def _check_chance(self) -> None:
        of_speeds = self.slowest or self.fastest or self.of != 1 or self.pick_fastest or self.against
        if self.edges or self.signed or self.below or self.right or self.spread or of_speeds:
            raise ValueError("a chance has no edges, no sides and no speeds.")
        if self.instrument == "shutter":
            raise ValueError("a shutter is read by its times, not by chances.")

    @property
    def answers(self) -> int:
        """How many answers it tells apart."""
        return 2 if self.chance_of else len(self.edges) + 1

    @property
    def asks(self) -> str:
        """The instrument's own figure that is asked for."""
        return "unevenness" if self.what == "unevenness" else "error"

    def is_sure(self, reading: Reading | Figure) -> bool:
        """Whether it is known closely enough to count: its spread alone must not pass for an error."""
        wide = self.edges[0]
        return reading.u <= (max(wide, abs(reading.value) / 2) if self.spread else wide)

    def value(self, reading: Reading | Figure) -> float:
        """What counts of a reading: how far off it is, [EV] or the unit of the figure."""
        if isinstance(reading, Figure):
            off = reading.value - self.right
            return -off if self.below else off
        if self.what != "time":
            return reading.value
        return reading.value + math.log2(reading.marked_s / seconds(self.against))


#: What an instrument read of a job.
Seen = Reading | Figure | Chance


def seconds(marked: str) -> float:
    """
    A marked time at face value, [s].

    Raises
    ------
    ValueError
        If it is none.
    """
    try:
        found = float(Fraction(marked))
    except (ValueError, ZeroDivisionError):
        found = 0.0
    if found <= 0:
        raise ValueError(f"{marked!r} is no marked time. Expected one such as '1/15'.")
    return found


def counting(reads: Reads, readings: Iterable[Seen]) -> tuple[Seen, ...]:
    """
    The readings that count for a sign, slowest first, one of each marked speed or mark: the last given.

    One that is unsurer than the first edge is wide is left out: its spread alone would pass for an error.
    Of a scatter, which is the less known the larger it is, only one is left out that is also half unsure.
    """
    if reads.chance_of:
        return tuple(_chances(reads, readings).values())
    if reads.instrument == "shutter":
        return _speeds(reads, (one for one in readings if isinstance(one, Reading)))
    figures = {
        one.marked: one
        for one in readings
        if isinstance(one, Figure)
        and (one.instrument, one.what) == (reads.instrument, reads.what)
        and reads.at in ("", one.marked)
        and (not reads.marks_from or _number(one.marked) >= reads.marks_from)
        and reads.is_sure(one)
    }
    return tuple(figures.values())


def _number(marked: str) -> float:
    """What a mark says, "5.6" or "f/5,6"; nought of one that is no number."""
    try:
        return float(marked.strip().casefold().removeprefix("f").strip(" /").replace(",", "."))
    except ValueError:
        return 0.0


def _chances(reads: Reads, readings: Iterable[Seen]) -> dict[str, Chance]:
    """The chances that count, by the instrument's own answer: the last given of each."""
    return {
        one.what: one
        for one in readings
        if isinstance(one, Chance) and one.instrument == reads.instrument and one.what in reads.chance_of
    }


def _speeds(reads: Reads, readings: Iterable[Reading]) -> tuple[Reading, ...]:
    low = seconds(reads.fastest) if reads.fastest else 0.0
    high = seconds(reads.slowest) if reads.slowest else math.inf
    slack = 1.1  # 1/15 s may be marked and 1/16 s meant
    fit = {
        one.marked: one
        for one in readings
        if one.instrument == reads.instrument
        and one.what == reads.asks
        and low / slack <= one.marked_s <= high * slack
        and reads.is_sure(one)
    }
    found = sorted(fit.values(), key=lambda one: -one.marked_s)
    return tuple(found[-reads.of :] if reads.pick_fastest else found)


def read_levels(reads: Reads, readings: Iterable[Seen]) -> tuple[float, ...] | None:
    """
    How likely the readings are at each answer of a sign, [1].

    Where fewer speeds were read than the sign asks for, one that was not may be the worst, and that as often
    as any other: with k of n read,
    L(answer) = k/n P(worst read is in it) + (1 - k/n) P(worst read is in it or below).
    Of a sign that asks for the fastest, as many must have been read, and the fastest of those count: how far
    the dial goes is not known here.

    Parameters
    ----------
    reads : Reads
    readings : iterable of Reading, Figure or Chance

    Returns
    -------
    levels : tuple of float, shape (n_answers,), or None
        None where nothing that was read answers it.
    """
    if reads.chance_of:
        return _chance_levels(reads, _chances(reads, readings))
    count = [one for one in counting(reads, readings) if not isinstance(one, Chance)]
    if not count or (reads.pick_fastest and len(count) < reads.of):
        return None
    below = [math.prod(_below(reads, one, edge) for one in count) for edge in reads.edges]
    return _with_unread(below, min(1.0, len(count) / reads.of))


def _chance_levels(reads: Reads, found: Mapping[str, Chance]) -> tuple[float, ...] | None:
    """Against and for, the larger of them 1; None unless every answer asked for has its chance."""
    if len(found) < len(set(reads.chance_of)):
        return None
    p = min(1.0, math.fsum(one.p for one in found.values()))
    prior = math.fsum(one.prior for one in found.values())
    if not prior < 1:
        return None
    against, speaks_for = (1 - p) / (1 - prior), p / prior
    most = max(against, speaks_for)
    return against / most, speaks_for / most


def _below(reads: Reads, one: Reading | Figure, edge: float) -> float:
    """The chance that what was read is truly below an edge, [1]."""
    value = reads.value(one)
    one_sided = reads.signed or reads.below
    if one.u == 0:
        return float(value < edge if one_sided else abs(value) < edge)

    def share_below(at: float) -> float:
        by = (at - value) / one.u
        return float(ndtr(by) if math.isinf(one.df) else stdtr(one.df, by))

    return share_below(edge) - (0.0 if one_sided else share_below(-edge))


def _with_unread(below: Sequence[float], read: float) -> tuple[float, ...]:
    up = (*below, 1.0)
    inside = (up[0], *(high - low for low, high in pairwise(up)))
    return tuple(max(0.0, read * here + (1 - read) * to) for here, to in zip(inside, up, strict=True))
