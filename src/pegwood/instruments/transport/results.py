"""What is told of a film transport."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from pegwood.instruments.filmstrip import FilmFormat
from pegwood.instruments.plain_data import bounds_of, budget_of, figure, plain
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["Frame", "LongScratch", "TransportResult"]


@dataclass(frozen=True)
class Frame:
    """
    One frame.

    Parameters
    ----------
    start : Measured
        Its left edge from the strip's left end, [m].
    width : Measured or None
        From its left to its right edge, [m]; None where only one was exposed enough to be seen.
    gap : Measured or None
        From its right edge to the next frame's left one, [m]; negative where they overlap.
    seen : str
        "both edges", "left edge" or "right edge".
    left_lean, right_lean : Measured or None
        How far its edges lean from square to the film, [rad]; positive: the lower end stands further right.
    """

    start: Measured
    width: Measured | None
    gap: Measured | None
    seen: str
    left_lean: Measured | None
    right_lean: Measured | None


@dataclass(frozen=True)
class LongScratch:
    """
    A scratch along the travel.

    Parameters
    ----------
    from_top : Measured
        From the film's upper edge as scanned, [m].
    width_m : float
        The picture's blur included, [m].
    density : float
        What it adds to the film's density, [-].
    share : float
        Share of the strip it was seen on, [-].
    """

    from_top: Measured
    width_m: float
    density: float
    share: float


@dataclass(frozen=True)
class TransportResult:
    """
    How the film moved.

    Parameters
    ----------
    name : str
        Of the picture.
    film : FilmFormat
    kind : "negative" or "positive"
    frames : tuple of Frame
        From the left as scanned.
    pitch : Measured or None
        Mean spacing over the strip, overlaps included, [m].
    trend : Measured or None
        How much longer each spacing is than the one before it, [m].
    scatter : Measured or None
        Standard deviation of the spacings about their mean, [m].
    gate_width : Measured or None
        [m].
    lean : Measured or None
        How far the gate's edges lean from square to the film, [rad].
    spacings : tuple of Measured
        One by one, [m].
    overlaps : int
        How many frames lie over their neighbour.
    scratches : tuple of LongScratch
    holes : int
        Perforations measured.
    pixels_per_m : float
    turned : bool
        Whether the picture was turned a quarter: its top is left.
    pitch_limit, scatter_limit, lean_limit, gap_limit : Bounds
    advice, warnings, notes : tuple of str
    """

    name: str
    film: FilmFormat
    kind: str
    frames: tuple[Frame, ...]
    pitch: Measured | None
    trend: Measured | None
    scatter: Measured | None
    gate_width: Measured | None
    lean: Measured | None
    spacings: tuple[Measured, ...]
    overlaps: int
    scratches: tuple[LongScratch, ...]
    holes: int
    pixels_per_m: float
    turned: bool
    pitch_limit: Bounds
    scatter_limit: Bounds
    lean_limit: Bounds
    gap_limit: Bounds
    advice: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())

    @property
    def off(self) -> Measured | None:
        """How much wider than the format's own spacing the mean is, [m]."""
        return (
            None if self.pitch is None else replace(self.pitch, value=self.pitch.value - self.film.spacing_m)
        )

    @property
    def verdict(self) -> Verdict:
        """Of the mean spacing."""
        return verdict(self.pitch, self.pitch_limit)

    @property
    def scatter_verdict(self) -> Verdict:
        """Of the scatter of the spacings."""
        return verdict(self.scatter, self.scatter_limit)

    @property
    def lean_verdict(self) -> Verdict:
        """Of the gate's edges."""
        return verdict(self.lean, self.lean_limit)

    @property
    def narrowest(self) -> Measured | None:
        """The narrowest gap between two frames, [m]; below zero they lie over each other."""
        gaps = [one.gap for one in self.frames if one.gap is not None]
        return min(gaps, key=lambda one: one.value, default=None)

    @property
    def gap_verdict(self) -> Verdict:
        """Of the narrowest gap."""
        return verdict(self.narrowest, self.gap_limit)

    def to_json(self) -> dict[str, Any]:
        """The result as plain data, as the schema `measure.transport` describes it."""
        return {
            "format": self.film.key,
            "kind": self.kind,
            **figure("pitch", "m", self.pitch),
            "pitch_budget": budget_of(self.pitch.budget) if self.pitch else [],
            "nominal_m": self.film.spacing_m,
            **figure("off", "m", self.off),
            "pitch_limit": bounds_of(self.pitch_limit),
            "verdict": self.verdict,
            "spacings_m": [plain(one.value) for one in self.spacings],
            "spacings_u_m": [plain(one.u) for one in self.spacings],
            **figure("trend", "m", self.trend),
            **figure("scatter", "m", self.scatter),
            "scatter_limit": bounds_of(self.scatter_limit),
            "scatter_verdict": self.scatter_verdict,
            **figure("gate_width", "m", self.gate_width),
            **figure("lean", "rad", self.lean),
            "lean_limit": bounds_of(self.lean_limit),
            "lean_verdict": self.lean_verdict,
            "frames": [_frame(one) for one in self.frames],
            "overlaps": self.overlaps,
            **figure("narrowest_gap", "m", self.narrowest),
            "gap_limit": bounds_of(self.gap_limit),
            "gap_verdict": self.gap_verdict,
            "scratches": [
                {
                    **figure("from_top", "m", one.from_top),
                    "width_m": one.width_m,
                    "density": one.density,
                    "share": one.share,
                }
                for one in self.scratches
            ],
            "perforations": self.holes,
            "pixels_per_m": self.pixels_per_m,
            "turned": self.turned,
            "advice": list(self.advice),
            "warnings": list(self.warnings),
            "notes": list(self.notes),
        }


def _frame(frame: Frame) -> dict[str, Any]:
    return {
        **figure("start", "m", frame.start),
        **figure("width", "m", frame.width),
        **figure("gap", "m", frame.gap),
        "seen": frame.seen,
        **figure("left_lean", "rad", frame.left_lean),
        **figure("right_lean", "rad", frame.right_lean),
    }
