"""Figures as people read them: three digits that count, never an exponent."""

from __future__ import annotations

import math

#: The ice point, [K], and the inch, [m]: both by definition.
ZERO_C_K = 273.15
INCH_M = 0.0254


def figure(value: float, digits: int = 3) -> str:
    """
    A number with that many significant digits and no exponent.

    >>> figure(0.30637), figure(4096.3, 3), figure(0.0)
    ('0.306', '4096', '0')
    """
    if value == 0:
        return "0"
    if not math.isfinite(value):
        return f"{value:g}"
    after = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{after}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def mm(metres: float, digits: int = 3) -> str:
    """A length in m, told in mm."""
    return f"{figure(metres * 1000, digits)} mm"


def per_cent(share: float, digits: int = 2) -> str:
    """A share of 1 as a percentage."""
    return f"{figure(share * 100, digits)} %"


def celsius(kelvin: float) -> str:
    """A temperature in K, told in whole °C; never as -0."""
    return f"{round(kelvin - ZERO_C_K):d} °C"
