"""
Viscosity against temperature: the straight line of ASTM D341 (Walther) through two points, and the viscosity
index of ASTM D2270 by which one point and an index make two.

log10 log10 (v + 0.7) = A - B log10 T, v in mm2/s and T in kelvin; for v of 2 mm2/s and more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from pegwood.trade.numbers import celsius

MM2 = 1e-6
FORTY_K, HUNDRED_K = 313.15, 373.15
LEAST_M2_S = 2.0 * MM2

#: ASTM D2270, appendix X2: from which viscosity at 100 degrees C [mm2/s] the quadratics hold, then a, b, c of
#: L = a Y2 + b Y + c and of H; the last row is that of the standard's text.
_QUADRATICS = (
    (2.0, (1.14673, 1.7576, -0.109), (0.84155, 1.5521, -0.077)),
    (3.8, (3.38095, -15.4952, 33.196), (0.78571, 1.7929, -0.183)),
    (4.4, (2.5000, -7.2143, 13.812), (0.82143, 1.5679, 0.119)),
    (5.0, (0.10100, 16.6350, -45.469), (0.04985, 9.1613, -18.557)),
    (6.4, (3.35714, -23.5643, 78.466), (0.22619, 7.7369, -16.656)),
    (7.0, (0.01191, 21.4750, -72.870), (0.79762, -0.7321, 14.61)),
    (7.7, (0.41858, 16.1558, -56.040), (0.05794, 10.5156, -28.240)),
    (9.0, (0.88779, 7.5527, -16.600), (0.26665, 6.7015, -10.810)),
    (12.0, (0.76720, 10.7972, -38.180), (0.20073, 8.4658, -22.490)),
    (15.0, (0.97305, 5.3135, -2.200), (0.28889, 5.9741, -4.930)),
    (18.0, (0.97256, 5.2500, -0.980), (0.24504, 7.4160, -16.730)),
    (22.0, (0.91413, 7.4759, -21.820), (0.20323, 9.1267, -34.230)),
    (28.0, (0.87031, 9.7157, -50.770), (0.18411, 10.1015, -46.750)),
    (40.0, (0.84703, 12.6752, -133.310), (0.17029, 11.4866, -80.620)),
    (55.0, (0.85921, 11.1009, -83.190), (0.17130, 11.3680, -76.940)),
    (70.0, (0.8353, 14.67, -216.0), (0.1684, 11.85, -97.0)),
)


class TooThin(ValueError):
    """A viscosity below what the equation holds for."""


@dataclass(frozen=True)
class Walther:
    """
    The line of an oil.

    Attributes
    ----------
    a, b : float
        Its constants, for kelvin and mm2/s, [-].
    """

    a: float
    b: float

    @classmethod
    def through(cls, first: tuple[float, float], second: tuple[float, float]) -> Walther:
        """
        The line through two measured points.

        Parameters
        ----------
        first, second : tuple of float
            Kinematic viscosity [m2/s] and temperature [K].

        Raises
        ------
        ValueError
            If a viscosity is below 2 mm2/s, the temperatures are the same, or the oil is no thinner when
            warmer.
        """
        (cold_v, cold_t), (warm_v, warm_t) = sorted((first, second), key=lambda point: point[1])
        for viscosity, temperature in (first, second):
            check_temperature(temperature)
            if not viscosity >= LEAST_M2_S * (1 - 1e-9):
                raise TooThin(
                    f"{viscosity / MM2:.3g} mm²/s: the equation of ASTM D341 holds from 2 mm²/s upwards."
                )
        if warm_t - cold_t < 1.0 or warm_v >= cold_v:
            raise ValueError(
                "An oil is thinner when it is warmer: give two temperatures, such as 32 "
                "mm²/s at 40 °C and 5.4 at 100 °C."
            )
        cold, warm = _left(cold_v), _left(warm_v)
        b = (cold - warm) / (math.log10(warm_t) - math.log10(cold_t))
        return cls(a=cold + b * math.log10(cold_t), b=b)

    def at(self, temperature_k: float) -> float:
        """
        Kinematic viscosity at a temperature [K], [m2/s].

        Raises
        ------
        ValueError
            If it comes out below 2 mm2/s, or the temperature is none that a camera meets.
        """
        check_temperature(temperature_k)
        exponent = self.a - self.b * math.log10(temperature_k)
        if exponent > 1.2:  # 10^10^1.2, thicker than pitch
            raise ValueError("So cold it is no liquid any more: the equation says nothing.")
        viscosity = (10 ** (10**exponent) - 0.7) * MM2
        if viscosity < LEAST_M2_S:
            raise TooThin(
                f"{viscosity / MM2:.2g} mm²/s at {celsius(temperature_k)}: the equation of ASTM "
                "D341 holds from 2 mm²/s upwards."
            )
        return viscosity


def _left(viscosity_m2_s: float) -> float:
    return math.log10(math.log10(viscosity_m2_s / MM2 + 0.7))


def check_temperature(temperature_k: float) -> None:
    """
    Refuse a temperature [K] that no oil in a camera meets.

    Raises
    ------
    ValueError
        If it is outside -73 to 177 degrees C.
    """
    if not 200.0 <= temperature_k <= 450.0:
        raise ValueError(
            f"{celsius(temperature_k)} is no temperature for an oil in a camera. Give one such as -10 °C."
        )


def viscosity_index(at_40_m2_s: float, at_100_m2_s: float) -> float:
    """
    Viscosity index by ASTM D2270, [-]: how little an oil thickens in the cold; 95 for plain mineral oils.

    Parameters
    ----------
    at_40_m2_s, at_100_m2_s : float
        Kinematic viscosity at 40 and at 100 degrees C, [m2/s].

    Raises
    ------
    ValueError
        If the oil is thinner than 2 mm2/s at 100 degrees C, or no thinner there than at 40.
    """
    u, y = at_40_m2_s / MM2, at_100_m2_s / MM2
    if not y >= 2.0:
        raise TooThin(f"{y:.3g} mm²/s at 100 °C: the viscosity index is defined from 2 mm²/s upwards.")
    if u <= y:
        raise ValueError("An oil is thinner at 100 °C than at 40 °C: look which figure is which.")
    low, high = _bounds(y)
    if u >= high:
        return (low - u) / (low - high) * 100
    return float((10 ** (math.log10(high / u) / math.log10(y)) - 1) / 0.00715 + 100)


def _bounds(y: float) -> tuple[float, float]:
    """L and H of the standard for a viscosity at 100 degrees C, [mm2/s]."""
    row = max((one for one in _QUADRATICS if one[0] <= y), key=lambda one: one[0])
    low, high = ((a * y + b) * y + c for a, b, c in row[1:])
    return low, high


@lru_cache(maxsize=256)  # solved by bisection, and one answer asks for the same oil a dozen times
def from_index(at_40_m2_s: float, index: float) -> Walther:
    """
    The line of an oil from its viscosity at 40 degrees C and its viscosity index.

    Parameters
    ----------
    at_40_m2_s : float
        [m2/s]
    index : float
        By ASTM D2270, [-].

    Raises
    ------
    ValueError
        If no oil of 2 mm2/s or more at 100 degrees C has that index, or the index is outside -60 to 400.
    """
    if not -60 <= index <= 400:
        raise ValueError(f"a viscosity index of {index:g} is not met with. Give one such as 95.")
    thin, thick = 2.0 * MM2, at_40_m2_s * (1 - 1e-6)
    if thick <= thin or not viscosity_index(at_40_m2_s, thin) <= index <= viscosity_index(at_40_m2_s, thick):
        raise TooThin(
            f"{at_40_m2_s / MM2:.3g} mm²/s at 40 °C with an index of {index:g} is below 2 "
            "mm²/s at 100 °C, where "
            "the index is not defined. Give two points instead."
        )
    for _ in range(60):  # the index grows with the viscosity at 100 degrees C
        middle = (thin + thick) / 2
        if viscosity_index(at_40_m2_s, middle) < index:
            thin = middle
        else:
            thick = middle
    return Walther.through((at_40_m2_s, FORTY_K), ((thin + thick) / 2, HUNDRED_K))
