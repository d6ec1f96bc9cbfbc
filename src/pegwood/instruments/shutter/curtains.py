"""Two curtains across a gate: where the sensors sit, and what they say."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import Any, Literal

from pegwood.instruments.plain_data import budget_of, figure, plain
from pegwood.instruments.shutter._kinematics import shadow_width
from pegwood.instruments.shutter._passing import Capping, RefusedCurtains
from pegwood.instruments.uncertainty import Measured

__all__ = ["Curtains", "Firing", "Flash", "Place", "RefusedCurtains", "Sensors", "places_from_mm"]

PLACE_U_M = 0.2e-3 / 3**0.5
"""Standard uncertainty of a sensor's place, [m]: set by a rule to 0.2 mm (practice)."""
_GREATEST_GATE_M = 0.3
_GREATEST_GAP_M = 0.02


def places_from_mm(text: str) -> tuple[float, ...]:
    """
    Places of sensors as somebody writes them down.

    Parameters
    ----------
    text : str
        In mm, such as ``"0, 18, 36"``; between semicolons a comma is a decimal one: ``"0; 17,5; 36"``.

    Returns
    -------
    places : tuple of float
        [m]

    Raises
    ------
    RefusedCurtains
        If one of them is no number.
    """
    written = text.replace(",", ".").split(";") if ";" in text else text.replace(",", " ").split()
    try:
        return tuple(float(place) / 1e3 for place in written)
    except ValueError:
        raise RefusedCurtains(f"Can't read the places {text!r}: write them in mm, as 0,18,36") from None


@dataclass(frozen=True, kw_only=True)
class Sensors:
    """
    Where the sensors sit, and what is known of the gate.

    Parameters
    ----------
    places_m : tuple of float, shape (n,)
        Middle of each sensor along the travel, one for each channel in their order, from the side from which
        the curtains start, rising, [m]; n is 2 or 3.
    gate_m : float, optional
        Length of the gate along the travel, [m]; it begins at place 0. Without it the outermost sensors are
        taken for the gate's ends.
    sensor_m : float, optional
        Length of a sensor's window along the travel, [m].
    gap_m, f_number : float, optional
        Curtain to film, [m], and stop, [-], for the shadow of the edges; both or neither.
    place_u_m : float
        Standard uncertainty of each place, [m].

    Raises
    ------
    RefusedCurtains
        If the numbers can't be those of a gate.
    """

    places_m: tuple[float, ...]
    gate_m: float | None = None
    sensor_m: float | None = None
    gap_m: float | None = None
    f_number: float | None = None
    place_u_m: float = PLACE_U_M

    def __post_init__(self) -> None:
        places = self.places_m
        shown = ", ".join(f"{1e3 * x:g}" for x in places)
        if len(places) not in (2, 3):
            raise RefusedCurtains(
                f"Two or three places are needed, in mm, such as 0,18,36; not {shown or 'none'}"
            )
        if not all(a < b for a, b in itertools.pairwise(places)) or not places[0] >= 0:
            raise RefusedCurtains(
                f"The places must rise from 0 or more along the travel, such as 0,18,36 (mm); not {shown}"
            )
        if not places[-1] <= _GREATEST_GATE_M:
            raise RefusedCurtains(f"No gate is {1e3 * places[-1]:g} mm long: give the places in mm")
        if self.gate_m is not None and not places[-1] <= self.gate_m <= _GREATEST_GATE_M:
            raise RefusedCurtains(
                f"The gate must reach to the last sensor, {1e3 * places[-1]:g} mm, and have at most "
                f"{1e3 * _GREATEST_GATE_M:g} mm; not {1e3 * self.gate_m:g} mm"
            )
        nearest = min(b - a for a, b in itertools.pairwise(places))
        if self.sensor_m is not None and not 0 < self.sensor_m < nearest:
            raise RefusedCurtains(
                f"A sensor's window of {1e3 * self.sensor_m:g} mm does not fit sensors {1e3 * nearest:g} mm "
                "apart"
            )
        if (self.gap_m is None) != (self.f_number is None):
            raise RefusedCurtains(
                "The shadow of the curtains needs both the distance from curtain to film and the stop"
            )
        if self.gap_m is not None and not 0 <= self.gap_m <= _GREATEST_GAP_M:
            raise RefusedCurtains(
                f"A curtain runs 0 to {1e3 * _GREATEST_GAP_M:g} mm before the film, not {1e3 * self.gap_m:g} "
                "mm"
            )
        if self.f_number is not None and not 0.5 <= self.f_number <= 512:
            raise RefusedCurtains(f"A stop lies between f/0.5 and f/512, not at {self.f_number:g}")

    @property
    def ends_m(self) -> tuple[float, float]:
        """Both ends of the gate, [m]."""
        if self.gate_m is None:
            return self.places_m[0], self.places_m[-1]
        return 0.0, self.gate_m

    @property
    def shadow_m(self) -> float | None:
        """Width of the shadow of an edge on the film, [m]."""
        if self.gap_m is None or self.f_number is None:
            return None
        return shadow_width(self.gap_m, self.f_number)


@dataclass(frozen=True)
class Place:
    """
    What one sensor says, over all firings.

    Parameters
    ----------
    at_m : float
        Its place along the travel, [m].
    channel : int or None
        Its channel; None where one sensor was moved.
    effective : Measured or None
        Effective exposure time there, [s].
    first_speed, second_speed : Measured or None
        Speed of each curtain there, [m/s].
    slit : Measured or None
        Width of the slit while its middle passes, [m]; None where there is none: the gate stands wholly open.
    slit_efficiency : Measured or None
        Effective over total time of a point on the film there, behind the lens at the stop given, [-].
    opens, closes : Measured or None
        When the first and the second curtain pass, from when the first passes the first place, [s].
    """

    at_m: float
    channel: int | None
    effective: Measured | None
    first_speed: Measured | None = None
    second_speed: Measured | None = None
    slit: Measured | None = None
    slit_efficiency: Measured | None = None
    opens: Measured | None = None
    closes: Measured | None = None


@dataclass(frozen=True)
class Flash:
    """
    Whether flash covers the gate.

    Parameters
    ----------
    shortest : Measured
        Travel time of the first curtain over the whole gate, [s]: the shortest time open, where the curtains
        start, for which the first is across before the second starts.
    marked : str or None
        The fastest marking of the doubling series whose time is longer, with 97.5 % confidence.
    wholly_open : Measured
        From the first curtain's arrival to the second one's start in this recording, [s]; negative where
        there is a slit.
    covers : "yes", "no" or "too close to call"
        Whether flash covers the gate at the speed of this recording.
    across, starts : Measured
        When the first curtain has crossed the gate and when the second one starts, from when the first passes
        the first place, [s].
    """

    shortest: Measured
    marked: str | None
    wholly_open: Measured
    covers: Literal["yes", "no", "too close to call"]
    across: Measured
    starts: Measured


@dataclass(frozen=True)
class Curtains:
    """
    Both curtains over all firings of a recording.

    Parameters
    ----------
    method : str
        How the figures were got and what was assumed.
    places : tuple of Place
        In order along the travel.
    n : int
        Firings that went into the figures.
    first_travel, second_travel : Measured or None
        Time of each curtain from the first sensor to the last, [s].
    taper : Measured or None
        Exposure at the last place against the first, [EV]; positive lets in more light where the curtains
        arrive.
    unevenness : Measured or None
        The most exposed place against the least, [EV]; of places that differ by no more than noise it says
        a little too much.
    capping : "found", "not found" or "cannot tell"
        Whether the second curtain caught the first in any firing.
    capped : tuple of (float, float)
        For each firing in which it did: its first light, [s], and the first place without its light, [m].
    flash : Flash or None
        Whether flash covers the gate.
    shadow_m : float or None
        Width of the shadow of an edge on the film at the stop given, [m].
    firings : tuple of Firing
        Firing by firing.
    withheld : dict of str to str
        What can't be had, and why.
    warnings : tuple of str
        What stands against the figures.
    """

    method: str
    places: tuple[Place, ...]
    n: int
    first_travel: Measured | None = None
    second_travel: Measured | None = None
    taper: Measured | None = None
    unevenness: Measured | None = None
    capping: Capping = "cannot tell"
    capped: tuple[tuple[float, float], ...] = ()
    flash: Flash | None = None
    shadow_m: float | None = None
    firings: tuple[Firing, ...] = ()
    withheld: dict[str, str] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """
        The curtains as plain data: SI units, every number finite or None.

        Returns
        -------
        data : dict
            Ready for strict JSON.
        """
        flash = self.flash
        return {
            "method": self.method,
            "n": self.n,
            **figure("first_travel", "s", self.first_travel),
            **figure("second_travel", "s", self.second_travel),
            **figure("taper", "ev", self.taper),
            **figure("unevenness", "ev", self.unevenness),
            "capping": self.capping,
            "capped": [{"at_s": plain(at), "from_m": plain(place)} for at, place in self.capped],
            **figure("flash_shortest", "s", None if flash is None else flash.shortest),
            "flash_marked": None if flash is None else flash.marked,
            **figure("wholly_open", "s", None if flash is None else flash.wholly_open),
            "flash_covers": None if flash is None else flash.covers,
            **figure("flash_from", "s", None if flash is None else flash.across),
            **figure("flash_until", "s", None if flash is None else flash.starts),
            "shadow_m": plain(self.shadow_m),
            "places": [_place(place) for place in self.places],
            "firings": [_firing(firing) for firing in self.firings],
            "budgets": {
                "first_travel": budget_of(self.first_travel.budget if self.first_travel else ()),
                "second_travel": budget_of(self.second_travel.budget if self.second_travel else ()),
                "taper": budget_of(self.taper.budget if self.taper else ()),
                "flash_shortest": budget_of(flash.shortest.budget if flash else ()),
            },
            "withheld": dict(self.withheld),
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True)
class Firing:
    """
    Both curtains in one firing.

    Parameters
    ----------
    at_s : float
        First light at any sensor, from the start of the recording, [s].
    first_travel, second_travel : Measured or None
        Time of each curtain from the first sensor to the last, [s].
    taper : Measured or None
        Exposure at the last place against the first, [EV].
    capping : "found", "not found" or "cannot tell"
        Whether the second curtain caught the first.
    """

    at_s: float
    first_travel: Measured | None
    second_travel: Measured | None
    taper: Measured | None
    capping: Capping


def _place(place: Place) -> dict[str, Any]:
    return {
        "at_m": plain(place.at_m),
        "channel": place.channel,
        **figure("effective", "s", place.effective),
        **figure("first_speed", "m_s", place.first_speed),
        **figure("second_speed", "m_s", place.second_speed),
        **figure("slit", "m", place.slit),
        **figure("slit_efficiency", "", place.slit_efficiency),
        **figure("opens", "s", place.opens),
        **figure("closes", "s", place.closes),
    }


def _firing(firing: Firing) -> dict[str, Any]:
    return {
        "at_s": plain(firing.at_s),
        **figure("first_travel", "s", firing.first_travel),
        **figure("second_travel", "s", firing.second_travel),
        **figure("taper", "ev", firing.taper),
        "capping": firing.capping,
    }
