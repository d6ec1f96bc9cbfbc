"""Spacing, trend and scatter from frames, with everything that makes them uncertain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from pegwood.instruments.fitting import fit_linear, polynomial
from pegwood.instruments.transport.edges import Edge
from pegwood.instruments.transport.frames import Found, FoundFrame
from pegwood.instruments.transport.limits import edge_component, end_component
from pegwood.instruments.transport.results import Frame
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["frames_of", "gate_of", "lean_of", "mean_spacing", "scatter_of", "spacings_of", "trend_of"]

_MM = 1e-3
LeanUnknown = Component(
    "rows of holes not opposite", 1.0e-3, note="0.03 mm over the 28 mm between the rows",
    source="tolerance of perforating", mark="memory",
)  # fmt: skip


def _edges_u(frames: Sequence[FoundFrame], pixel_m: float, share: float) -> tuple[Component, ...]:
    """Both ends of a distance between two frames' starts."""
    agreement = math.hypot(*(one.u for one in frames)) * _MM * share
    df = min((e.df for one in frames for e in (one.left, one.right) if e is not None), default=1.0)
    return (
        Component(
            "agreement along the edges",
            agreement,
            max(df, 1.0),
            "A",
            "bands of the first and last frame's edges",
        ),
        edge_component(pixel_m, math.sqrt(2) * share),
    )


def mean_spacing(
    found: Found, pixel_m: float, ruler_noise_m: float, flatness_m: float, ruler: Sequence[Component]
) -> Measured | None:
    """
    Mean spacing over the strip.

    Parameters
    ----------
    found : Found
    pixel_m : float
        Side of a pixel on the film, [m].
    ruler_noise_m, flatness_m : float
        Of the distance between the first and the last frame: from the scatter of the perforations, and
        from what the camera's model leaves of them, [m].
    ruler : sequence of Component
        What is not known of the ruler itself, as shares, [-].

    Returns
    -------
    pitch : Measured or None
        [m]; None where there are not two frames.
    """
    if len(found.frames) < 2:
        return None
    first, last = found.frames[0], found.frames[-1]
    steps = sum(one.steps for one in found.frames)
    value = (last.at - first.at) * _MM / steps
    return combine(
        value,
        [
            *_edges_u((first, last), pixel_m, 1 / steps),
            Component("ruler read", ruler_noise_m / steps, note="scatter of the perforations' middles"),
            Component(
                "film not flat, lens", flatness_m / steps, note="what the camera's model leaves of the ruler"
            ),
            *(replace(one, u=one.u * value) for one in ruler),
        ],
    )


def spacings_of(found: Found, pixel_m: float, ruler: Sequence[Component]) -> tuple[Measured, ...]:
    """Each spacing, [m]; where a frame between is blank, the mean over both."""
    out = []
    for before, after in zip(found.frames, found.frames[1:], strict=False):
        value = (after.at - before.at) * _MM / after.steps
        out.append(
            combine(
                value,
                [
                    *_edges_u((before, after), pixel_m, 1 / after.steps),
                    *(replace(c, u=c.u * value) for c in ruler),
                ],
            )
        )
    return tuple(out)


def scatter_of(spacings: Sequence[Measured]) -> Measured | None:
    """Standard deviation of the spacings, [m]; its own uncertainty s / sqrt(2 df), as of normal values."""
    if len(spacings) < 3:
        return None
    values = np.array([one.value for one in spacings])
    df = len(values) - 1
    s = float(values.std(ddof=1))
    return combine(
        s, [Component("few spacings", s / math.sqrt(2 * df), float(df), "A", f"{len(values)} spacings")]
    )


def trend_of(spacings: Sequence[Measured]) -> Measured | None:
    """How much each spacing is longer than the one before, [m], by a straight line."""
    if len(spacings) < 3:
        return None
    fit = fit_linear(polynomial(np.arange(len(spacings)), 1), [one.value for one in spacings])
    return fit.of((0.0, 1.0), "scatter of the spacings")


def gate_of(found: Found, pixel_m: float, ruler: Sequence[Component]) -> Measured | None:
    """Width of the gate as it lies on the film, [m]."""
    if not found.gate_of:
        return None
    value = found.gate * _MM
    blur = Component(
        "where an edge is", 0.3 * pixel_m, note="blur and the film's curve move both edges apart",
        source="a third of a pixel", mark="practice",
    )  # fmt: skip
    return combine(
        value,
        [
            Component("frames' agreement", found.gate_u * _MM, float(max(found.gate_of - 1, 1)), "A"),
            blur,
            *(replace(one, u=one.u * value) for one in ruler),
        ],
    )


def _lean(edge: Edge | None) -> Measured | None:
    if edge is None or not edge.clear or not (math.isfinite(edge.slope) and math.isfinite(edge.slope_u)):
        return None
    bands = Component("agreement along the edge", edge.slope_u, max(edge.df, 1.0), "A")
    return combine(math.atan(edge.slope), [bands, LeanUnknown])


def lean_of(found: Found) -> Measured | None:
    """How far the gate's edges lean from square, [rad]: mean over all that are seen well."""
    leans = [
        (e.slope, e.slope_u)
        for one in found.frames
        for e in (one.left, one.right)
        if e is not None and e.clear and e.share > 0.6 and math.isfinite(e.slope_u)
    ]
    if len(leans) < 2:
        return None
    slopes = np.array([s for s, _ in leans])
    usual = float(np.median(slopes))
    near = slopes[np.abs(slopes - usual) < max(6 * 1.48 * float(np.median(np.abs(slopes - usual))), 2e-3)]
    u = float(near.std(ddof=1)) / math.sqrt(len(near)) if len(near) > 1 else 2e-3
    scatter = Component("edges' agreement", u, float(max(len(near) - 1, 1)), "A", f"{len(near)} edges")
    return combine(math.atan(float(near.mean())), [scatter, LeanUnknown])


def frames_of(found: Found, pixel_m: float, sees_end: bool, ruler: Sequence[Component]) -> tuple[Frame, ...]:
    """Frames as they are told."""
    out = []
    end = (end_component(),) if sees_end else ()
    for one, after in zip(found.frames, [*found.frames[1:], None], strict=True):
        start = one.at * _MM
        edges = _edges_u((one,), pixel_m, 1.0)
        width = gap = None
        if one.left is not None and one.right is not None:
            width = _between(one.left, one.right, pixel_m)
        if one.right is not None and after is not None and after.left is not None and after.steps == 1:
            gap = _between(one.right, after.left, pixel_m)
        elif after is not None and after.steps == 1:
            value = (after.at - one.at - found.gate) * _MM
            gap = combine(
                value, [*_edges_u((one, after), pixel_m, 1.0), Component("gate", found.gate_u * _MM)]
            )
        seen = "both edges" if one.left and one.right else "left edge" if one.left else "right edge"
        out.append(
            Frame(
                combine(start, [*edges, *end, *(replace(c, u=c.u * abs(start)) for c in ruler)]),
                width,
                gap,
                seen,
                _lean(one.left),
                _lean(one.right),
            )
        )
    return tuple(out)


def _between(left: Edge, right: Edge, pixel_m: float) -> Measured:
    u = math.hypot(left.u, right.u) * _MM
    return combine(
        (right.at - left.at) * _MM,
        [
            Component("agreement along the edges", u, min(left.df, right.df), "A"),
            edge_component(pixel_m, math.sqrt(2)),
            Component(
                "blur",
                0.3 * pixel_m,
                note="a third of a pixel",
                source="this tool's own trials",
                mark="practice",
            ),
        ],
    )
