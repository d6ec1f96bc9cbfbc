"""From photographs of a lens's glass in side light to a grade, and to what cleaning changed."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.glass.alike import Overlaid, overlay
from pegwood.instruments.glass.marks import Marked, above_ground, marked_share
from pegwood.instruments.glass.place import Glass, find_glass
from pegwood.instruments.glass.practice import KINDS, Practice, practice
from pegwood.instruments.glass.results import Change, Condition, GlassLimits, GlassResult, Graded
from pegwood.instruments.glass.veil import Patch, measure_veil
from pegwood.instruments.photographs import Photograph, averaged_down, need_scikit_image
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["analyse_glass", "analyse_veil"]

Light = NDArray[np.float32]
Mask = NDArray[np.bool_]

WORK_AT = 1100
"""Longer side at which it is worked, [pixel]."""
_INNER = 0.97
_CLIPPED = 0.02


def analyse_glass(
    before: Photograph,
    after: Photograph | None = None,
    *,
    glass: Glass | None = None,
    white: tuple[float, float, float, float] | None = None,
    kind: str = "marks",
    known: Practice | None = None,
    limits: GlassLimits | None = None,
) -> GlassResult:
    """
    Grade a lens's glass from one photograph in side light, or compare two taken before and after cleaning.

    Parameters
    ----------
    before : Photograph
        Lit from the side against black: clean glass dark, what scatters bright.
    after : Photograph, optional
        The same after cleaning, taken alike.
    glass : Glass, optional
        Where the glass lies in the first; found if not told.
    white : (float, float, float, float), optional
        A white card in the same light, in both pictures: left, top, width, height, [pixel].
    kind : str
        What it is, as the repairer sees it: one of `KINDS`.
    known : Practice, optional
        What is taken as given; the table that comes with Pegwood if not told.
    limits : GlassLimits, optional
        The workshop's; none if not told.

    Returns
    -------
    result : GlassResult

    Raises
    ------
    RefusedReadings
        If no glass is seen, it is overexposed, or the two were not taken alike.
    """
    need_scikit_image()
    known, against = known or practice(), limits or GlassLimits()
    if kind not in KINDS:
        raise RefusedReadings(f"No kind {kind!r} is graded. There are: {', '.join(KINDS)}.")
    if after is not None and after.shape != before.shape:
        raise RefusedReadings(
            f"{after.name} is not as large as {before.name}. Take both with one camera, from one stand."
        )
    place = glass or find_glass(before.light, before.name)
    place.need_inside(before.light.shape, before.name)
    by = max(1, math.ceil(max(before.shape) / WORK_AT))
    first, small = averaged_down(before.light, by), place.reduced(by)
    inside = small.away(first.shape) < _INNER
    _need_something(first, inside, before.name)
    card = None if white is None else _card(first, white, by, before.name)
    warnings: list[str] = []
    if kind == "haze" and card is None:
        warnings.append(
            "No grade of haze: a white card in the same light has to be in the picture. Say where: "
            "left, top, width and height, in pixels."
        )
    notes = [
        "Grades are the workshop's, by share of the glass; what kind of mark it is, nobody but the "
        "repairer can tell.",
        f"The glass was taken as the circle {place.x:.0f},{place.y:.0f},{place.radius:.0f} of the picture.",
    ]
    if float((first[inside] < 0.0005).mean()) > 0.2:
        warnings.append(
            "Much of the glass is written as black: faint haze and marks are lost there. Expose longer, "
            "so that "
            "clean glass is dark grey."
        )
    was = _condition(first, inside, small, kind, card, known)
    if after is None:
        return GlassResult(was, None, None, None, place, tuple(warnings), tuple(notes), against)
    second = averaged_down(after.light, by)
    _need_something(second, inside, after.name)
    over = overlay(first, second, small, known)
    now = _condition(over.after, inside, small, kind, card, known)
    if not over.told:
        warnings.append(
            "What surrounds the glass is too dark to tell the exposures apart; they were taken as the "
            "same within "
            f"{100 * over.factor_u:.0f} %. Lay a grey or white card beside the lens."
        )
    change = _change(first, over, inside, was, now, by, known)
    return GlassResult(was, now, change, None, place, tuple(warnings), tuple(notes), against)


def analyse_veil(
    photograph: Photograph,
    *,
    patch: Patch | None = None,
    own: Photograph | None = None,
    own_patch: Patch | None = None,
    known: Practice | None = None,
    limits: GlassLimits | None = None,
) -> GlassResult:
    """
    Veiling glare of a lens from a photograph of a black patch; see `measure_veil`.

    Parameters
    ----------
    photograph, patch, own, own_patch, known
        As there; the table that comes with Pegwood if `known` is not told.
    limits : GlassLimits, optional
        The workshop's; none if not told.

    Returns
    -------
    result : GlassResult
        With `veil` alone.

    Raises
    ------
    RefusedReadings
        As there.
    """
    need_scikit_image()
    veil = measure_veil(photograph, patch=patch, own=own, own_patch=own_patch, known=known or practice())
    warnings: tuple[str, ...] = ()
    if veil.camera is None:
        warnings = (
            "The camera's own glare and dark level are in this figure: give the same picture "
            "without the "
            "lens or through one known to be clean.",
        )
    notes = ("Black over white, in percent, after the outline of ISO 9358; no certified set-up was used.",)
    return GlassResult(None, None, None, veil, None, warnings, notes, limits or GlassLimits())


def _need_something(light: Light, inside: Mask, name: str) -> None:
    clipped = float((light[inside] > 0.995).mean())
    if clipped > _CLIPPED:
        raise RefusedReadings(
            f"{name}: {100 * clipped:.0f} % of the glass is at the top of the scale. Expose less, or "
            f"move the lamp "
            "until it is not mirrored in the glass."
        )
    if float(np.quantile(light[inside], 0.5)) > 0.4:
        raise RefusedReadings(
            f"{name}: the glass is bright all over: that is no side light. Light it from the side "
            f"against black."
        )


def _card(light: Light, white: tuple[float, float, float, float], by: int, name: str) -> tuple[float, float]:
    x, y, w, h = (one / by for one in white)
    part = light[max(0, round(y)) : max(0, round(y + h)), max(0, round(x)) : max(0, round(x + w))]
    if part.size < 25:
        raise RefusedReadings(f"{name}: the white card is not in the picture, or too small in it.")
    if float((part > 0.995).mean()) > _CLIPPED:
        raise RefusedReadings(f"{name}: the white card is at the top of the scale. Expose less.")
    level = float(part.mean())
    if level < 0.05:
        raise RefusedReadings(f"{name}: there is no white card at that place: it is dark there.")
    return level, float(part.std()) / math.sqrt(part.size / 64)


def _condition(
    light: Light, inside: Mask, glass: Glass, kind: str, card: tuple[float, float] | None, known: Practice
) -> Condition:
    above = above_ground(light, inside, glass.radius)
    marked = marked_share(above, inside, known)
    dark = known["dark.u"]
    scattered = combine(
        float(light[inside].mean()), [dark.component("dark level", dark.value, "no picture told it")]
    )
    haze = None if card is None else _haze(light, inside, marked, card, known)
    away = glass.away(light.shape)
    half = 0.5**0.5 * _INNER
    graded = _graded(kind, haze if kind == "haze" else marked.share, known)
    return Condition(
        share=marked.share,
        graded=graded,
        n=marked.n,
        scattered=scattered,
        haze=haze,
        middle=100 * float(marked.places[inside & (away < half)].mean()),
        rim=100 * float(marked.places[inside & (away >= half)].mean()),
        least=marked.least,
    )


def _haze(light: Light, inside: Mask, marked: Marked, card: tuple[float, float], known: Practice) -> Measured:
    clean = light[inside & ~marked.places]
    level = float(np.median(clean)) if clean.size else float(np.median(light[inside]))
    white, white_u = card
    dark, tone = known["dark.u"], known["tone.u_rel"]
    percent = 100 * level / white
    return combine(
        percent,
        [
            dark.component("dark level", 100 * dark.value / white, "no picture told it"),
            Component("white card", percent * white_u / white, math.inf, "A"),
            tone.component(
                "camera's curve",
                percent * abs(math.log(max(level, 1e-6) / white)) * tone.value,
                "a power about sRGB's",
            ),
        ],
    )


def _graded(kind: str, figure: Measured | None, known: Practice) -> Graded | None:
    if figure is None:
        return None
    low, high = figure.coverage_interval()
    return Graded(
        kind,
        known.grade(kind, max(figure.value, 0.0)),
        known.grade(kind, max(low, 0.0)),
        known.grade(kind, max(high, 0.0)),
        known.source,
        known.mark,
    )


def _change(
    first: Light, over: Overlaid, inside: Mask, was: Condition, now: Condition, by: int, known: Practice
) -> Change:
    unsure = over.factor_u * float(np.median(first[inside])) * 1.5
    less = first - over.after
    edges = _slope(first)
    gone, come = (
        marked_share(sign * less, inside, known, unsure, edges) for sign in (np.float32(1), np.float32(-1))
    )
    dark = known["dark.u"]
    before, after = was.scattered.value, now.scattered.value
    ratio = after / max(before, 1e-6)
    lines = [
        Component("exposure", 100 * ratio * over.factor_u, note=_how(over)),
        # one dark level in both, in the second times the factor
        dark.component(
            "dark level", 100 * abs(over.factor - ratio) * dark.value / max(before, 1e-6), "the same in both"
        ),
    ]
    return Change(
        gone=gone.share,
        come=come.share,
        scattered_less=combine(100 * (1 - ratio), lines),
        factor=combine(over.factor, [Component("exposure", over.factor * over.factor_u, note=_how(over))]),
        shift_px=(over.shift[0] * by, over.shift[1] * by),
        turned_deg=math.degrees(over.turned),
        agreement=over.agreement,
    )


def _slope(light: Light) -> Light:
    """What a pixel of shift would change at each place, of full scale."""
    from scipy.ndimage import gaussian_gradient_magnitude, maximum_filter

    slope: Light = (maximum_filter(gaussian_gradient_magnitude(light, 0.8), size=3)).astype(np.float32)
    return slope


def _how(over: Overlaid) -> str:
    return "told by what surrounds the glass" if over.told else "taken as the same for both"
