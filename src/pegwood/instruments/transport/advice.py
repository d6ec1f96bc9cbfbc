"""What spacing, scatter and trend say of a transport, and what to do; habit of the trade (practice)."""

from __future__ import annotations

from dataclasses import replace

from pegwood.instruments.transport.results import TransportResult
from pegwood.instruments.uncertainty import Measured

__all__ = ["advice_of"]


def _beyond_zero(figure: Measured | None) -> bool:
    if figure is None:
        return False
    low, high = figure.coverage_interval(0.95)
    return low > 0 or high < 0


def advice_of(result: TransportResult) -> TransportResult:
    """
    The same result with its advice.

    Parameters
    ----------
    result : TransportResult

    Returns
    -------
    result : TransportResult
    """
    out = []
    perforated = result.film.ruler == "perforations"
    if result.overlaps:
        out.append(
            "Frames lie over each other. Look whether the film was on the sprocket at all, whether the "
            "rewind release "
            "comes back, then at the pawl and the sprocket's clutch; with a sound drive it is the loading."
        )
    if result.scatter_verdict == "outside":
        out.append(
            "Spacing scatters: the sprocket is not stopped at the same place. Look at the stop pawl, its "
            "spring and "
            "notch, and at slack in the sprocket's shaft." if perforated else
            "Spacing scatters: look at the stop of the winding gear and its pawl, and at slack on the "
            "take-up spool."
        )  # fmt: skip
    if _beyond_zero(result.trend) and result.trend is not None:
        way = "grows" if result.trend.value > 0 else "shrinks"
        out.append(
            f"Spacing {way} along the strip. A sprocket drives evenly; where spacing grows with the "
            f"spool, the "
            "take-up pulls the film along: check its clutch." if perforated else
            f"Spacing {way} along the strip: the gear that allows for the growing spool is worn or set "
            f"wrongly."
        )  # fmt: skip
    if result.verdict == "outside" and result.pitch is not None and not result.overlaps:
        off = "wide" if result.pitch.value > result.film.spacing_m else "narrow"
        out.append(
            f"Spacing is {off} but even: count the holes the sprocket moves for a stroke; a wrong tooth "
            f"in reassembly "
            "or a worn stop." if perforated else f"Spacing is {off}: look at the winding gear's stop."
        )  # fmt: skip
    if result.lean_verdict == "outside":
        out.append(
            "The gate's edges are not square to the film: look at how the gate or the body's rails sit, "
            "and whether "
            "the film runs straight between its guides."
        )
    for line in result.scratches:
        bare = "clear" if line.density < 0 else "dark"
        side = (
            "emulsion: look at gate, rails, sprocket"
            if line.density < 0
            else "back: look at the pressure plate"
        )
        cassette = " and the felt of the cassette" if line.density < 0 else " and its rollers"
        out.append(
            f"A {bare} scratch runs {1e3 * line.from_top.value:.1f} mm from the upper edge as scanned. "
            f"On a negative "
            f"a {bare} line is most often on the {side}{cassette}. Turn the film in slanting light to be "
            f"sure."
        )
    return replace(result, advice=tuple(out))
