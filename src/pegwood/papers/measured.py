"""What a shutter certificate holds of the measurements: figures with their uncertainty and their limit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pegwood.papers._typed import BadContent, Piece, check_date, check_filled, check_positive, check_short

Verdict = Literal["within", "outside", "too close to call", "no limit given"]
SourceMark = Literal["seen", "memory", "practice"]


@dataclass(frozen=True, kw_only=True)
class Limit(Piece):
    """
    How far a speed may be off, and who says so.

    Parameters
    ----------
    low_ev, high_ev : float or None
        Lower and upper limit of the error, [EV]; None where that side is open.
    whose : str
        Whose limit it is, such as `the workshop's own`.
    source : str
        Where the figure comes from.
    mark : {'seen', 'memory', 'practice'}
        Whether somebody read the source, remembers it, or it is common practice without one.
    note : str
        In whose unit it was meant, and what else a reader must know.
    """

    low_ev: float | None
    high_ev: float | None
    whose: str
    source: str
    mark: SourceMark
    note: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Limit", whose=self.whose, source=self.source)
        if self.low_ev is None and self.high_ev is None:
            raise BadContent("Limit: neither low nor high. Expected at least one side.")
        if self.low_ev is not None and self.high_ev is not None and not self.low_ev < self.high_ev:
            raise BadContent(f"Limit: {self.low_ev} to {self.high_ev} EV. Expected the lower one first.")


@dataclass(frozen=True, kw_only=True)
class Share(Piece):
    """One component of an uncertainty: its name, how it was found, its standard uncertainty (k = 1), [s]."""

    name: str
    u_s: float
    how: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Share", name=self.name)
        if self.u_s < 0:
            raise BadContent(f"Share.u_s: {self.u_s} for {self.name!r}. Expected zero or more.")


@dataclass(frozen=True, kw_only=True)
class Reading(Piece):
    """
    One speed, measured over a group of firings.

    Parameters
    ----------
    effective_s : float
        Mean effective exposure time, [s].
    effective_u_s : float
        Its standard uncertainty (k = 1), [s].
    error_ev : float
        log2(effective / target); positive lets in too much light, [EV].
    error_u_ev : float
        Its standard uncertainty (k = 1), [EV].
    coverage_factor : float
        k that gives 95 % for the time.
    error_coverage_factor : float or None
        k that gives 95 % for the error; that of the time when None.
    verdict : {'within', 'outside', 'too close to call', 'no limit given'}
    n : int
        Number of firings.
    spread_ev : float or None
        Standard deviation of the firings, [EV].
    efficiency : float or None
        Effective time over total time, between 0 and 1.
    measured_on : str or None
        ISO date.
    limit : Limit or None
        What the verdict was reached by.
    budget : tuple of Share
    by : {'', 'sound', 'video'}
        What told the time where it was not light.
    """

    effective_s: float
    effective_u_s: float
    error_ev: float
    error_u_ev: float
    coverage_factor: float
    verdict: Verdict
    n: int
    error_coverage_factor: float | None = None
    spread_ev: float | None = None
    efficiency: float | None = None
    measured_on: str | None = None
    limit: Limit | None = None
    budget: tuple[Share, ...] = ()
    by: Literal["", "sound", "video"] = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_positive(
            "Reading",
            effective_s=self.effective_s,
            effective_u_s=self.effective_u_s,
            error_u_ev=self.error_u_ev,
            n=self.n,
        )
        check_date("Reading.measured_on", self.measured_on)
        for k in (self.coverage_factor, self.error_coverage_factor):
            if k is not None and not 1 <= k <= 100:
                raise BadContent(f"Reading.coverage_factor: {k}. Expected 1 to 100.")
        if self.spread_ev is not None and self.spread_ev < 0:
            raise BadContent(f"Reading.spread_ev: {self.spread_ev}. Expected zero or more.")
        if self.efficiency is not None and not 0 < self.efficiency <= 1:
            raise BadContent(f"Reading.efficiency: {self.efficiency}. Expected above 0, at most 1.")

    @property
    def half_width_ev(self) -> float:
        """Half of the 95 % interval of the error, [EV]."""
        return (self.error_coverage_factor or self.coverage_factor) * self.error_u_ev


@dataclass(frozen=True, kw_only=True)
class Speed(Piece):
    """
    One marked speed: what it should be, as found, as left.

    Parameters
    ----------
    marked : str
        As it stands on the dial, such as `1/125`.
    target_s : float
        The time it is held against, [s].
    found, left : Reading or None
        Before and after the work.
    where : str
        The place in the gate where it was measured, when there is more than one.
    """

    marked: str
    target_s: float
    found: Reading | None = None
    left: Reading | None = None
    where: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Speed", marked=self.marked)
        check_short("Speed", 20, marked=self.marked, where=self.where)
        check_positive("Speed", target_s=self.target_s)
        for side, reading in (("found", self.found), ("left", self.left)):
            if reading is not None:
                _check_error(f"Speed {self.marked}, as {side}", reading, self.target_s)
                _check_verdict(f"Speed {self.marked}, as {side}", reading)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """As found, then as left; those there are."""
        return tuple(reading for reading in (self.found, self.left) if reading is not None)

    @property
    def limit(self) -> Limit | None:
        """The limit as it stands after the work; before it, when nothing was measured after."""
        return self.readings[-1].limit if self.readings else None


@dataclass(frozen=True, kw_only=True)
class Held(Piece):
    """A setting without a time of its own (B, T): what it did as found and as left, in words."""

    marked: str
    found: str = ""
    left: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_short("Held", 20, marked=self.marked)


@dataclass(frozen=True, kw_only=True)
class Beside(Piece):
    """
    What was measured beside one speed: its smaller stops, its flash contact, both curtains.

    Parameters
    ----------
    marked : str
    what : str
    rows : tuple of BesideRow
    notes : tuple of str
        Whose figures it was held against, and by what mark; what could not be had, and why.
    """

    marked: str
    what: str
    rows: tuple[BesideRow, ...]
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Beside", what=self.what)
        check_short("Beside", 20, marked=self.marked)


@dataclass(frozen=True, kw_only=True)
class Gauged(Beside):
    """What another instrument read, of one mark where it has marks: a meter, a diaphragm, a rangefinder."""

    by: str = ""
    measured_on: str = ""


@dataclass(frozen=True, kw_only=True)
class BesideRow(Piece):
    """One figure as found and as left, in words with its uncertainty; and the verdict where there is one."""

    label: str
    found: str = ""
    found_verdict: str = ""
    left: str = ""
    left_verdict: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("BesideRow", label=self.label)


@dataclass(frozen=True, kw_only=True)
class Refusal(Piece):
    """A measurement the instrument refused: at which speed, when if known, why, what would help."""

    marked: str
    when: Literal["as found", "as left", ""]
    reason: str
    remedy: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Refusal", reason=self.reason)
        check_short("Refusal", 20, marked=self.marked)


@dataclass(frozen=True, kw_only=True)
class Calibrated(Piece):
    """A calibration that went into figures of the paper: what it says, its days, for which readings."""

    what: str
    made_on: str
    due_on: str
    used_for: str

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Calibrated", what=self.what, used_for=self.used_for)
        check_date("Calibrated.made_on", self.made_on)
        check_date("Calibrated.due_on", self.due_on)


@dataclass(frozen=True, kw_only=True)
class Gear(Piece):
    """A thing measured with: its serial, when it was last checked, what of it was calibrated and used."""

    what: str
    serial: str = ""
    checked_on: str | None = None
    due_on: str | None = None
    note: str = ""
    calibrated: tuple[Calibrated, ...] = ()

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Gear", what=self.what)
        check_date("Gear.checked_on", self.checked_on)
        check_date("Gear.due_on", self.due_on)


def _check_error(where: str, reading: Reading, target_s: float) -> None:
    # The mean of errors and the error of the mean part company when firings scatter: scatter is allowed.
    expected = math.log2(reading.effective_s / target_s)
    allowed = 0.02 + (reading.spread_ev or 0.0)
    if abs(expected - reading.error_ev) > allowed:
        raise BadContent(
            f"{where}: error {reading.error_ev:+.3f} EV. Expected about {expected:+.3f} EV, "
            f"log2({reading.effective_s:.6g} s / {target_s:.6g} s)."
        )


def _check_verdict(where: str, reading: Reading) -> None:
    """A verdict must follow from the 95 % interval and the limit (the house keeps to JCGM 106)."""
    limit = reading.limit
    if limit is None:
        if reading.verdict != "no limit given":
            raise BadContent(f"{where}: {reading.verdict!r} without a limit. Expected 'no limit given'.")
        return
    slack = 0.02 * reading.half_width_ev  # two rooms may round k differently
    low, high = reading.error_ev - reading.half_width_ev, reading.error_ev + reading.half_width_ev
    floor = -math.inf if limit.low_ev is None else limit.low_ev
    ceiling = math.inf if limit.high_ev is None else limit.high_ev
    possible = {
        "within": low >= floor - slack and high <= ceiling + slack,
        "outside": high <= floor + slack or low >= ceiling - slack,
        "too close to call": any(low - slack <= end <= high + slack for end in (floor, ceiling)),
        "no limit given": False,
    }
    if not possible[reading.verdict]:
        raise BadContent(
            f"{where}: {reading.verdict!r}, but the error lies between {low:+.3f} and {high:+.3f} EV "
            f"and the limits are {floor:+.3f} and {ceiling:+.3f} EV."
        )
