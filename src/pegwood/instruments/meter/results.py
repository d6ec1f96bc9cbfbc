"""What comes of a meter's readings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pegwood.instruments.meter.adjusting import Shift, Stretch
from pegwood.instruments.meter.fed import Fed
from pegwood.instruments.meter.pattern import Pattern
from pegwood.instruments.meter.telling import cautions_for, meaning_of, pattern_source
from pegwood.instruments.meter.typed import Readings
from pegwood.instruments.plain_data import bounds_of, budget_of, figure, interval_of, plain, u_of, value_of
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Bounds, Verdict

__all__ = ["Judged", "MeterResult"]


@dataclass(frozen=True)
class Judged:
    """
    One figure held against its limit.

    Parameters
    ----------
    what : str
        "error at the low end", "error at the middle", "error at the high end" or "hysteresis".
    figure : Measured or None
        [EV].
    limit : Bounds or None
        The workshop's.
    verdict : str
        What the 95 % interval says.
    ev : float or None
        The light it is about, [EV].
    """

    what: str
    figure: Measured | None
    limit: Bounds | None
    verdict: Verdict
    ev: float | None = None


@dataclass(frozen=True)
class MeterResult:
    """
    Error of an exposure meter over the range read.

    Parameters
    ----------
    readings : Readings
        What was read.
    offset : Measured or None
        Error at the middle of the range, shown less true, [EV]: above zero the meter sees too much light and
        pictures come out too dark.
    slope : Measured or None
        EV shown per EV true, less one, [EV/EV].
    curvature : Measured or None
        Error at the ends less that in the middle, [EV].
    hysteresis : Measured or None
        Shown with the light rising less falling, [EV].
    scatter_ev : float or None
        Standard deviation of a reading about the fit, rounding included, [EV].
    scatter_df : int or None
        Its degrees of freedom, [-].
    curve : tuple of (float, Measured)
        Light, [EV], and the error there, [EV]: for a chart.
    fitted : tuple of float or None
        The fit at each reading, its way included, [EV].
    pattern : Pattern
        What stands out.
    shift : Shift or None
        What to turn.
    stretch : Stretch or None
        What two adjusters could do.
    shunt : dict or None
        Shunt that gives the shift: `movement_ohm`, `shunt_ohm`, `new_shunt_ohm`.
    judged : tuple of Judged
        Figures against limits.
    verdict : str
        Of all of them together.
    cell : str
        What sees the light.
    advice, warnings, notes : tuple of str
        What to do; what was refused and why; how it was reckoned.
    taken_off_ev : float
        What the colour of the light does, taken off all errors but those of the single readings, [EV].
    fed : Fed or None
        What the cell in its battery chamber does, where it was told.
    """

    readings: Readings
    offset: Measured | None
    slope: Measured | None
    curvature: Measured | None
    hysteresis: Measured | None
    scatter_ev: float | None
    scatter_df: int | None
    curve: tuple[tuple[float, Measured], ...]
    fitted: tuple[float, ...] | None
    pattern: Pattern
    shift: Shift | None
    stretch: Stretch | None
    shunt: dict[str, float | None] | None
    judged: tuple[Judged, ...]
    verdict: Verdict
    cell: Any
    advice: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    taken_off_ev: float = 0.0
    fed: Fed | None = None

    def to_json(self) -> dict[str, Any]:
        """
        The result as plain data, all numbers finite or None.

        Returns
        -------
        data : dict
            As `measure.meter` describes it.
        """
        source, mark = pattern_source()
        true = self.readings.reference
        return {
            "n": int(true.size),
            "low_ev": plain(float(true.min())),
            "high_ev": plain(float(true.max())),
            "middle_ev": plain(float(true.max() + true.min()) / 2),
            **figure("offset", "ev", self.offset),
            "offset_budget": _budget(self.offset),
            **figure("slope", "", self.slope),
            "slope_budget": _budget(self.slope),
            **figure("curvature", "ev", self.curvature),
            **figure("hysteresis", "ev", self.hysteresis),
            "hysteresis_budget": _budget(self.hysteresis),
            "scatter_ev": plain(self.scatter_ev),
            "scatter_df": self.scatter_df,
            "division_ev": plain(float(self.readings.division.max())),
            "taken_off_ev": plain(self.taken_off_ev),
            "points": self._points(),
            "curve": [
                {
                    "ev": plain(ev),
                    "error_ev": value_of(one),
                    "error_u_ev": u_of(one),
                    "error_95_ev": interval_of(one),
                }
                for ev, one in self.curve
            ],
            "pattern": self.pattern.name,
            "pattern_means": meaning_of(self.pattern.name),
            "stands_out": [{"name": one.name, "size_ev": plain(one.size_ev)} for one in self.pattern.stands],
            "shapes": [{"name": name, "chance": plain(one)} for name, one in self.pattern.chances.items()],
            "adjust": self._adjust(),
            "judged": [
                {
                    "what": one.what,
                    "ev": plain(one.ev),
                    **figure("value", "ev", one.figure),
                    "limit": bounds_of(one.limit),
                    "verdict": one.verdict,
                }
                for one in self.judged
            ],
            "verdict": self.verdict,
            "cell": self.cell,
            "fed": None if self.fed is None else self.fed.to_json(),
            "advice": list(self.advice),
            "advice_source": source,
            "advice_mark": mark,
            "cautions": list(cautions_for(self.cell)),
            "warnings": list(self.warnings),
            "notes": list(self.notes),
        }

    def _points(self) -> list[dict[str, Any]]:
        read = self.readings
        ways = {1: "up", -1: "down", 0: None}
        fitted = self.fitted or (None,) * read.reference.size
        return [
            {
                "line": line,
                "reference_ev": plain(float(true)),
                "shown_ev": plain(float(shown)),
                "error_ev": plain(float(shown - true)),
                "direction": ways[int(way)],
                "fitted_ev": plain(fit),
            }
            for line, true, shown, way, fit in zip(
                read.lines, read.reference, read.shown, read.direction, fitted, strict=True
            )
        ]

    def _adjust(self) -> dict[str, Any] | None:
        if self.shift is None:
            return None
        one, two = self.shift, self.stretch
        return {
            **figure("shift", "ev", one.shift),
            "worst_before_ev": plain(one.worst_before),
            "worst_after_ev": plain(one.worst_after),
            "film_speed_factor": plain(one.speed_factor),
            "film_speed_thirds": one.thirds,
            "worst_after_thirds_ev": plain(one.worst_after_thirds),
            "shunt": self.shunt,
            "two_adjusters": None
            if two is None
            else {
                "shift_ev": plain(two.shift),
                "tilt": plain(two.tilt),
                "worst_after_ev": plain(two.worst_after),
            },
        }


def _budget(measured: Measured | None) -> list[dict[str, Any]]:
    return [] if measured is None else budget_of(measured.budget)
