"""What a rangefinder's readings tell, as frozen values and as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from pegwood.instruments.rangefinder._plain import as_plain_data
from pegwood.instruments.rangefinder.base import Base
from pegwood.instruments.rangefinder.lever import Lever, Rounds
from pegwood.instruments.rangefinder.rounds import MeasuredRounds
from pegwood.instruments.rangefinder.vertical import Vertical
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Bounds

__all__ = [
    "AtDistance",
    "BaseAllows",
    "CurvePoint",
    "FinderVerdict",
    "Kind",
    "Point",
    "RangefinderResult",
    "Turn",
    "Turning",
]

Kind = Literal["coupled", "uncoupled", "screen"]
"""Coupled to the lens; read off a scale of its own; a split-image screen."""

FinderVerdict = Literal["within", "outside", "too close to call", "not to be had", "no limit given"]
"""A verdict of the house, or that no finder with this base can hold the limit."""


@dataclass(frozen=True)
class Point:
    """
    One reading.

    Parameters
    ----------
    true_dpt, shown_dpt, u_dpt : float
        And the uncertainty by which it is weighed, [dpt].
    residual_dpt : float or None
        Reading less curve, [dpt].
    film_error_m : float
        What this one reading alone would put on the film, [m].
    """

    true_dpt: float
    shown_dpt: float
    u_dpt: float
    residual_dpt: float | None
    film_error_m: float


@dataclass(frozen=True)
class CurvePoint:
    """
    The fitted curve at a distance.

    Parameters
    ----------
    true_dpt, shown_dpt, low_dpt, high_dpt : float
        With the ends of its 95 % interval, [dpt].
    film_error_m, film_low_m, film_high_m : float
        The same on the film, [m].
    base_film_m : float
        What a setting by eye with this base is uncertain by, on the film, [m].
    """

    true_dpt: float
    shown_dpt: float
    low_dpt: float
    high_dpt: float
    film_error_m: float
    film_low_m: float
    film_high_m: float
    base_film_m: float


@dataclass(frozen=True)
class BaseAllows:
    """
    What no turning improves: the error of a single setting by eye.

    Parameters
    ----------
    range_m : float or None
        As a distance, by the handbook's u^2 theta / (B M), [m]; None at infinity.
    film_m : float
        On the film, [m].
    to_be_had : bool
        Whether the limit is wider than that.
    """

    range_m: float | None
    film_m: float
    to_be_had: bool


@dataclass(frozen=True)
class AtDistance:
    """
    What holds at one true distance.

    Parameters
    ----------
    true_dpt : float
        [dpt]; zero at infinity.
    n : int
        Readings there.
    error : Measured or None
        Fitted, shown less true, [dpt].
    film_error : Measured or None
        [m]; positive stands too far out.
    verdict : str
    allows : BaseAllows
    """

    true_dpt: float
    n: int
    error: Measured | None
    film_error: Measured | None
    verdict: FinderVerdict
    allows: BaseAllows


@dataclass(frozen=True)
class Turn:
    """
    One thing to turn.

    Parameters
    ----------
    what : str
        "vertical", "infinity screw", "gain" or "screen".
    direction : str
        In words.
    by_dpt : float or None
        Change wanted of what is shown: at infinity, or at the nearest distance for the gain, [dpt].
    travel_m : float or None
        The same as lens travel, [m].
    mirror_rad : float or None
        Turn of the mirror that does it, [rad].
    at_eye_rad : float or None
        How far the images move apart, as seen through the finder, [rad].
    ratio : float or None
        For the gain: what to multiply the lens's travel for a given turn of the mirror with, [-].
    turns : float or None
        Turns of the screw, where the effect of one was told, [-].
    """

    what: Literal["vertical", "infinity screw", "gain", "screen"]
    direction: str
    by_dpt: float | None = None
    travel_m: float | None = None
    mirror_rad: float | None = None
    at_eye_rad: float | None = None
    ratio: float | None = None
    turns: float | None = None


@dataclass(frozen=True)
class Turning:
    """
    Both adjusters turned to and fro on a lever, simulated.

    Parameters
    ----------
    lever : Lever
        As it stands by the readings.
    given : bool
        Whether its figures were told, or are those of an ordinary one.
    source, mark : str
        Of those figures.
    infinity_moves_dpt : float
        What setting the gain right does to the reading at infinity, [dpt].
    best, other : Rounds
        The order of turning that closes in faster, and the other one.
    overshoot : float or None
        How far past right to turn the gain in the better order, as a share of that end's error, so that one
        round is enough, [-].
    """

    lever: Lever
    given: bool
    source: str
    mark: str
    infinity_moves_dpt: float
    best: Rounds
    other: Rounds
    overshoot: float | None


@dataclass(frozen=True)
class RangefinderResult:
    """
    What the readings tell.

    Parameters
    ----------
    offset : Measured or None
        Shown vergence at infinity, [dpt]; positive shows infinity as near.
    gain : Measured or None
        Shown dioptres for each true one, from infinity to the nearest distance; 1 is right, [-].
    curvature : Measured or None
        Bow of the curve, [1/dpt]: shown = offset + gain true + curvature true (true - nearest).
    bowed : bool
        Whether it is part of the curve.
    film_error : tuple of Measured or None, shape (n_readings,)
        At the true distance of each reading, in their order, [m]; positive stands too far out.
    limit : Bounds
        Depth of focus, [m].
    verdict : str
        Of the worst distance.
    distances : tuple of AtDistance
        Each true distance once, infinity first.
    points : tuple of Point
    curve : tuple of CurvePoint
    base : Base
    acuity : tuple of (float, str, str)
        [rad] at the eye, source, mark.
    best_dpt : float
        Error of a setting the base allows, [dpt].
    stop_to_be_had : float
        Smallest f-number at which the base is enough at every distance read, [-].
    turns : tuple of Turn
        What to turn, in this order.
    advice, warnings, notes : tuple of str
    vertical : Vertical or None
    turning : Turning or None
    measured_rounds : MeasuredRounds or None
    """

    offset: Measured | None
    gain: Measured | None
    curvature: Measured | None
    bowed: bool
    film_error: tuple[Measured | None, ...]
    limit: Bounds
    verdict: FinderVerdict
    distances: tuple[AtDistance, ...]
    points: tuple[Point, ...]
    curve: tuple[CurvePoint, ...]
    base: Base
    acuity: tuple[float, str, str]
    best_dpt: float
    stop_to_be_had: float
    turns: tuple[Turn, ...]
    advice: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    vertical: Vertical | None = None
    turning: Turning | None = None
    measured_rounds: MeasuredRounds | None = None

    def to_json(self) -> dict[str, Any]:
        """The result as plain data, as the schema ``measure.rangefinder`` describes it."""
        return as_plain_data(self)
