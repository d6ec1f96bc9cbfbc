"""How large a pixel is at the lens: told, or from two points a known length apart."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pegwood.instruments.iris.practice import Practice
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component

__all__ = ["Scale"]


@dataclass(frozen=True)
class Scale:
    """
    Metres in a pixel, and how well that is known.

    Parameters
    ----------
    m_per_px : float
        [m].
    components : tuple of Component
        Relative standard uncertainties, [-].
    """

    m_per_px: float
    components: tuple[Component, ...]

    @classmethod
    def told(cls, mm_per_px: float, u_rel: float | None, known: Practice) -> Scale:
        """
        A scale somebody knows.

        Parameters
        ----------
        mm_per_px : float
            [mm].
        u_rel : float or None
            Its relative standard uncertainty; the table's where nobody says.
        known : Practice
            What is taken as given.

        Returns
        -------
        scale : Scale

        Raises
        ------
        RefusedReadings
            If it can't be.
        """
        if not (math.isfinite(mm_per_px) and 1e-6 < mm_per_px < 10):
            raise RefusedReadings(f"A scale of {mm_per_px:g} mm in a pixel can't be. Write such as 0.025.")
        return cls(mm_per_px / 1000, (_scale_line(u_rel, known),))

    @classmethod
    def between(
        cls, points: tuple[float, float, float, float], mm: float, u_rel: float | None, known: Practice
    ) -> Scale:
        """
        From two points of the picture.

        Parameters
        ----------
        points : (float, float, float, float)
            x and y of both, [pixel].
        mm : float
            How far they are apart at the lens, [mm].
        u_rel : float or None
            Relative standard uncertainty of that length; the table's where nobody says.
        known : Practice
            How well a point is pointed at.

        Returns
        -------
        scale : Scale

        Raises
        ------
        RefusedReadings
            If the points lie together or the length is not above zero.
        """
        distance = math.hypot(points[2] - points[0], points[3] - points[1])
        if not (math.isfinite(distance) and distance >= 20):
            raise RefusedReadings(
                "The two points of the scale are less than 20 pixels apart. Take two that lie far apart."
            )
        if not (math.isfinite(mm) and 0 < mm < 10_000):
            raise RefusedReadings(f"A length of {mm:g} mm between two points can't be. Write it in mm.")
        given = known["scale.point_px"]
        pointed = given.component(
            "points of the scale", math.sqrt(2) * given.value / distance, f"{distance:.0f} pixels apart"
        )
        return cls(mm / 1000 / distance, (_scale_line(u_rel, known), pointed))


def _scale_line(u_rel: float | None, known: Practice) -> Component:
    if u_rel is not None:
        if not (math.isfinite(u_rel) and 0 <= u_rel < 0.5):
            raise RefusedReadings(f"{u_rel:g} is no relative uncertainty of a scale. Write 0.002 for 0.2 %.")
        return Component("scale", u_rel, note="as told")
    given = known["scale.u_rel"]
    return given.component("scale", given.value, "nobody said how well it is known: tell it with the scale")
