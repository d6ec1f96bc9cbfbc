"""What a photograph of a diaphragm, or a calliper at its marks, gave."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from pegwood.instruments.iris.blades import Blade
from pegwood.instruments.iris.scale import Scale
from pegwood.instruments.iris.stops import Stop
from pegwood.instruments.plain_data import bounds_of, budget_of, figure, plain
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Bounds, Verdict

__all__ = ["AtMark", "Difference", "IrisResult"]


@dataclass(frozen=True)
class Difference:
    """
    Light of a second setting of the same stop over that of the first.

    Parameters
    ----------
    ev : Measured
        [EV]; positive where the second is wider.
    same : bool
        Whether the 95 % interval holds zero.
    limit : Bounds
        The workshop's, [EV].
    verdict : str
        What the difference says about it.
    """

    ev: Measured
    same: bool
    limit: Bounds
    verdict: Verdict

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        return {
            **figure("difference", "ev", self.ev),
            "difference_budget": budget_of(self.ev.budget),
            "same": self.same,
            "limit": bounds_of(self.limit),
            "verdict": self.verdict,
        }


@dataclass(frozen=True)
class AtMark:
    """
    What a calliper read at one mark.

    Parameters
    ----------
    stop : Stop
        The mark and its error.
    diameter : Measured
        [m].
    direction : str
        "opening", "closing" or "".
    n : int
        Readings.
    """

    stop: Stop
    diameter: Measured
    direction: str
    n: int

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        return {
            "direction": self.direction or None,
            "n": self.n,
            **figure("diameter", "m", self.diameter),
            "diameter_budget": budget_of(self.diameter.budget),
            **stop_data(self.stop),
        }


@dataclass(frozen=True)
class IrisResult:
    """
    A diaphragm.

    Parameters
    ----------
    diameter : Measured or None
        Of the circle with the opening's area, [m]; None where it is refused. Of a table's widest mark.
    diameter_px : Measured or None
        The same in pixels of the picture.
    scale : Scale or None
        How large a pixel is.
    roundness : Measured or None
        Smallest over largest calliper diameter, [-].
    callipers_px : (float, float) or None
        Both, [pixel].
    blades : int or None
        How many; None where that can't be told.
    edges : tuple of Blade
        One for each blade.
    outline : tuple of (float, float)
        Points of the edge for a drawing, [pixel].
    stop : Stop
        Held against the mark.
    returns, hysteresis : Difference or None
        Of a second picture; of opening against closing.
    marks : tuple of AtMark
        What a calliper read, mark by mark.
    blur_px, tone : float or None
        Width of the edge; curve of the picture's numbers, 0 for sRGB's.
    warnings, notes : tuple of str
        What was refused and why, what is doubtful; how it was reckoned.
    out_of_line : Measured or None
        How far the worst blade's edge lies from where the others ask for it, either way, [%] of the diameter.
        The largest of several, so that blades all in place give what noise leaves and never quite nought.
        None where blades can't be told apart, and of fewer than five: these always fit some middle.
    """

    diameter: Measured | None
    diameter_px: Measured | None
    scale: Scale | None
    roundness: Measured | None
    callipers_px: tuple[float, float] | None
    blades: int | None
    edges: tuple[Blade, ...]
    outline: tuple[tuple[float, float], ...]
    stop: Stop
    returns: Difference | None
    hysteresis: Difference | None
    marks: tuple[AtMark, ...]
    blur_px: float | None
    tone: float | None
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    out_of_line: Measured | None = None

    @property
    def out_of_place(self) -> tuple[Blade, ...]:
        """Blades that are late or bent."""
        return tuple(one for one in self.edges if one.out_of_place)

    def to_json(self) -> dict[str, Any]:
        """
        The result as plain data.

        Returns
        -------
        data : dict
            Ready for strict JSON; described by the schema ``measure.iris``.
        """
        per_px = self.scale.m_per_px if self.scale else None
        return {
            **figure("diameter", "m", self.diameter),
            "diameter_budget": budget_of(self.diameter.budget) if self.diameter else [],
            **figure("diameter", "px", self.diameter_px),
            "m_per_px": plain(per_px),
            **figure("roundness", "", self.roundness),
            "roundness_budget": budget_of(self.roundness.budget) if self.roundness else [],
            **figure("out_of_line", "percent", self.out_of_line),
            "out_of_line_budget": budget_of(self.out_of_line.budget) if self.out_of_line else [],
            "callipers_px": list(self.callipers_px) if self.callipers_px else None,
            "blades": self.blades,
            "edges": [_edge_data(one, per_px) for one in self.edges],
            "out_of_place": [one.hour for one in self.out_of_place] if self.edges else None,
            **stop_data(self.stop),
            "returns": self.returns.to_json() if self.returns else None,
            "hysteresis": self.hysteresis.to_json() if self.hysteresis else None,
            "marks": [one.to_json() for one in self.marks],
            "outline_px": [[round(x, 3), round(y, 3)] for x, y in self.outline],
            "blur_px": plain(self.blur_px),
            "tone": plain(self.tone),
            "warnings": list(self.warnings),
            "notes": list(self.notes),
        }


def stop_data(stop: Stop) -> dict[str, Any]:
    """A stop as plain data: ``marked``, ``exact``, ``f_number``, ``error_ev``, limit and verdict."""
    return {
        "marked": stop.marked.text if stop.marked else None,
        "exact": plain(stop.marked.exact) if stop.marked else None,
        **figure("f_number", "", stop.f_number),
        **figure("error", "ev", stop.error),
        "error_budget": budget_of(stop.error.budget) if stop.error else [],
        "limit": bounds_of(stop.limit),
        "verdict": stop.verdict,
    }


def _edge_data(one: Blade, per_px: float | None) -> dict[str, Any]:
    return {
        "hour": one.hour,
        "direction_deg": plain(math.degrees(one.direction)),
        "reach_px": plain(one.reach),
        "inward_px": plain(one.inward),
        "inward_u_px": plain(one.reach_u),
        "inward_m": plain(one.inward * per_px) if per_px else None,
        "turned_deg": plain(math.degrees(one.turned)),
        "bow": plain(one.bow),
        "out_of_place": one.out_of_place,
    }
