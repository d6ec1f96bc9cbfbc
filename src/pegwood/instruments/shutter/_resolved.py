"""What a sample rate can time: by how many readings a firing must have while it is open."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

__all__ = ["FEWEST_SAMPLES", "Resolved", "resolved_at"]

FEWEST_SAMPLES = 3.0  # at half height: fewer can't be told from a click (practice)
_SUITED_SAMPLES = 20.0  # while open: fewer, and the place of an edge between two of them is most of the doubt


@dataclass(frozen=True)
class Resolved:
    """
    The fastest speeds a sample rate can time.

    Parameters
    ----------
    sample_rate_hz : float
        Samples per second, [Hz].
    timed_s : float
        Shortest firing that is timed at all, [s].
    suited_s : float
        Shortest that the rate suits, [s].
    """

    sample_rate_hz: float
    timed_s: float
    suited_s: float

    @property
    def timed(self) -> str:
        """The fastest speed that is timed, as dials write it, rounded to the slow side."""
        return f"1/{_round_speed(1 / self.timed_s)} s"

    @property
    def suited(self) -> str:
        """The fastest that the rate suits, likewise."""
        return f"1/{_round_speed(1 / self.suited_s)} s"

    @property
    def rule(self) -> str:
        """By what rule."""
        return (
            f"{FEWEST_SAMPLES:.0f} samples while open to be timed at all, {_SUITED_SAMPLES:.0f} to be timed "
            "well (practice)"
        )

    def too_few(self, open_s: float) -> bool:
        """Whether a firing of that length, [s], has fewer samples than suits it."""
        return open_s < self.suited_s * (1 - 1e-9)

    def about(self, marking: str, open_s: float) -> str:
        """
        What to say of a marked speed.

        Parameters
        ----------
        marking : str
            As on the dial.
        open_s : float
            The time it stands for, [s].

        Returns
        -------
        told : str
            Empty where the rate suits it.
        """
        if not self.too_few(open_s):
            return ""
        samples = open_s * self.sample_rate_hz
        can = "too fast to be timed" if open_s < self.timed_s else "timed coarsely"
        return (
            f"Marked {marking} lasts {samples:.2g} samples at {self.sample_rate_hz:g} samples per second: "
            f"{can}. The fastest speed this rate times is {self.timed}, the fastest it suits {self.suited}: "
            f"{self.rule}. Record {marking} with {_SUITED_SAMPLES / open_s:.6g} samples per second or more."
        )

    def to_json(self) -> dict[str, Any]:
        """The figures as plain data, [s]."""
        return {"timed_s": self.timed_s, "suited_s": self.suited_s, "rule": self.rule}


def resolved_at(sample_rate_hz: float) -> Resolved:
    """
    What a sample rate can time.

    Parameters
    ----------
    sample_rate_hz : float
        Samples per second, above zero, [Hz].

    Returns
    -------
    resolved : Resolved
        Both limits.
    """
    return Resolved(sample_rate_hz, FEWEST_SAMPLES / sample_rate_hz, _SUITED_SAMPLES / sample_rate_hz)


def _round_speed(hertz: float) -> int:
    """A speed with at most two figures, rounded to the slow side."""
    if hertz < 10:
        return max(1, int(hertz))
    scale = 10 ** (math.floor(math.log10(hertz)) - 1)
    return int(hertz // scale * scale)
