"""From a photograph of the lit opening to its diameter, its blades and its stop."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pegwood.instruments.iris.area import AreaInPixels, measure_area
from pegwood.instruments.iris.blades import Blades, calliper_widths, find_blades
from pegwood.instruments.iris.curve import Curve, Darker, curve_of
from pegwood.instruments.iris.hole import Hole, find_hole
from pegwood.instruments.iris.practice import Practice, practice
from pegwood.instruments.iris.results import Difference, IrisResult
from pegwood.instruments.iris.scale import Scale
from pegwood.instruments.iris.stops import FocalLength, MarkedStop, difference_ev, error_of
from pegwood.instruments.photographs import Photograph, need_scikit_image
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Bounds, verdict

__all__ = ["NO_SCALE", "analyse_iris"]

NO_SCALE = (
    "No diameter in mm: nobody said how large a pixel is. Tell it, or how many pixels a known length is long."
)
OWN = "camera's own curve"
_CURVES = (OWN, "curve of the file")
_UNSURE_CURVE = 0.0015
"""Of the diameter: more makes over 0.3 % at 95 %."""
_CLIPPED = 0.01
_NOISIEST = 0.35


@dataclass(frozen=True)
class _Seen:
    """One picture, read as far as it goes."""

    hole: Hole
    area: AreaInPixels
    diameter_px: Measured
    refused: str


def analyse_iris(
    photograph: Photograph,
    *,
    scale: Scale | None = None,
    marked: MarkedStop | None = None,
    focal: FocalLength | None = None,
    again: Photograph | None = None,
    closing: Photograph | None = None,
    darker: Sequence[Darker] = (),
    limit: Bounds | None = None,
    known: Practice | None = None,
) -> IrisResult:
    """
    Measure a diaphragm's opening from a photograph of it, lit from behind.

    Parameters
    ----------
    photograph : Photograph
        Taken along the lens's axis from the front, everything but the opening dark.
    scale : Scale, optional
        How large a pixel is in the plane of the entrance pupil; without it there is no diameter.
    marked : MarkedStop, optional
        What the ring says.
    focal : FocalLength, optional
        The lens's; without it there is no f-number.
    again : Photograph, optional
        The same stop set once more, nothing else touched.
    closing : Photograph, optional
        The same stop reached from the other side: `photograph` by opening, this one by closing.
    darker : sequence of Darker, optional
        The same opening exposed less by told steps: they tell the camera's own curve.
    limit : Bounds, optional
        The workshop's own limit of the error, [EV].
    known : Practice, optional
        What is taken as given; the table that comes with Pegwood if not told.

    Returns
    -------
    result : IrisResult

    Raises
    ------
    RefusedReadings
        If there is no single lit opening in a picture; one line, with what to do.
    """
    need_scikit_image()
    known = known or practice()
    curve = curve_of(photograph, darker) if darker else None
    seen = _look(photograph, known, curve)
    warnings, notes = [], []
    diameter = None
    if seen.refused:
        warnings.append(f"No diameter: {seen.refused}")
    elif scale is None:
        warnings.append(NO_SCALE)
    else:
        diameter = _in_metres(seen.diameter_px, scale, known)
    blades = _blades(seen, known)
    if blades.why_not:
        warnings.append(f"No count of blades: {blades.why_not}.")
    roundness, callipers = _roundness(seen, blades, known)
    warnings += _doubts(seen, blades, told=curve is not None)
    stop = error_of(diameter, marked, focal, known, limit)
    if marked and focal is None:
        warnings.append("No error in EV: the focal length is not told.")
    if marked and not marked.in_series:
        notes.append(f"{marked.text} is none of the series 1, 1.4, 2, 2.8 and was taken as it stands.")
    notes.append(
        "The diameter is that of a circle with the opening's area. Blades are told where they lie in the "
        "picture, as on the face of a clock."
    )
    return IrisResult(
        diameter=diameter,
        diameter_px=None if seen.refused else seen.diameter_px,
        scale=scale,
        roundness=roundness,
        callipers_px=callipers,
        blades=len(blades.edges) or None,
        edges=blades.edges,
        outline=tuple((float(x), float(y)) for x, y in seen.area.outline.points[::8]),
        stop=stop,
        returns=_difference(photograph, seen, again, known, known.returns, warnings, curve),
        hysteresis=_difference(
            photograph, seen, closing, known, known.hysteresis, warnings, curve, back=True
        ),
        marks=(),
        blur_px=seen.area.blur,
        tone=seen.area.tone,
        warnings=tuple(warnings),
        notes=tuple(notes),
        out_of_line=_out_of_line(seen, blades, known),
    )


def _out_of_line(seen: _Seen, blades: Blades, known: Practice) -> Measured | None:
    """
    The worst blade against where the others ask for it, [%] of the diameter.

    Their common middle and reach are three figures fitted to n - 1 edges. With edges evenly around, what that
    fit says at the place left out has the variance of an edge times h / (1 - h), h = 3 / n (least squares).
    """
    n = len(blades.edges)
    if n < 5:
        return None
    worst = max(blades.edges, key=lambda one: abs(one.inward))
    others = [one.inward for one in blades.edges if one is not worst]
    per_px = 100 / seen.diameter_px.value
    fitted = 3 / n / (1 - 3 / n)
    scatter = math.sqrt(sum(one**2 for one in others) / (n - 4) * fitted)
    tilt = known["tilt.u_deg"]
    squeezed = 50 * math.radians(tilt.value) ** 2 * math.sqrt(1 + fitted)  # of the whole width, to one side
    lines = [
        Component(
            "edge", worst.reach_u * math.sqrt(1 + fitted) * per_px, note="of the blade and of the others"
        ),
        Component("the other blades", scatter * per_px, n - 4, "A", "they do not lie quite alike themselves"),
        tilt.component("camera not square", squeezed, f"{tilt.value:g}° of each of two angles"),
    ]
    return combine(abs(worst.inward) * per_px, lines)


def _look(photograph: Photograph, known: Practice, curve: Curve | None) -> _Seen:
    hole = find_hole(photograph.light, photograph.name)
    try:
        area = measure_area(photograph.light, hole, photograph.lossy, known, curve)
    except RefusedReadings as error:
        raise RefusedReadings(f"{photograph.name}: {error}") from None
    if area.noise > _NOISIEST:
        raise RefusedReadings(
            f"{photograph.name}: too much noise over too little light. Expose longer, or light the lens more."
        )
    refused = ""
    size = math.sqrt(4 * max(area.area, 0.0) / math.pi)
    clipped = _clipped_share(photograph, area)
    if clipped > _CLIPPED:
        refused = (
            f"{100 * clipped:.0f} % of the opening is at the top of the scale, so its edge lies anywhere. "
            "Expose less: the opening grey, not white."
        )
    return _Seen(hole, area, _diameter_px(area, size, photograph.lossy, known, curve), refused)


def _clipped_share(photograph: Photograph, area: AreaInPixels) -> float:
    """Of the opening's middle part: the square that fits into it."""
    x, y = area.outline.middle
    half = max(2, int(0.6 * float(area.outline.radius.min())))
    inner = photograph.light[int(y) - half : int(y) + half + 1, int(x) - half : int(x) + half + 1]
    return float((inner > 0.995).mean())


def _diameter_px(
    area: AreaInPixels, size: float, lossy: bool, known: Practice, told: Curve | None
) -> Measured:
    per_area = 2 / (math.pi * size)  # dD/dA
    edge = known["edge.lossy_px" if lossy else "edge.plain_px"]
    usual = known["tone.spread"]
    curve = f"0 is sRGB's and 1 none; taken as {area.tone:.2f} ± {area.tone_u:.2f}"
    own = "on top of sRGB's; darker pictures would tell it" if told is None else "told by darker pictures"
    lines = [
        Component("noise", area.u_noise * per_area, math.inf, "A", "of the pixels at the edge"),
        Component("light level", area.u_level * per_area, note="carried from the middle to the edge"),
        *([] if told else [usual.component("curve of the file", area.u_tone * per_area, curve)]),
        usual.component(OWN, area.u_own * per_area, own),
        edge.component("edge", edge.value * area.perimeter * per_area, "what the file's own coding leaves"),
    ]
    return combine(size, lines)


def _in_metres(diameter_px: Measured, scale: Scale, known: Practice) -> Measured:
    value = diameter_px.value * scale.m_per_px
    lines = list(diameter_px.scaled(scale.m_per_px).budget)
    lines += [
        Component(one.name, one.u * value, one.df, one.kind, one.note, one.source, one.mark)
        for one in scale.components
    ]
    tilt = known["tilt.u_deg"]
    shorter = math.radians(tilt.value) ** 2 / math.sqrt(2)
    lines.append(
        tilt.component("camera not square", value * shorter, f"{tilt.value:g}° of each of two angles")
    )
    return combine(value, lines)


def _blades(seen: _Seen, known: Practice) -> Blades:
    return find_blades(seen.area.outline, seen.diameter_px.value, seen.area.blur, _edge_u(seen), known)


def _edge_u(seen: _Seen) -> float:
    """How well one place of the edge is known: noise over the slope of the ramp, [pixel]."""
    return 0.06 + 1.5 * seen.area.noise * seen.area.blur


def _roundness(seen: _Seen, blades: Blades, known: Practice) -> tuple[Measured, tuple[float, float]]:
    points = seen.area.outline.points
    if len(blades.corners):
        points = np.vstack([points, blades.corners])
    low, high = calliper_widths(points)
    tilt = known["tilt.u_deg"]
    lines = [
        Component("edge", 2 * _edge_u(seen) / high, note="both callipers lie on single places of the edge"),
        tilt.component("camera not square", math.radians(tilt.value) ** 2, f"{tilt.value:g}° of each angle"),
    ]
    return combine(low / high, lines), (low, high)


def _doubts(seen: _Seen, blades: Blades, told: bool) -> list[str]:
    said = []
    for one in blades.edges:
        if one.out_of_place:
            how = "in" if one.inward > 0 else "out"
            turned = round(math.degrees(one.turned), 1) + 0.0  # never -0.0
            said.append(
                f"The blade at {one.hour} o'clock lies {abs(one.inward) / seen.diameter_px.value:.1%} of the "
                f"diameter too far {how} and {turned:+.1f}° turned: late or bent."
            )
    if seen.hole.crumbs:
        said.append("There are other bright spots in the picture; they were left out.")
    if seen.area.unevenness > 0.6:
        said.append("The opening is lit very unevenly. Put a diffuser between lamp and lens.")
    if 0.3 < seen.area.tone < 0.7 or seen.area.tone_u > 0.3:
        said.append(
            "It can't be told by which curve the picture's numbers stand for light; the uncertainty says so. "
            "Switch the camera's picture styles off."
        )
    elif seen.area.tone >= 0.7:
        said.append("The picture's numbers were read as light without sRGB's curve, as its edges show.")
    if not told and _curve(seen) > _UNSURE_CURVE:
        said.append(
            "What the camera itself does to light makes the diameter unsure: the edge is soft for the "
            "opening's size. Darker pictures of the same opening tell it; or go nearer."
        )
    return said


def _difference(
    photograph: Photograph,
    first: _Seen,
    other: Photograph | None,
    known: Practice,
    limit: Bounds,
    warnings: list[str],
    curve: Curve | None,
    back: bool = False,
) -> Difference | None:
    if other is None:
        return None
    if other.shape != photograph.shape:
        raise RefusedReadings(
            f"{other.name} is not as large as {photograph.name}. Take both alike, from a stand."
        )
    second = _look(other, known, curve)
    if first.refused or second.refused:
        warnings.append(f"No comparison: {second.refused or first.refused}")
        return None
    apart = math.hypot(second.area.outline.middle[0] - first.area.outline.middle[0],
                       second.area.outline.middle[1] - first.area.outline.middle[1])  # fmt: skip
    if apart > 0.25 * first.diameter_px.value:
        warnings.append(
            "The opening lies elsewhere in the second picture: was the camera moved? Use a stand."
        )
    a, b = (second, first) if back else (first, second)
    ev = difference_ev(a.diameter_px, b.diameter_px, _CURVES)
    moved = known["again.u_rel"]
    differing = abs(_curve(a) - _curve(b)) * 2 / math.log(2)
    lines = [
        *ev.budget,
        Component(OWN, differing, note="what differs with the size of the opening and the blur"),
        moved.component("scale between the pictures", moved.value * math.sqrt(2) * 2 / math.log(2)),
    ]
    ev = combine(ev.value, lines)
    low, high = ev.coverage_interval()
    return Difference(ev, low <= 0 <= high, limit, verdict(ev, limit))


def _curve(seen: _Seen) -> float:
    """Relative uncertainty of the diameter from the camera's curve."""
    lines = (one.u for one in seen.diameter_px.budget if one.name in _CURVES)
    return math.hypot(*lines) / seen.diameter_px.value
