"""
MTF50 of a photographed slanted edge (the edge method of ISO 12233 in outline; own method throughout).

The outline of the standard: linear light, a line or low polynomial fitted to the edge, pixels projected along
it into one finely sampled profile, its slope windowed and transformed, one at zero. Here the profile is a
least-squares spline and not bins, so neither bins nor a difference filter needs to be corrected for.
"""

from __future__ import annotations

from pegwood.instruments.focus._finding import Region, find_edge
from pegwood.instruments.focus._measuring import EdgeFigures, measured
from pegwood.instruments.photographs import Photograph
from pegwood.instruments.readings import RefusedReadings

__all__ = ["EdgeFigures", "Region", "measure_edge"]


def measure_edge(photograph: Photograph, region: Region | None = None) -> EdgeFigures:
    """
    Measure the sharpness of an edge in a photograph.

    Parameters
    ----------
    photograph : Photograph
        With a straight edge between plain dark and plain bright, slanted by 2 to 15 degrees against the rows
        or the columns.
    region : Region, optional
        Where to look; the whole picture if not given.

    Returns
    -------
    figures : EdgeFigures
        MTF50 in cycles per pixel along the edge's normal, the pixel's own aperture included.

    Raises
    ------
    RefusedReadings
        If no edge is found or it cannot be measured; one line with the remedy.
    """
    try:
        return measured(photograph.light, find_edge(photograph.light, region), photograph.lossy)
    except RefusedReadings as why:
        text = str(why).rstrip(".")
        raise RefusedReadings(f"{photograph.name}: {text}.") from None
