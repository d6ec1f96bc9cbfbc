"""The finder on the bench: base, lens, and how it is read."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from pegwood.instruments.given import Given
from pegwood.instruments.rangefinder._practice import acuity, circle, practice
from pegwood.instruments.rangefinder.base import Base, range_error
from pegwood.instruments.rangefinder.film import MeasuredFrom, film_error, film_slope, from_the_lens
from pegwood.instruments.rangefinder.results import BaseAllows, Kind
from pegwood.instruments.rangefinder.vertical import vertical_limit
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Bounds

__all__ = ["Finder"]


@dataclass(frozen=True)
class Finder:
    """
    The finder, its lens, and what is known of how it is read.

    Parameters
    ----------
    base : Base
    focal_m : float
        Of the lens, [m].
    stop : float
        Its widest stop, [-].
    kind : "coupled", "uncoupled" or "screen"
        Coupled to the lens; read off a scale of its own; a split-image screen.
    circle : Given
        Circle of confusion, [m].
    acuity : Given
        Of a setting, at the eye, [rad].
    reading_dpt : float or None
        Standard uncertainty of a reading of the scale, [dpt]; that of an ordinary lens scale if not given.
    true_u_m : float
        Standard uncertainty of a true distance, [m].
    nearest_m : float or None
        Nearest mark on the scale, [m].
    measured_from : "lens" or "film"
        What the distances are told from; for what they do on the film.
    screw_dpt_per_turn, gain_per_turn : float or None
        What one turn does, where it has been tried.
    lever_ratio : float or None
        Turn of the mirror over turn of the lever; an ordinary lever's if not given.
    lever_tilt_rad : float or None
        How far its arm stands off square at infinity, [rad].
    vertical_at_eye : Bounds
        The workshop's limit for one image standing higher than the other, at the eye, [rad].
    """

    base: Base
    focal_m: float
    stop: float
    kind: Kind = "coupled"
    circle: Given = field(default_factory=lambda: circle("135"))
    acuity: Given = field(default_factory=lambda: acuity("practice"))
    reading_dpt: float | None = None
    true_u_m: float = 0.0
    nearest_m: float | None = None
    measured_from: MeasuredFrom = "lens"
    screw_dpt_per_turn: float | None = None
    gain_per_turn: float | None = None
    lever_ratio: float | None = None
    lever_tilt_rad: float | None = None
    vertical_at_eye: Bounds = field(default_factory=vertical_limit)

    def __post_init__(self) -> None:
        if not 0.005 <= self.focal_m <= 2:
            raise RefusedReadings(
                f"A lens of {1e3 * self.focal_m:g} mm is none for a camera. "
                "Give its focal length in mm, such as 50.",
                "focal_mm",
            )
        if self.kind != "screen" and not 0.003 <= self.base.length_m <= 1:
            raise RefusedReadings(
                f"A base of {1e3 * self.base.length_m:g} mm is none for a camera. "
                "Give it in mm, window to window, such as 40.",
                "base_mm",
            )
        if not 0.5 <= self.stop <= 128:
            raise RefusedReadings(f"f/{self.stop:g} is no widest stop. Give such as 2.", "stop")
        for value, what in (
            (self.circle.value, "circle of confusion"),
            (self.acuity.value, "acuity"),
            (self.reading_dpt, "uncertainty of a reading"),
        ):
            if value is not None and not (math.isfinite(value) and value > 0):
                raise RefusedReadings(f"The {what} must be above zero.")
        if not (math.isfinite(self.true_u_m) and self.true_u_m >= 0):
            raise RefusedReadings("The uncertainty of a true distance is zero or above.")
        for turn in (self.screw_dpt_per_turn, self.gain_per_turn):
            if turn is not None and not (math.isfinite(turn) and turn):
                raise RefusedReadings(
                    "What a turn does must not be zero; leave it out where it is not known."
                )

    @property
    def best_dpt(self) -> float:
        """Error of a setting the base allows, [dpt]."""
        return self.base.error_dpt(self.acuity.value)

    @property
    def limit(self) -> Bounds:
        """Depth of focus at the widest stop to either side, N c, [m] (Smith, p. 187; seen)."""
        half = self.stop * self.circle.value
        note = f"depth of focus f/{self.stop:g} times a circle of {1e3 * self.circle.value:g} mm"
        return Bounds(-half, half, "m", self.circle.source, self.circle.mark, note)

    def weight_u(self, true_dpt: float, shown_dpt: float) -> float:
        """Standard uncertainty of a reading there, [dpt]: eye, scale and true distance."""
        beside = (1 - self.focal_m * shown_dpt) ** 2
        scale = self.reading_dpt
        if scale is None:
            scale = practice("scale", "travel_m").value / self.focal_m**2 * beside
        return math.hypot(self.best_dpt, scale, true_dpt**2 * self.true_u_m)

    def at_lens(self, vergence_dpt: float) -> float:
        """A told vergence as the thin lens has it, [dpt]."""
        return from_the_lens(vergence_dpt, self.focal_m, self.measured_from)

    def on_film(self, true_dpt: float, shown: Measured) -> Measured:
        """What a shown vergence does on the film there, [m]."""
        step = 1e-6
        at = self.at_lens(shown.value)
        slope = film_slope(at, self.focal_m) * (self.at_lens(shown.value + step) - at) / step
        return replace(shown.scaled(slope), value=film_error(self.at_lens(true_dpt), at, self.focal_m))

    def allows(self, true_dpt: float) -> BaseAllows:
        """The best the base allows there."""
        at = self.at_lens(true_dpt)
        film = film_slope(at, self.focal_m) * self.best_dpt
        far = None if true_dpt == 0 else range_error(1 / true_dpt, self.base, self.acuity.value)
        return BaseAllows(far, film, film <= self.stop * self.circle.value)
