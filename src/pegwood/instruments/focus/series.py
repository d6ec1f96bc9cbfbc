"""What a series of photographs through focus tells: best focus, tilt, shims, shift with the stop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pegwood.instruments.focus._figures import FocusLimits, Format, share_limit
from pegwood.instruments.focus._measuring import EdgeFigures
from pegwood.instruments.focus.optics import depth_of_focus
from pegwood.instruments.focus.stops import StopShift, shifts_with_stop
from pegwood.instruments.focus.through_focus import FocusPeak, best_focus
from pegwood.instruments.focus.tilt import Place, Plane, Shim, fit_plane, shims_under
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Bounds, Verdict, verdict

__all__ = ["PlaceFocus", "SeriesResult", "Setting", "Shot", "read_series"]


@dataclass(frozen=True)
class Shot:
    """
    One edge of one photograph.

    Parameters
    ----------
    name : str
        The photograph's.
    at : float or None
        Where it was taken, in the unit of the positions.
    figures : EdgeFigures or None
        None where the edge was refused; `why` says why.
    why : str
    place : tuple of float or None
        Where on the film the edge is seen, from behind, [m].
    f_number : float or None
        Stop of the lens, [-].
    """

    name: str
    at: float | None
    figures: EdgeFigures | None
    why: str = ""
    place: Place | None = None
    f_number: float | None = None

    @property
    def mtf50(self) -> Measured | None:
        return None if self.figures is None else self.figures.mtf50


@dataclass(frozen=True)
class Setting:
    """
    What is known beside the photographs.

    Parameters
    ----------
    unit_m : float or None
        Metres in a unit of the positions; None where it is no length.
    position_u : float
        Standard uncertainty of a position among the others, in that unit.
    screws : tuple of (x, y)
        Of the standard, [m].
    format : Format or None
        For the depth of focus and the corners.
    limit_m : float or None
        How far focus may be off in a corner, [m]; else the workshop's share of the depth of focus.
    limits : FocusLimits or None
        The workshop's; those that come with Pegwood if None.
    """

    unit_m: float | None = 1e-3
    position_u: float = 0.0
    screws: tuple[Place, ...] = ()
    format: Format | None = None
    limit_m: float | None = None
    limits: FocusLimits | None = None


@dataclass(frozen=True)
class PlaceFocus:
    """Best focus at one place, or why not."""

    place: Place | None
    f_number: float | None
    peak: FocusPeak | None
    why: str = ""


@dataclass(frozen=True)
class SeriesResult:
    """
    What a series tells.

    Parameters
    ----------
    shots : tuple of Shot
    best : Measured or None
        In the unit of the positions; with several places that of the plane in the picture's middle.
    peak : FocusPeak or None
        The fit behind it, where there is one place.
    places : tuple of PlaceFocus
        At the widest stop.
    tilt : Plane or None
    corner : Measured or None
        How far focus rises from the middle to the corner where tilt is worst, [m].
    limit : Bounds or None
        For that.
    verdict : str
    shims : tuple of Shim
    stops : tuple of StopShift
    advice, warnings, notes : tuple of str
    """

    shots: tuple[Shot, ...]
    best: Measured | None
    peak: FocusPeak | None
    places: tuple[PlaceFocus, ...]
    tilt: Plane | None
    corner: Measured | None
    limit: Bounds | None
    verdict: Verdict
    shims: tuple[Shim, ...]
    stops: tuple[StopShift, ...]
    advice: tuple[str, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


def read_series(shots: Sequence[Shot], setting: Setting | None = None) -> SeriesResult:
    """
    Reckon a series.

    Parameters
    ----------
    shots : sequence of Shot
        Every edge of every photograph.
    setting : Setting, optional

    Returns
    -------
    result : SeriesResult
        What cannot be told is None, with the reason in `warnings`.
    """
    setting = setting or Setting()
    warnings = [one.why for one in shots if one.figures is None]
    warnings += [
        f"{one.name}: {said}" for one in shots if one.figures is not None for said in one.figures.warnings
    ]
    said = _Said(warnings, [])
    stops = sorted({one.f_number for one in shots if one.f_number is not None})
    widest = [one for one in shots if not stops or one.f_number == stops[0]]
    places = tuple(_focused(widest, place, setting) for place in dict.fromkeys(one.place for one in widest))
    for one in places:
        said.of_peak(one, len(places) > 1)
    told = [one for one in places if one.peak is not None]
    best = peak = tilt = None
    shims: tuple[Shim, ...] = ()
    if len(places) == 1:
        peak = places[0].peak
        best = None if peak is None else peak.best
    else:
        tilt = _tilt(told, setting, said)
        if tilt is not None and setting.unit_m:
            best = tilt.middle.scaled(1 / setting.unit_m)
    if setting.screws and tilt is not None:
        shims = _shims(tilt, setting, said)
    elif setting.screws:
        said.warnings.append("Without a tilt there are no shims under the screws.")
    corner, limit = _corner(tilt, setting, stops)
    return SeriesResult(
        tuple(shots),
        best,
        peak,
        places,
        tilt,
        corner,
        limit,
        verdict(corner, limit),
        shims,
        _with_stop(shots, stops, setting, said),
        tuple(said.advice),
        tuple(said.warnings),
        (
            "MTF50 in cycles per pixel of the linearised picture, along the edge's normal, pixel included; "
            "linearised by the curve of sRGB.",
            "Positions and best focus count away from the film; places as seen from behind, x right, y up.",
        ),
    )


@dataclass
class _Said:
    """What there is to say, gathered on the way."""

    warnings: list[str]
    advice: list[str]

    def of_peak(self, one: PlaceFocus, many: bool) -> None:
        where = "" if one.place is None or not many else _place(one.place) + ": "
        if one.peak is None:
            self.warnings.append(where + one.why)
        elif n := len(one.peak.left_out):
            self.warnings.append(
                f"{where}{n} of the photographs left out of the fit, since all others disagree with it: "
                "shaken, or not taken at the position that was noted."
            )


def _place(place: Place) -> str:
    return f"{1e3 * place[0]:g},{1e3 * place[1]:g} mm"


def _focused(shots: Sequence[Shot], place: Place | None, setting: Setting) -> PlaceFocus:
    here = [one for one in shots if one.place == place]
    stop = here[0].f_number
    if any(one.at is None for one in here):
        return PlaceFocus(place, stop, None, "Without positions there is no best focus: tell one of each.")
    try:
        peak = best_focus(
            [one.at for one in here if one.at is not None],
            [one.mtf50 for one in here],
            setting.position_u,
        )
    except RefusedReadings as why:
        return PlaceFocus(place, stop, None, str(why))
    return PlaceFocus(place, stop, peak)


def _tilt(told: Sequence[PlaceFocus], setting: Setting, said: _Said) -> Plane | None:
    if setting.unit_m is None:
        said.warnings.append("Positions are no lengths, so there is no tilt: give them in mm.")
        return None
    unit = setting.unit_m
    try:
        return fit_plane(
            [one.place for one in told if one.place is not None],
            [one.peak.best.scaled(unit) for one in told if one.peak is not None],
        )
    except RefusedReadings as why:
        said.warnings.append(str(why))
        return None


def _shims(tilt: Plane, setting: Setting, said: _Said) -> tuple[Shim, ...]:
    try:
        shims = shims_under(tilt, setting.screws)
    except RefusedReadings as why:
        said.warnings.append(str(why))
        return ()
    if all(low <= 0 <= high for low, high in (one.change.coverage_interval() for one in shims)):
        said.advice.append("Leave the standard as it is: the tilt is not larger than its uncertainty.")
        return shims
    for one in shims:
        said.advice.append(
            f"Screw at {_place(one.place)}: add {1e3 * one.add.value:.3f} mm under the lens's standard "
            f"(or, with focus in the middle kept, {1e3 * one.change.value:+.3f} mm)."
        )
    return shims


def _corner(
    tilt: Plane | None, setting: Setting, stops: Sequence[float]
) -> tuple[Measured | None, Bounds | None]:
    if tilt is None or setting.format is None:
        return None, None
    x, y = setting.format.width_m / 2, setting.format.height_m / 2
    corner = max(((x, y), (x, -y)), key=lambda one: abs(tilt.difference(one, (0, 0)).value))
    rise = tilt.difference(corner, (0, 0))
    if rise.value < 0:
        rise = replace(rise, value=-rise.value)
    if setting.limit_m is None and not stops:
        return rise, None
    depth = depth_of_focus(stops[0] if stops else 1.0, setting.format.confusion_m)
    return rise, share_limit(depth, setting.limit_m, setting.limits)


def _with_stop(
    shots: Sequence[Shot], stops: Sequence[float], setting: Setting, said: _Said
) -> tuple[StopShift, ...]:
    if len(stops) < 2:
        return ()
    if setting.format is None or setting.unit_m is None:
        said.warnings.append(
            "A shift with the stop is judged by the format and needs lengths: tell the picture format."
        )
        return ()
    found: dict[float, Measured] = {}
    middle = min((one.place for one in shots if one.place), key=lambda p: p[0] ** 2 + p[1] ** 2, default=None)
    for stop in stops:
        one = _focused([s for s in shots if s.f_number == stop], middle, setting)
        if one.peak is None:
            said.warnings.append(f"f/{stop:g}: {one.why}")
        else:
            found[stop] = one.peak.best.scaled(setting.unit_m)
    if stops[0] not in found or len(found) < 2:
        return ()
    shifts = shifts_with_stop(found, setting.format.confusion_m, setting.limits)
    for shift in shifts:
        if shift.verdict == "outside":
            said.advice.append(
                f"Stopped down to f/{shift.f_number:g} focus moves by {1e3 * shift.shift.value:+.3f} mm, "
                "more than its depth hides: set focus for the stop that is used most."
            )
    return shifts
