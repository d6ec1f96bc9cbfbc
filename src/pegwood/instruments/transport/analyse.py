"""From a picture of a strip to how the film moved."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.filmstrip import (
    FilmFormat,
    Perforations,
    Strip,
    film_format,
    perforations,
    read_roll,
    read_strip,
)
from pegwood.instruments.photographs import Photograph
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.transport.advice import advice_of
from pegwood.instruments.transport.edges import Rectified, bare_share, find_edges
from pegwood.instruments.transport.frames import Found, place_frames
from pegwood.instruments.transport.limits import TransportLimits, default_limits, edge_component
from pegwood.instruments.transport.results import LongScratch, TransportResult
from pegwood.instruments.transport.scratches import find_scratches
from pegwood.instruments.transport.spacing import (
    frames_of,
    gate_of,
    lean_of,
    mean_spacing,
    scatter_of,
    spacings_of,
    trend_of,
)
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["analyse_transport", "straightened"]

Array = NDArray[np.float64]
_ROWS = 48
_INSIDE_MM = 0.6


def analyse_transport(
    photograph: Photograph,
    *,
    film: FilmFormat | None = None,
    holes: Perforations | None = None,
    image_width_m: float | None = None,
    limits: TransportLimits | None = None,
) -> TransportResult:
    """
    Frame spacing and what else a developed strip tells of the transport.

    Parameters
    ----------
    photograph : Photograph
        Of one strip, lit from behind.
    film : FilmFormat, optional
        24 x 36 on 135 if not given.
    holes : Perforations, optional
        The ruler, where the film's own pitch was measured.
    image_width_m : float, optional
        The ruler of roll film: width of its picture across the film where that was measured, [m].
    limits : TransportLimits, optional
        The workshop's own; those that come with Pegwood if not given.

    Returns
    -------
    result : TransportResult
        Lengths in [m]; `pitch` is None, with the reason among the warnings, where it cannot be told.

    Raises
    ------
    RefusedReadings
        If there is no strip of that format in the picture.
    """
    wanted = film or film_format("135")
    if wanted.ruler == "perforations":
        strip = read_strip(photograph, holes or perforations())
    else:
        strip = read_roll(photograph, wanted, image_width_m)
    rectified, full, rows = straightened(strip, wanted)
    found = place_frames(rectified, find_edges(rectified), 1e3 * wanted.along_m, 1e3 * wanted.spacing_m)
    _check(strip, wanted, found, rectified)
    pixel = rectified.pixel_mm * 1e-3
    ruler = strip.components
    noise, flatness = _ruler_over(strip, found)
    spacings = spacings_of(found, pixel, ruler)
    pitch = mean_spacing(found, pixel, noise, flatness, ruler)
    lines = find_scratches(full, rectified.along, rows, 500 * wanted.across_m)
    frames = frames_of(found, pixel, strip.sees_left, ruler)
    against = limits or default_limits()
    overlaps = sum(1 for one in frames if one.gap is not None and one.gap.value < -1.64 * one.gap.u)
    result = TransportResult(
        photograph.name,
        wanted,
        strip.kind,
        frames,
        pitch,
        trend_of(spacings),
        scatter_of(spacings),
        gate_of(found, pixel, ruler),
        lean_of(found),
        spacings,
        overlaps,
        tuple(_scratch(line, strip, pixel) for line in lines),
        len(strip.ruler.number) if strip.ruler else 0,
        strip.pixels_per_mm * 1e3,
        strip.turned,
        against.spacing_of(wanted),
        against.scatter,
        against.square,
        against.gap,
        warnings=(*_warnings(strip, found, pitch), *_left_out(rectified, found)),
        notes=tuple(_notes(strip)),
    )
    return advice_of(result)


def straightened(strip: Strip, film: FilmFormat) -> tuple[Rectified, NDArray[np.float32], Array]:
    """
    The part of the film with the pictures, straight and over bare film's light.

    Parameters
    ----------
    strip : Strip
    film : FilmFormat
        Whose frames there may be.

    Returns
    -------
    rectified : Rectified
        In some fifty rows, each a mean.
    full : array, shape (m, n)
        In all its rows.
    rows : array, shape (m,)
        Where they are, [mm].
    """
    pixel = 1 / strip.pixels_per_mm
    along = np.arange(strip.left_mm, strip.right_mm, 0.8 * pixel)
    half, spacing_mm = 500 * film.across_m - _INSIDE_MM, 1e3 * film.spacing_m
    rows = np.arange(-half, half, pixel)
    full = strip.seen(along, rows)
    full /= np.clip(strip.base.at(along, rows, strip.apart_mm), 1e-3, None)
    each = max(1, len(rows) // _ROWS)
    count = len(rows) // each
    few = full[: count * each].reshape(count, each, -1).mean(axis=1)
    places = rows[: count * each].reshape(count, each).mean(axis=1)
    few = few / _bare_level(
        few, strip.darker, spacing_mm / (along[1] - along[0]), 0.3 / (along[1] - along[0])
    )
    return Rectified(along, places, few.astype(np.float32), strip.darker, pixel), full, rows


def _bare_level(light: NDArray[Any], darker: bool, spacing: float, blur: float) -> NDArray[Any]:
    """
    Light of bare film row by row, as seen in the gaps: no picture is brighter than it, or darker in a
    positive.

    Bare film between the holes tells it where all is well; beside a fogged edge it does not.
    """
    from scipy.ndimage import maximum_filter1d, minimum_filter1d, uniform_filter1d

    window = max(3, min(round(1.15 * spacing), light.shape[1]))
    smooth = uniform_filter1d(light, max(3, round(blur)), axis=1, mode="nearest")
    end = max(1, round(2 * blur))  # the film's ends are blurred with what lies beyond them
    smooth[:, :end], smooth[:, -end:] = smooth[:, [end]], smooth[:, [-end - 1]]
    highest = (maximum_filter1d if darker else minimum_filter1d)(smooth, window, axis=1, mode="nearest")
    level: NDArray[Any] = uniform_filter1d(highest, window, axis=1, mode="nearest")
    return np.asarray(np.clip(level, 0.05, 20.0))


def _check(strip: Strip, wanted: FilmFormat, found: Found, film: Rectified) -> None:
    if not found.frames:
        raise RefusedReadings(
            f"{strip.name}: perforations were found, but no frame of {wanted.name}. Blank film, or "
            f"another format: "
            "see which format it is."
        )
    bare = bare_share(film)
    other = RefusedReadings(
        f"{strip.name}: what was found does not fit frames of {wanted.name}. Choose the right format."
    )
    if strip.ruler is None and found.gate_of == 0:
        raise other
    covered = np.zeros(len(film.along), dtype=bool)
    parted = 0
    for one in found.frames:
        covered |= (film.along > one.at - 0.4) & (film.along < one.at + found.gate + 0.4)
        inner = np.abs(film.along - one.at - found.gate / 2) < 0.2 * found.gate
        parted += bool(0.4 < bare[inner].sum() * film.step < 4.0)
    inside = (film.along > found.frames[0].at) & (film.along < found.frames[-1].at + found.gate)
    exposed = 1 - bare
    uncovered = (exposed * ~covered)[inside].sum() > 0.2 * max(exposed[inside].sum(), 1)
    # a bare line through the middle of every frame: two frames of a smaller format
    if uncovered or parted > 0.7 * len(found.frames):
        raise other


def _ruler_over(strip: Strip, found: Found) -> tuple[float, float]:
    """From the first to the last frame: noise of the ruler, and what the camera's model leaves, [m]."""
    if len(found.frames) < 2 or strip.ruler is None:
        return 0.0, 0.0
    ends = np.array([found.frames[0].at, found.frames[-1].at])
    projection, ruler = strip.projection, strip.ruler
    x, y = projection.to_picture(ends, np.zeros(2))
    at = np.stack([x, y], axis=1)
    base = ruler.projection
    values = np.append(base.matrix.ravel()[:8] / base.matrix[2, 2], base.bend)
    slopes = np.empty(9)
    for k in range(9):
        more = values.copy()
        step = 1e-6 * max(abs(values[k]), 1e-3)
        more[k] += step
        changed = type(base)(np.append(more[:8], 1).reshape(3, 3), float(more[8]), base.middle, base.half)
        straight = type(base)(
            np.append(values[:8], 1).reshape(3, 3), float(values[8]), base.middle, base.half
        )
        moved = np.diff(changed.to_film(at)[:, 0])[0] - np.diff(straight.to_film(at)[:, 0])[0]
        slopes[k] = moved / step
    noise = math.sqrt(max(float(slopes @ ruler.covariance @ slopes), 0.0)) * ruler.scatter_mm
    # what stays of the holes when neighbours are averaged is no noise: film that bulges, a lens that
    # bends more
    order = np.argsort(ruler.number, kind="stable")
    left = ruler.left_mm[order, 0]
    group = max(8, len(left) // 8)
    means = [part.mean() for part in np.array_split(left, max(2, len(left) // group))]
    wave = max(float(np.var(means)) - ruler.scatter_mm**2 / group, 0.0)
    return noise * 1e-3, math.sqrt(2 * wave) * 1e-3


def _scratch(line: object, strip: Strip, pixel_m: float) -> LongScratch:
    from pegwood.instruments.transport.scratches import Scratch

    assert isinstance(line, Scratch)
    at = line.at * 1e-3 + strip.film_m / 2
    place = combine(
        at,
        [
            Component("pixel", 0.3 * pixel_m, note="a third of a pixel"),
            Component("width of the film", 0.05e-3, note="edge of the film reckoned from its perforations"),
        ],
    )
    return LongScratch(place, line.width * 1e-3, line.density, line.share)


def _warnings(strip: Strip, found: Found, pitch: Measured | None) -> Sequence[str]:
    out = []
    if pitch is None:
        out.append("pitch: only one frame was found; the spacing needs two. Scan a longer strip.")
    if not strip.sees_left:
        out.append("The left end of the film is not in the picture: starts count from the picture's border.")
    if any(one.steps > 1 for one in found.frames):
        out.append(
            "A frame in between was not exposed, or not enough to be seen: its spacing is a mean over two."
        )
    if not found.gate_of:
        out.append("No frame shows both its edges: the gate's width was taken as nominal.")
    if pitch is not None and edge_component(1e-3 / strip.pixels_per_mm).u > 0.2e-3:
        out.append("The picture is coarse; scan finer.")
    if strip.clipped > 0.05 and strip.kind == "positive":
        out.append("Part of the picture is at the top of its scale.")
    return out


def _left_out(film: Rectified, found: Found) -> list[str]:
    """Pictures at the ends of the strip that were not counted."""
    exposed = 1 - bare_share(film)
    before = film.along < found.frames[0].at - 0.5
    after = film.along > found.frames[-1].at + found.gate + 0.5
    out = []
    for side, part in (("left", before), ("right", after)):
        if exposed[part].sum() * film.step > 0.3 * found.gate:
            out.append(
                f"At the {side} end lies a picture that was not counted: it is cut, or no edge of it is "
                f"clear."
            )
    return out


def _notes(strip: Strip) -> Sequence[str]:
    out = [f"Ruler: {strip.source}."]
    if strip.turned:
        out.append("The strip stands upright in the picture: its top counts as left.")
    return out
