"""Grades of oils and greases: ISO VG of a viscosity, NLGI of a worked penetration."""

from __future__ import annotations

from pegwood.trade.grounds import Ground

VG_GROUND = Ground("ISO 3448 table: midpoint at 40 °C, limits 10 % either side", "seen")
NLGI_GROUND = Ground("ASTM D217 summary: worked penetration at 25 °C", "seen")

#: ISO 3448 midpoints at 40 degrees C by grade, [mm2/s].
ISO_VG = {
    2: 2.2,
    3: 3.2,
    5: 4.6,
    7: 6.8,
    10: 10.0,
    15: 15.0,
    22: 22.0,
    32: 32.0,
    46: 46.0,
    68: 68.0,
    100: 100.0,
    150: 150.0,
    220: 220.0,
    320: 320.0,
    460: 460.0,
    680: 680.0,
    1000: 1000.0,
    1500: 1500.0,
}
#: Either side of a midpoint, as part of it.
VG_TOLERANCE = 0.10

#: Worked penetration in tenths of a millimetre, both ends within.
NLGI = {
    "000": (445, 475),
    "00": (400, 430),
    "0": (355, 385),
    "1": (310, 340),
    "2": (265, 295),
    "3": (220, 250),
    "4": (175, 205),
    "5": (130, 160),
    "6": (85, 115),
}


def iso_vg(at_40_m2_s: float) -> int | None:
    """
    The ISO VG grade of a kinematic viscosity at 40 degrees C [m2/s], or None between two grades.

    Raises
    ------
    ValueError
        If the viscosity is not above zero.
    """
    viscosity = at_40_m2_s * 1e6
    if not viscosity > 0:
        raise ValueError(f"a viscosity of {viscosity:g} mm²/s cannot be. Give one above zero, such as 32.")
    for grade, middle in ISO_VG.items():
        if middle * (1 - VG_TOLERANCE) <= viscosity * (1 + 1e-9) and viscosity * (1 - 1e-9) <= middle * (
            1 + VG_TOLERANCE
        ):
            return grade
    return None


def nlgi(worked_penetration_m: float) -> str | None:
    """
    The NLGI grade of a worked penetration at 25 degrees C [m], or None between two grades.

    Raises
    ------
    ValueError
        If the penetration is not above zero.
    """
    tenths = worked_penetration_m * 1e4
    if not tenths > 0:
        raise ValueError(
            f"a penetration of {tenths:g} tenths of a millimetre cannot be. Give one such as 280."
        )
    for grade, (least, most) in NLGI.items():
        if least <= round(tenths, 6) <= most:
            return grade
    return None
