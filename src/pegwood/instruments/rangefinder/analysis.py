"""From readings to result."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from pegwood.instruments.rangefinder._adjusting import to_do
from pegwood.instruments.rangefinder._doubts import doubts_about
from pegwood.instruments.rangefinder._practice import ARCSEC, acuity
from pegwood.instruments.rangefinder._stop import without_the_stop
from pegwood.instruments.rangefinder.base import SPLIT_SOURCE
from pegwood.instruments.rangefinder.curve import Curve, Floor, fit_curve, why_not_fitted
from pegwood.instruments.rangefinder.film import film_error, travel
from pegwood.instruments.rangefinder.finder import Finder
from pegwood.instruments.rangefinder.readings import Readings, refuse_the_impossible
from pegwood.instruments.rangefinder.results import (
    AtDistance,
    CurvePoint,
    FinderVerdict,
    Point,
    RangefinderResult,
)
from pegwood.instruments.rangefinder.vertical import vertical_error
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.verdicts import verdict

__all__ = ["analyse_rangefinder", "fitted"]

POINTS = 41


def analyse_rangefinder(
    readings: Readings,
    finder: Finder,
    *,
    vertical_rad: Sequence[float] = (),
    before: Readings | None = None,
) -> RangefinderResult:
    """
    What readings at several distances tell of a rangefinder.

    Parameters
    ----------
    readings : Readings
        At three distances or more; repeats make the intervals narrower.
    finder : Finder
    vertical_rad : sequence of float, shape (n,)
        Height of the moving image over the fixed one, seen without magnification, [rad].
    before : Readings, optional
        Taken before the last round of turning.

    Returns
    -------
    result : RangefinderResult

    Raises
    ------
    RefusedReadings
        If a reading cannot be; one line, with the remedy.
    """
    warnings = _checked(readings, finder)
    true = readings.true_dpt
    vertical = vertical_error(
        vertical_rad, finder.base.magnification, finder.acuity.value, finder.vertical_at_eye
    )
    kept, cut_short = without_the_stop(readings, finder.weight_u)
    warnings += cut_short
    curve, why_not = fitted(kept, finder)
    if why_not is not None:
        warnings.append(why_not)
    distances = tuple(_at(v, n, curve, finder) for v, n in sorted(Counter(true).items()))
    at = {one.true_dpt: one for one in distances}
    outcome = _worst([one.verdict for one in distances])
    if curve is not None:
        warnings += doubts_about(curve, kept, [finder.weight_u(*one) for one in _pairs(kept)])
    todo = to_do(
        curve, None if before is None else _curve_before(before, finder), finder, vertical, distances
    )
    points = tuple(
        Point(
            v,
            w,
            finder.weight_u(v, w),
            None if curve is None else w - curve.shown(v).value,
            film_error(finder.at_lens(v), finder.at_lens(w), finder.focal_m),
        )
        for v, w in _pairs(readings)
    )
    return RangefinderResult(
        offset=None if curve is None else curve.offset,
        gain=None if curve is None else curve.gain,
        curvature=None if curve is None else curve.bow,
        bowed=curve is not None and curve.bowed,
        film_error=tuple(at[v].film_error for v in true),
        limit=finder.limit,
        verdict=outcome,
        distances=distances,
        points=points,
        curve=_drawn(curve, finder),
        base=finder.base,
        acuity=(finder.acuity.value, finder.acuity.source, finder.acuity.mark),
        best_dpt=finder.best_dpt,
        stop_to_be_had=max(one.allows.film_m for one in distances) / finder.circle.value,
        turns=todo.turns,
        advice=todo.advice,
        warnings=tuple(warnings),
        notes=_notes(finder, curve),
        vertical=vertical,
        turning=todo.turning,
        measured_rounds=todo.rounds,
    )


def _curve_before(before: Readings, finder: Finder) -> Curve:
    _checked(before, finder)
    curve, why_not = fitted(without_the_stop(before, finder.weight_u)[0], finder)
    if curve is None:
        raise RefusedReadings(f"Readings before the round: {why_not}")
    return curve


def _checked(readings: Readings, finder: Finder) -> list[str]:
    usual = finder.weight_u(0.0, 0.0)
    warnings = list(refuse_the_impossible(readings, usual, finder.nearest_m))
    for place, v, w in zip(readings.places, readings.true_dpt, readings.shown_dpt, strict=True):
        try:
            travel(finder.at_lens(v), finder.focal_m)
            travel(finder.at_lens(w), finder.focal_m)
        except RefusedReadings as reason:
            raise RefusedReadings(f"{place}: {reason}") from None
    return warnings


def _pairs(readings: Readings) -> list[tuple[float, float]]:
    return list(zip(readings.true_dpt, readings.shown_dpt, strict=True))


def fitted(readings: Readings, finder: Finder) -> tuple[Curve | None, str | None]:
    """
    The curve through some readings, or why there is none.

    Parameters
    ----------
    readings : Readings
    finder : Finder

    Returns
    -------
    curve : Curve or None
    why_not : str or None
    """
    why_not = why_not_fitted(readings.true_dpt)
    if why_not is not None:
        return None, why_not
    pairs = _pairs(readings)
    weights = [finder.weight_u(v, w) for v, w in pairs]
    finest = acuity("vernier")
    floor = Floor(
        finder.base.error_dpt(finest.value),
        "what the eye tells apart at best, since the readings scatter less than that",
        finest.source,
        finest.mark,
    )
    return fit_curve([v for v, _ in pairs], [w for _, w in pairs], weights, floor=floor), None


def _at(true_dpt: float, n: int, curve: Curve | None, finder: Finder) -> AtDistance:
    allows = finder.allows(true_dpt)
    if curve is None:
        return AtDistance(true_dpt, n, None, None, "too close to call", allows)
    on_film = finder.on_film(true_dpt, curve.shown(true_dpt))
    held: FinderVerdict = verdict(on_film, finder.limit)
    if held != "outside" and not allows.to_be_had:
        held = "not to be had"
    return AtDistance(true_dpt, n, curve.error(true_dpt), on_film, held, allows)


def _worst(verdicts: Sequence[FinderVerdict]) -> FinderVerdict:
    order: tuple[FinderVerdict, ...] = ("outside", "not to be had", "too close to call", "within")
    return next((one for one in order if one in verdicts), "no limit given")


def _drawn(curve: Curve | None, finder: Finder) -> tuple[CurvePoint, ...]:
    if curve is None:
        return ()
    drawn = []
    for n in range(POINTS):
        v = curve.nearest_dpt * n / (POINTS - 1)
        shown = curve.shown(v)
        film = finder.on_film(v, shown)
        drawn.append(
            CurvePoint(
                v,
                shown.value,
                *shown.coverage_interval(),
                film.value,
                *film.coverage_interval(),
                finder.allows(v).film_m,
            )
        )
    return tuple(drawn)


def _notes(finder: Finder, curve: Curve | None) -> tuple[str, ...]:
    notes = [
        "Dioptres are one over the distance; positive errors show, or set the lens, too near.",
        f"Distances count from the {finder.measured_from}; true distances are taken as "
        + ("exact." if not finder.true_u_m else f"good to {1e3 * finder.true_u_m:g} mm."),
        f"Acuity {finder.acuity.value / ARCSEC:.3g} arcsec at the eye ({finder.acuity.source}; "
        f"{finder.acuity.mark}).",
    ]
    if finder.kind == "uncoupled":
        notes.append(
            "The lens is taken to be set by hand to what the finder shows, its own scale to be right."
        )
    if finder.kind == "screen":
        notes.append(f"Base of the split image: {SPLIT_SOURCE}.")
    if curve is not None and curve.bow is not None and not curve.bowed:
        notes.append("The curve is taken as straight: its bow is not told from none.")
    return tuple(notes)
