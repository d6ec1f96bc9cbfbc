"""From a recording of a light gate to effective exposure times with their uncertainty."""

from __future__ import annotations

from collections.abc import Callable

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter.marked import MarkedSpeed, Reading
from pegwood.instruments.shutter.results import ShutterResult
from pegwood.instruments.verdicts import Limit

__all__ = ["analyse"]


def analyse(
    recording: Recording,
    *,
    marked: MarkedSpeed | None = None,
    reading: Reading = "exact",
    limit: Limit | None = None,
    progress: Callable[[float], None] | None = None,
) -> ShutterResult:
    """
    Find the firings in a recording and measure each.

    Parameters
    ----------
    recording : Recording
        What the light gate gave.
    marked : MarkedSpeed, optional
        What the dial said.
    reading : "exact" or "as marked"
        How the marking is read.
    limit : Limit, optional
        The workshop's limit for this shutter and marking.
    progress : callable, optional
        Called with the fraction done, 0 to 1.

    Returns
    -------
    result : ShutterResult
        No firing found is an empty list and a warning.
    """
    raise NotImplementedError
