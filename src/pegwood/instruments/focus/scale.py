"""
A distance scale and its infinity stop against where the lens really is sharp.

Each reading is a mark on the scale and the distance at which the image is sharp there (by a collimator or on
a ground glass), or the error on the image's side at once. On the image's side all marks speak one language: a
wrong shim moves them all alike, a wrong lead or focal length in proportion to the extension.

Sign: positive is too far from the film. Then what is sharp lies nearer than the mark says; the lens has to go
back towards the film, and the shim under it becomes thinner by as much.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pegwood.instruments.fitting import fit_linear
from pegwood.instruments.focus._figures import FocusLimits, share_limit, sourced
from pegwood.instruments.focus.optics import depth_of_field, depth_of_focus, from_lens, image_shift
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["Lens", "Mark", "Reading", "ScaleResult", "read_scale"]

CountedFrom = Literal["film", "lens"]
#: A mark is near up to so many focal lengths: 2 m of a 50 mm lens (practice).
_NEAR = 40


@dataclass(frozen=True)
class Lens:
    """
    The lens and how it is judged.

    Parameters
    ----------
    focal_m : float
        Focal length, [m].
    f_number : float
        At which it is judged, the widest as a rule, [-].
    confusion_m : float
        Circle of confusion, [m].
    counted_from : "film" or "lens"
        Where the scale's distances begin.
    lead_m : float or None
        How far one turn of the helicoid moves the lens, [m].

    Raises
    ------
    RefusedReadings
        If one of them is not above zero.
    """

    focal_m: float
    f_number: float
    confusion_m: float
    counted_from: CountedFrom = "film"
    lead_m: float | None = None

    def __post_init__(self) -> None:
        for value, what in (
            (self.focal_m, "A focal length"),
            (self.f_number, "An f-number"),
            (self.confusion_m, "A circle of confusion"),
            (1.0 if self.lead_m is None else self.lead_m, "A helicoid's lead"),
        ):
            if not (math.isfinite(value) and value > 0):
                raise RefusedReadings(f"{what} must be above zero, not {value:g}.")

    def distance(self, said_m: float) -> float:
        """From the lens, [m], of a distance as the scale counts."""
        return from_lens(self.focal_m, said_m) if self.counted_from == "film" else said_m

    def extension(self, said_m: float) -> float:
        """Beyond the infinity stop, [m], at which that distance is sharp."""
        return image_shift(self.focal_m, self.distance(said_m))


@dataclass(frozen=True)
class Reading:
    """One reading: the mark, and where it was sharp [m] or the error on the image's side [m]."""

    marked_m: float
    found_m: float | None = None
    error_m: float | None = None


@dataclass(frozen=True)
class Mark:
    """
    One mark of the scale.

    Parameters
    ----------
    marked_m : float
        [m]; infinite at the infinity stop.
    error : Measured
        On the image's side, [m]; positive: too far from the film.
    readings : int
    depth_m : float
        Depth of focus to one side, [m].
    near_m, far_m : float
        Depth of field at the mark, from where the scale counts, [m].
    limit : Bounds
    verdict : str
    """

    marked_m: float
    error: Measured
    readings: int
    depth_m: float
    near_m: float
    far_m: float
    limit: Bounds
    verdict: Verdict


@dataclass(frozen=True)
class ScaleResult:
    """
    What a scale's readings tell.

    Parameters
    ----------
    lens : Lens
    marks : tuple of Mark
        From the nearest to infinity.
    offset : Measured
        Error all marks share, at infinity, [m].
    gain : Measured or None
        Error per extension, [-]: the lead or the focal length is not the scale's; None where marks do not
        tell.
    shim : Measured
        Change of the shim, [m]; negative: thinner.
    turn : Measured or None
        Turns of the helicoid that do the same; negative: inwards, towards the film.
    verdict : str
        Of the worst mark.
    advice, warnings, notes : tuple of str
    """

    lens: Lens
    marks: tuple[Mark, ...]
    offset: Measured
    gain: Measured | None
    shim: Measured
    turn: Measured | None
    verdict: Verdict
    advice: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def at_infinity(self) -> Mark | None:
        """The infinity mark itself; None where it was not read."""
        return self.marks[-1] if math.isinf(self.marks[-1].marked_m) else None

    @property
    def near(self) -> Mark | None:
        """The nearest mark, where it is near enough to tell a helicoid from a shim; else None."""
        return self.marks[0] if self.marks[0].marked_m <= _NEAR * self.lens.focal_m else None


def read_scale(
    readings: Sequence[Reading],
    lens: Lens,
    limit_m: float | None = None,
    reading_u_m: float | None = None,
    limits: FocusLimits | None = None,
) -> ScaleResult:
    """
    Reckon a scale's readings.

    Parameters
    ----------
    readings : sequence of Reading
        Several of one mark tell how well it can be read.
    lens : Lens
    limit_m : float, optional
        The workshop's limit to either side, [m]; else a share of the depth of focus.
    reading_u_m : float, optional
        Standard uncertainty of one reading on the image's side, [m]; else a share of the depth of focus.
    limits : FocusLimits, optional
        The workshop's; those that come with Pegwood if not given.

    Returns
    -------
    result : ScaleResult

    Raises
    ------
    RefusedReadings
        If there is none, or one is no distance.
    """
    if not readings:
        raise RefusedReadings("There are no readings. Give a mark and the distance at which it is sharp.")
    if limit_m is not None and not limit_m > 0:
        raise RefusedReadings(f"A limit must be above zero, not {limit_m:g} m.")
    errors = [_error(one, lens) for one in readings]
    depth = depth_of_focus(lens.f_number, lens.confusion_m)
    row = sourced("reading", "ground_glass")
    glass = Component(
        "reading", row.values["share_of_depth"] * depth, note=row.note, source=row.source, mark=row.mark
    )
    if reading_u_m is not None:
        glass = Component("reading", reading_u_m, note="as given")
    spread = _spread(readings, errors)
    marks = tuple(
        _mark(marked, readings, errors, lens, glass, spread, limit_m, limits)
        for marked in sorted({one.marked_m for one in readings})
    )
    offset, gain, warnings = _offset_and_gain(marks, lens, glass, spread)
    turn = None if lens.lead_m is None else offset.scaled(-1 / lens.lead_m)
    worst = _worst([one.verdict for one in marks])
    return ScaleResult(
        lens,
        marks,
        offset,
        gain,
        offset.scaled(-1.0),
        turn,
        worst,
        _advice(offset, gain, turn, marks, lens),
        tuple(warnings),
        (
            f"Distances count from the {lens.counted_from}; the lens is reckoned as a thin one.",
            "Positive is too far from the film: what is sharp then lies nearer than the mark.",
        ),
    )


def _error(one: Reading, lens: Lens) -> float:
    lens.extension(one.marked_m)  # says what cannot be
    if one.error_m is not None:
        if not abs(one.error_m) < 0.2 * lens.focal_m:
            raise RefusedReadings(
                f"An error of {1e3 * one.error_m:g} mm on the image's side is more than a lens of "
                f"{1e3 * lens.focal_m:g} mm can be off. Give it in mm."
            )
        return one.error_m
    if one.found_m is None:
        raise RefusedReadings("A reading needs where it was sharp, or the error on the image's side.")
    error = lens.extension(one.found_m) - lens.extension(one.marked_m)
    if abs(error) > 0.2 * lens.focal_m:
        raise RefusedReadings(
            f"Marked {one.marked_m:g} m and sharp at {one.found_m:g} m: no scale is so far off. Are the "
            "units mixed up? Write feet as 5 ft, and inf for infinity."
        )
    return error


def _spread(readings: Sequence[Reading], errors: Sequence[float]) -> tuple[float, int] | None:
    """Standard deviation of a reading about its mark's mean, over all marks read more than once."""
    square, df = 0.0, 0
    for marked in {one.marked_m for one in readings}:
        here = [e for one, e in zip(readings, errors, strict=True) if one.marked_m == marked]
        if len(here) > 1:
            square += float(np.var(here)) * len(here)
            df += len(here) - 1
    return (math.sqrt(square / df), df) if df else None


def _parts(n: int, glass: Component, spread: tuple[float, int] | None) -> list[Component]:
    """The budget of a mark's mean: the scatter if it was seen well enough, else what is usual."""
    if spread is not None and spread[1] >= 2:
        note = f"scatter of readings about their marks' means, {spread[1]} degrees of freedom"
        return [Component("reading", spread[0] / math.sqrt(n), spread[1], "A", note)]
    return [Component("reading", glass.u / math.sqrt(n), glass.df, "B", glass.note, glass.source, glass.mark)]


def _mark(
    marked: float,
    readings: Sequence[Reading],
    errors: Sequence[float],
    lens: Lens,
    glass: Component,
    spread: tuple[float, int] | None,
    limit_m: float | None,
    limits: FocusLimits | None,
) -> Mark:
    here = [e for one, e in zip(readings, errors, strict=True) if one.marked_m == marked]
    error = combine(float(np.mean(here)), _parts(len(here), glass, spread))
    magnification = lens.extension(marked) / lens.focal_m
    depth = depth_of_focus(lens.f_number, lens.confusion_m, magnification)
    limit = share_limit(depth, limit_m, limits)
    distance = lens.distance(marked)
    near, far = depth_of_field(lens.focal_m, lens.f_number, lens.confusion_m, distance)
    back = 0.0 if math.isinf(marked) else marked - distance
    return Mark(marked, error, len(here), depth, near + back, far + back, limit, verdict(error, limit))


def _offset_and_gain(
    marks: Sequence[Mark], lens: Lens, glass: Component, spread: tuple[float, int] | None
) -> tuple[Measured, Measured | None, list[str]]:
    x = np.array([lens.extension(one.marked_m) for one in marks])
    y = np.array([one.error.value for one in marks])
    u = np.array([max(one.error.u, 1e-9) for one in marks])
    if len(marks) < 3 or np.ptp(x) < 0.002 * lens.focal_m:
        nearest = int(np.argmin(x))
        warnings = [
            "Whether marks go wrong in proportion (gain) needs three marks from near to infinity; read "
            "more of them."
        ]
        if x[nearest] > 0:
            warnings.append("Infinity itself was not read: the offset is the error at the furthest mark.")
        return marks[nearest].error, None, warnings
    fit = fit_linear(np.column_stack([np.ones_like(x), x]), y, u)
    known = spread is None or spread[1] < 2
    inner = fit.covariance / max(fit.residual_sd, 1e-12) ** 2
    scatters = fit.residual_sd > 1.0 and fit.df >= 2
    scale = fit.residual_sd if scatters else 1.0
    df = float(fit.df) if scatters else (math.inf if known else float(spread[1]))  # type: ignore[index]
    note = f"{len(marks)} marks about a straight line over the extension"

    def told(k: int) -> Measured:
        size = math.sqrt(float(inner[k, k])) * scale
        if scatters or not known:
            return combine(float(fit.values[k]), [Component("reading", size, df, "A", note)])
        return combine(
            float(fit.values[k]),
            [Component("reading", size, df, "B", f"{note}; {glass.note}", glass.source, glass.mark)],
        )

    warnings = []
    if scatters and fit.residual_sd > 3:
        warnings.append(
            f"The marks scatter {fit.residual_sd:.1f} times as much as readings do: a mark is misread, or "
            "the helicoid has play. Read each mark coming from the same side."
        )
    if x.min() > 0:
        warnings.append("Infinity itself was not read: the offset is the line's, continued to it.")
    return told(0), told(1), warnings


def _worst(verdicts: Sequence[Verdict]) -> Verdict:
    order: tuple[Verdict, ...] = ("outside", "too close to call", "within")
    return next((one for one in order if one in verdicts), "no limit given")


def _advice(
    offset: Measured, gain: Measured | None, turn: Measured | None, marks: Sequence[Mark], lens: Lens
) -> tuple[str, ...]:
    low, high = offset.coverage_interval()
    said = []
    if low <= 0 <= high:
        said.append("Leave the shim: the error that all marks share is not larger than its uncertainty.")
    else:
        way = "thinner" if offset.value > 0 else "thicker"
        line = f"Make the shim {1e3 * abs(offset.value):.3f} mm {way}"
        if turn is not None:
            inwards = "in, towards the film" if turn.value < 0 else "out, away from the film"
            size = f"{abs(turn.value):.3f} of a turn ({360 * abs(turn.value):.0f}°)"
            line += f", or turn the helicoid {size} {inwards}"
        said.append(line + ".")
    if gain is not None:
        low, high = gain.coverage_interval()
        furthest = max(lens.extension(one.marked_m) for one in marks)
        if not low <= 0 <= high and abs(gain.value) * furthest > 0.25 * marks[0].depth_m:
            said.append(
                f"Near marks go wrong by {100 * gain.value:+.1f} % of the extension, which no shim mends: "
                "the helicoid was put together on a wrong thread start, or the scale belongs to another "
                "focal length."
            )
    if math.isinf(marks[-1].marked_m) and marks[-1].verdict == "outside" and len(marks) == 1:
        said.append("Read two nearer marks as well, to tell a wrong shim from a wrong helicoid start.")
    return tuple(said)
