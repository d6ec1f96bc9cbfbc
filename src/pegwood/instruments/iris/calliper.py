"""Readings of a calliper through a loupe, mark by mark, opening and closing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from pegwood.instruments.iris.practice import Practice, practice
from pegwood.instruments.iris.results import AtMark, Difference, IrisResult
from pegwood.instruments.iris.stops import FocalLength, MarkedStop, equal_circle, error_of
from pegwood.instruments.readings import FiguresTable, RefusedReadings, metres
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Bounds, verdict

__all__ = ["CalliperReading", "analyse_callipers", "calliper_readings"]

Across = Literal["corners", "flats"]

_DIRECTIONS = ("", "opening", "closing")
_EV = 2 / math.log(2)


@dataclass(frozen=True)
class CalliperReading:
    """One reading: the mark, the chord [m], and which way the ring was turned to it ("" if not told)."""

    marked: MarkedStop
    diameter_m: float
    direction: str = ""


def calliper_readings(table: FiguresTable) -> tuple[CalliperReading, ...]:
    """
    Readings from a table with the columns ``marked``, ``diameter_mm`` and maybe ``direction``.

    Parameters
    ----------
    table : FiguresTable
        The table.

    Returns
    -------
    readings : tuple of CalliperReading

    Raises
    ------
    RefusedReadings
        If a column is missing or a cell can't be read; file, line and why.
    """
    table.need("marked", "diameter_mm")
    marks = table.column("marked", MarkedStop.parse)
    diameters = table.column("diameter_mm", _diameter)
    ways = table.column("direction", _direction) if "direction" in table.columns else ("",) * len(marks)
    return tuple(CalliperReading(*one) for one in zip(marks, diameters, ways, strict=True))


def analyse_callipers(
    readings: Sequence[CalliperReading],
    *,
    focal: FocalLength | None = None,
    blades: int | None = None,
    across: Across = "corners",
    u_mm: float | None = None,
    limit: Bounds | None = None,
    known: Practice | None = None,
) -> IrisResult:
    """
    The error of every mark, and the ring's hysteresis.

    Parameters
    ----------
    readings : sequence of CalliperReading
        At least one.
    focal : FocalLength, optional
        The lens's; without it there is no f-number.
    blades : int, optional
        Their number, where the opening is a polygon; with `across` it turns the chord into the equal circle.
    across : "corners" or "flats"
        What the calliper touched: twice the distance of a corner from the middle, or that of a flat.
    u_mm : float, optional
        Standard uncertainty of a reading, [mm]; the table's if not told.
    limit : Bounds, optional
        The workshop's own limit of the error, [EV].
    known : Practice, optional
        What is taken as given.

    Returns
    -------
    result : IrisResult
        `marks` from the widest on; the diameter is the widest mark's.

    Raises
    ------
    RefusedReadings
        If there is no reading, or the number of blades can't be.
    """
    known = known or practice()
    if not readings:
        raise RefusedReadings("There is no reading. Give a mark and a diameter in mm for each.")
    if blades is not None and not 3 <= blades <= 30:
        raise RefusedReadings(
            f"{blades} blades can't be. Write 3 to 30, or leave it out for a round opening."
        )
    if u_mm is not None and not (math.isfinite(u_mm) and 0 < u_mm < 5):
        raise RefusedReadings(f"{u_mm:g} mm is no uncertainty of a calliper. Write such as 0.03.")
    factor = 1.0 if blades is None else equal_circle(1.0, blades, across == "corners")
    groups: dict[tuple[float, str], list[CalliperReading]] = {}
    for one in readings:
        groups.setdefault((one.marked.number, one.direction), []).append(one)
    pooled = _pooled(list(groups.values()))
    marks = []
    for _, group in sorted(groups.items()):
        diameter = _mean(group, factor, blades is not None, pooled, u_mm, known)
        stop = error_of(diameter, group[0].marked, focal, known, limit)
        marks.append(AtMark(stop, diameter, group[0].direction, len(group)))
    warnings = _warnings(marks, focal, blades)
    return IrisResult(
        diameter=marks[0].diameter, diameter_px=None, scale=None, roundness=None, callipers_px=None,
        blades=blades, edges=(), outline=(), stop=marks[0].stop, returns=None,
        hysteresis=_hysteresis(marks, known, warnings), marks=tuple(marks), blur_px=None, tone=None,
        warnings=tuple(warnings),
        notes=("Diameter, f-number and verdict above all marks are those of the widest mark.",),
    )  # fmt: skip


def _diameter(text: str) -> float:
    value = metres(text, "mm")
    if not 0.0001 <= value <= 0.5:
        raise RefusedReadings(
            f"{text.strip()[:40]!r} is no diameter of a diaphragm. Write it in mm, 0.1 to 500, such as 17.85."
        )
    return value


def _direction(text: str) -> str:
    said = text.strip().casefold()
    if said not in _DIRECTIONS:
        raise RefusedReadings(f"{text.strip()[:40]!r} is no direction. Write opening, closing or nothing.")
    return said


def _pooled(groups: list[list[CalliperReading]]) -> tuple[float, int]:
    """Relative scatter of readings about the mean of their mark, and its degrees of freedom."""
    squares, df = 0.0, 0
    for group in groups:
        mean = sum(one.diameter_m for one in group) / len(group)
        squares += sum((one.diameter_m - mean) ** 2 for one in group)
        df += len(group) - 1
    return (math.sqrt(squares / df), df) if df else (0.0, 0)


def _mean(
    group: list[CalliperReading],
    factor: float,
    shape_known: bool,
    pooled: tuple[float, int],
    u_mm: float | None,
    known: Practice,
) -> Measured:
    value = factor * sum(one.diameter_m for one in group) / len(group)
    scatter, df = pooled
    lines = []
    if df:
        note = f"scatter of repeated readings, all marks together, {df} degrees of freedom"
        lines.append(Component("repeatability", factor * scatter / math.sqrt(len(group)), df, "A", note))
    if u_mm is not None:
        lines.append(Component("calliper", factor * u_mm / 1000, note="as told"))
    else:
        given = known["calliper.u_mm"]
        lines.append(given.component("calliper", factor * given.value / 1000, "the same for all readings"))
    if not shape_known:
        given = known["calliper.shape_u_rel"]
        lines.append(given.component("shape", value * given.value, "a chord, taken for the equal circle"))
    return combine(value, lines)


def _warnings(marks: list[AtMark], focal: FocalLength | None, blades: int | None) -> list[str]:
    said = []
    if focal is None:
        said.append("No f-numbers and no errors in EV: the focal length is not told.")
    if blades is None:
        said.append(
            "The openings were taken as round. A polygon's chord differs from its equal circle by up to "
            "13 %: tell the number of blades, and whether corners or flats were touched."
        )
    if max(one.n for one in marks) < 2:
        said.append(
            "Every mark was read once: how well a reading comes back is not known. Read each three times."
        )
    order: dict[str, list[AtMark]] = {}
    for one in marks:
        order.setdefault(one.direction, []).append(one)
    for run in order.values():
        for wide, narrow in pairwise(run):
            if narrow.diameter.value >= wide.diameter.value:
                names = " than ".join(
                    f"f/{one.stop.marked.number:g}" for one in (narrow, wide) if one.stop.marked
                )
                said.append(f"A smaller stop was read wider, {names}: look at these readings once more.")
    return said


def _hysteresis(marks: list[AtMark], known: Practice, warnings: list[str]) -> Difference | None:
    """Opening against closing, the mean over the marks read both ways; the calliper's own error drops out."""
    by_mark: dict[float, dict[str, AtMark]] = {}
    for one in marks:
        if one.stop.marked:
            by_mark.setdefault(one.stop.marked.number, {})[one.direction] = one
    pairs = [both for both in by_mark.values() if "opening" in both and "closing" in both]
    if not pairs:
        if any(one.direction for one in marks):
            warnings.append("No hysteresis: no mark was read both opening and closing.")
        return None
    steps = [
        _EV * math.log(both["opening"].diameter.value / both["closing"].diameter.value) for both in pairs
    ]
    mean = sum(steps) / len(steps)
    lines = []
    spread = math.sqrt(
        sum(_repeat(one) ** 2 for both in pairs for one in both.values() if one.direction)
    ) / len(pairs)
    df = max((line.df for both in pairs for one in both.values() for line in one.diameter.budget
              if line.name == "repeatability"), default=0.0)  # fmt: skip
    if df:
        lines.append(Component("repeatability", spread, df, "A", "of the readings, both ways"))
    elif len(steps) > 1:
        sd = math.sqrt(sum((one - mean) ** 2 for one in steps) / (len(steps) - 1) / len(steps))
        lines.append(Component("scatter over the marks", sd, len(steps) - 1, "A"))
    else:
        given = known["calliper.u_mm"]
        each = math.hypot(*(given.value / 1000 / one.diameter.value for one in pairs[0].values()))
        lines.append(given.component("calliper", _EV * each, "one mark, read once each way"))
    ev = combine(mean, lines)
    low, high = ev.coverage_interval()
    return Difference(ev, low <= 0 <= high, known.hysteresis, verdict(ev, known.hysteresis))


def _repeat(one: AtMark) -> float:
    """Standard uncertainty of a mark's mean from repeated readings alone, [EV]."""
    line = next((line for line in one.diameter.budget if line.name == "repeatability"), None)
    return _EV * line.u / one.diameter.value if line else 0.0
