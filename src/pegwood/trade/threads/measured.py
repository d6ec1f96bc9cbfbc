"""What was measured of a screw, with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pegwood.trade.threads.rows import Crest

#: As a calliper and a careful hand give them, where nothing else is said.
U_DIAMETER_M = 0.02e-3
U_PITCH_SHARE = 0.02
U_ANGLE_DEG = 2.0

SMALLEST_M, LARGEST_M = 0.2e-3, 13e-3


@dataclass(frozen=True, kw_only=True)
class Measured:
    """
    A screw as measured.

    Attributes
    ----------
    diameter_m, pitch_m : float
        Outside diameter over the crests, and pitch, [m].
    u_diameter_m, u_pitch_m : float
        Their standard uncertainties, [m].
    angle_deg : float, optional
        Angle between the flanks, [degree].
    u_angle_deg : float
        Its standard uncertainty, [degree].
    crest : str, optional
        ``"flat"`` or ``"rounded"``.

    Raises
    ------
    ValueError
        If a figure cannot be one of a camera's screw.
    """

    diameter_m: float
    pitch_m: float
    u_diameter_m: float = U_DIAMETER_M
    u_pitch_m: float
    angle_deg: float | None = None
    u_angle_deg: float = U_ANGLE_DEG
    crest: Crest | None = None

    def __post_init__(self) -> None:
        if not SMALLEST_M <= self.diameter_m <= LARGEST_M:
            raise ValueError(
                f"An outside diameter of {self.diameter_m * 1e3:g} mm is outside the tables. "
                "Give millimetres from 0.2 to 13, such as 2.48."
            )
        if not 0.02 * self.diameter_m <= self.pitch_m <= 0.5 * self.diameter_m:
            raise ValueError(
                f"A pitch of {self.pitch_m * 1e3:g} mm does not go with a diameter of "
                f"{self.diameter_m * 1e3:g} mm. Give the outside diameter first, then the pitch, "
                "both in millimetres, such as 2.48 0.45."
            )
        for what, u, whole in (
            ("diameter", self.u_diameter_m, self.diameter_m),
            ("pitch", self.u_pitch_m, self.pitch_m),
        ):
            if not (math.isfinite(u) and 0 < u <= 0.3 * whole):
                raise ValueError(
                    f"An uncertainty of {u * 1e3:g} mm in the {what} of {whole * 1e3:g} mm tells nothing. "
                    "Give one above zero and under three tenths of it."
                )
        if self.angle_deg is not None and not 35 <= self.angle_deg <= 75:
            raise ValueError(
                f"A flank angle of {self.angle_deg:g} degrees is no thread's of the tables. "
                "Give the whole angle between two flanks, such as 60."
            )
        if not 0 < self.u_angle_deg <= 15:
            raise ValueError(
                f"An uncertainty of {self.u_angle_deg:g} degrees in the angle. Give one above zero, up to 15."
            )
        if self.crest not in (None, "flat", "rounded"):
            raise ValueError(f"{self.crest!r} is no form of crest. Give flat or rounded.")


def pitch_of_turns(turns: float, length_m: float, u_length_m: float) -> tuple[float, float]:
    """
    Pitch and its standard uncertainty, [m], from the length of several turns.

    Raises
    ------
    ValueError
        If turns or length are not above zero.
    """
    if not (turns > 0 and length_m > 0 and u_length_m > 0):
        raise ValueError(
            f"{turns:g} turns over {length_m * 1e3:g} mm. Give the turns between two crests and the length "
            "over them, both above zero, such as 10 turns over 4.5 mm."
        )
    return length_m / turns, u_length_m / turns
