"""What is known about a firing before it is held against the others of its channel."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.shutter._events import Pulse
from pegwood.instruments.shutter._fitting import Edge
from pegwood.instruments.shutter._noise import Noise
from pegwood.instruments.shutter._ripple import Ripple
from pegwood.instruments.shutter._steady import Span

__all__ = ["Draft", "Level", "Points"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Points:
    """
    Thinned light curve.

    Parameters
    ----------
    t : array, shape (n,)
        Time, [sample].
    y : array, shape (n,)
        Light above the dark level, scaled.
    n_opening : int
        Points that belong to the opening half.
    """

    t: Array
    y: Array
    n_opening: int


@dataclass(frozen=True)
class Level:
    """
    Full-open level of a firing.

    Parameters
    ----------
    value : float
        In the unit of the recording.
    relative_u : float
        Relative standard uncertainty beyond the noise of the plateau, [-].
    kind : "plateau", "others" or "peak"
        Seen on its own plateau, taken from other firings, or merely its own peak.
    note : str
        For the budget.
    """

    value: float
    relative_u: float
    kind: str
    note: str = ""


@dataclass
class Draft:
    """
    A firing with everything measured that needs no other firing.

    Times are in samples of the recording; exposures in samples of full light on the scale of the window.
    """

    pulse: Pulse
    is_whole: bool  # the pulse was read whole, and one plateau serves both edges
    resolution: float  # smallest step of the readings, scaled
    above_half: float  # samples from the first to the last above half of the level
    points: Points
    opening: Edge
    closing: Edge
    noise: Noise
    has_plateau: bool
    peak: float
    mean: float  # of the light when fully open, scaled
    levels: tuple[float, float]  # full-open level beside the opening and the closing edge, scaled
    n_level: tuple[int, int]
    level_doubts: tuple[float, float]  # relative, by a light that wavers
    edge_sums: tuple[float, float]  # exposure of each edge, scaled
    n_edge: tuple[int, int]
    n_plateau: int
    dark: tuple[Span, Span]  # whose mean is the dark level before and after; empty where there is none
    lit_ratio: float  # noise variance in the light over that in darkness
    ripple: float  # relative rms of what the light does while fully open, beyond noise
    swell: float  # amplitude of a lamp on mains that a short plateau shows, relative
    sudden: float  # amplitude of jumps and valleys of the light, relative
    bounce_peak: float  # relative
    clipped: bool
    quiet: tuple[float, float, int]  # variance in full light and in darkness, scaled, of so many readings
    undershoot: float  # of full light, positive below the dark level after closing
    undershoot_u: float
    off_line: float  # the part of it that a dark level drifting evenly does not explain
    bounce: float  # exposure after closing, scaled
    bounce_end: float | None
    n_bounce: int  # readings that this is the sum of
    stray: float  # exposure inside the pulse but outside of what was integrated, scaled
    bent: float  # relative difference of the light in the middle of a long firing from that beside its edges
    divided: Ripple | None = None  # ripple of the lamp that was divided out
    refusal: str = ""
    warnings: list[str] = field(default_factory=list)

    @property
    def dark_weight(self) -> tuple[int, int]:
        """Readings behind the dark level before and after."""
        before, after = (stop - start for start, stop in self.dark)
        return before, after

    @property
    def flicker(self) -> float:
        """Amplitude of the lamp's flicker over its mean, by whichever sign of it is strongest, [-]."""
        return max(2**0.5 * self.ripple, self.swell, self.sudden)

    @property
    def raw_level(self) -> float:
        """Full-open level in the unit of the recording."""
        own = self.mean if self.has_plateau else self.peak
        return own * self.pulse.height
