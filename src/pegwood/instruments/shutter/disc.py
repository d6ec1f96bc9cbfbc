"""
A torch behind a turning disc with a slot: a shutter whose open share follows from a ruler.

The disc tests a whole chain (lamp, sensor, input, analysis) without reference gear, for the share of a turn
during which light passes does not depend on how fast the disc turns.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from pegwood.instruments.uncertainty import Measured, propagate

__all__ = ["Disc"]


@dataclass(frozen=True)
class Disc:
    """
    A disc with one slot that runs to its middle line, before a round window.

    Parameters
    ----------
    slot : Measured
        Width of the slot between its parallel sides, [m].
    radius : Measured
        From the axis to the middle of the window, [m].
    window : Measured
        Diameter of the round hole before the sensor, [m]; smaller than the slot.

    Raises
    ------
    ValueError
        If such a disc can't be, or its window is never wholly uncovered.

    Notes
    -----
    The middle of the window lies at r sin(a) from the slot's middle line when the disc has turned by a. A
    side of the slot, at s/2 from that line, touches the round window of diameter w where r sin(a) = (s + w)/2
    and leaves it where r sin(a) = (s - w)/2. A point at distance q from the axis is lit over 2 asin(s / 2q);
    averaged over the window to second order this is 2 asin(s / 2r) (1 + w^2 / 32 r^2).
    """

    slot: Measured
    radius: Measured
    window: Measured

    def __post_init__(self) -> None:
        s, r, w = self.slot.value, self.radius.value, self.window.value
        if not min(s, r, w) > 0:
            raise ValueError("Slot, radius and window must all be above zero")
        if w >= s:
            raise ValueError(
                f"A window of {1e3 * w:g} mm is never wholly uncovered by a slot of {1e3 * s:g} mm: "
                "make the window smaller"
            )
        if s + w >= r:
            raise ValueError(
                f"A slot of {1e3 * s:g} mm is too wide for a radius of {1e3 * r:g} mm: use a larger disc"
            )

    def effective_share(self) -> Measured:
        """
        Effective time over the time of a turn.

        Returns
        -------
        share : Measured
            [-].
        """
        gtc = _gtc()

        def share(slot: Any, radius: Any, window: Any) -> Any:
            return gtc.asin(slot / (2 * radius)) / math.pi * (1 + window**2 / (32 * radius**2))

        return propagate(share, self._inputs())

    def total_share(self) -> Measured:
        """
        Time from first to last light over the time of a turn.

        Returns
        -------
        share : Measured
            [-].
        """
        gtc = _gtc()

        def share(slot: Any, radius: Any, window: Any) -> Any:
            return gtc.asin((slot + window) / (2 * radius)) / math.pi

        return propagate(share, self._inputs())

    def efficiency(self) -> Measured:
        """
        Effective over total time.

        Returns
        -------
        efficiency : Measured
            [-].
        """
        gtc = _gtc()

        def ratio(slot: Any, radius: Any, window: Any) -> Any:
            effective = gtc.asin(slot / (2 * radius)) * (1 + window**2 / (32 * radius**2))
            return effective / gtc.asin((slot + window) / (2 * radius))

        return propagate(ratio, self._inputs())

    def _inputs(self) -> dict[str, Measured]:
        return {"slot": self.slot, "radius": self.radius, "window": self.window}


def _gtc() -> Any:
    import GTC

    return GTC
