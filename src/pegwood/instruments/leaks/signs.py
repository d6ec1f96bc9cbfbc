"""
What fog looks like, in few words: the signs by which its place is told.

Each sign is one word out of a few, read from figures against thresholds that are data (`places.toml`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.leaks.fog import Fog
from pegwood.instruments.leaks.geometry import Side

__all__ = ["Signs", "read_signs"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Signs:
    """
    Signs and the figures behind them.

    Parameters
    ----------
    edge : str
        "neither", "top", "top, faint", "bottom", "bottom, faint" or "both": where bare film beside the
        holes is fogged.
    across : str
        "no", "faint" or "clear": fog across the whole film, holes and gaps alike.
    course : str
        "none", "from the cassette", "from the take-up", "each frame", "one band" or "even": how fog across
        the
        film goes along it.
    repeat : str
        "none", "side, faint", "side", "inside, faint", "inside": what is alike in every picture.
    figures : dict of str to float
        Fog in density behind each sign.
    moving : str
        "at rest", "while moving", "cannot tell" or "no fog".
    """

    edge: str
    across: str
    course: str
    repeat: str
    figures: Mapping[str, float]
    moving: str

    def as_words(self) -> dict[str, str]:
        """By name, as the tables of chances have them."""
        return {
            "edge": self.edge,
            "across": self.across,
            "course": self.course,
            "repeat": self.repeat,
        }


def read_signs(fog: Fog, thresholds: Mapping[str, float], cassette_end: Side) -> Signs:
    """
    The signs of a strip's fog.

    Parameters
    ----------
    fog : Fog
    thresholds : mapping of str to float
        Densities from which a sign counts.
    cassette_end : "left" or "right"
        End of the scan that lay towards the cassette.

    Returns
    -------
    signs : Signs
    """
    wide = 1.0 if fog.lamp_known else thresholds["lamp_unknown_factor"]
    grain = thresholds["noise_factor"] * fog.noise
    faint, clear = (max(thresholds[k] * wide, grain) for k in ("faint", "clear"))
    upper, lower = _filled(fog.upper), _filled(fog.lower)
    through = np.minimum(upper, lower)
    over = np.maximum(through, 0)
    top, bottom = _high(upper - over), _high(lower - over)
    if not fog.lamp_known and len(fog.gaps):
        level = float(np.median(fog.gaps[:, 4:8]))
        top, bottom = (_high(one - level) + min(float(np.median(other - level)), 0.0)
                       for one, other in ((upper, lower), (lower, upper)))  # fmt: skip
    wide_fog = _high(through)
    beside = thresholds["edge_of_across"] * wide_fog if wide_fog > 1.3 * faint else 0.0
    edge = _edge(top, bottom, max(faint, beside), max(clear, beside))
    # one narrow band is seen between two or three pairs of holes only
    band = float(np.sort(through)[-3:-1].mean()) / 2 if len(through) > 6 else 0.0
    most = max(wide_fog, band)
    across = "clear" if most > 1.3 * clear else "faint" if most > 1.3 * faint else "no"
    if across != "no" and _middle_is_clean(fog, through, most):
        edge, across = "both", "no"
    course = _course(fog, through, cassette_end, thresholds) if across != "no" else "none"
    repeat, size, share = _repeat(fog, thresholds)
    moving = _moving(edge, across, course, upper, lower, repeat, faint)
    figures = {
        "top": top,
        "bottom": bottom,
        "across": most,
        "repeat": size,
        "repeat_share": share,
        "noise": fog.noise,
    }
    return Signs(edge, across, course, repeat, figures, moving)


def _filled(values: Array) -> Array:
    known = np.isfinite(values)
    if not known.any():
        return np.zeros_like(values)
    at = np.arange(len(values))
    return np.interp(at, at[known], values[known])


def _high(values: Array) -> float:
    """Mean of the highest quarter, the very highest left out."""
    ordered = np.sort(values)
    count = max(3, len(ordered) // 4)
    return float(ordered[-count - 1 : -1].mean()) if len(ordered) > count else float(ordered.mean())


def _middle_is_clean(fog: Fog, through: Array, wide_fog: float) -> bool:
    """Whether both edges are fogged and the gaps between them are not: then light came over each of them."""
    if not len(fog.gap_at):
        return False
    after = np.clip(np.searchsorted(fog.along, fog.gap_at), 1, len(through) - 1)
    edges = np.minimum(through[after - 1], through[after])  # a band may end between the two
    fogged = edges > 0.5 * wide_fog
    if not fogged.any():
        return False
    return bool(np.median(fog.gaps[fogged, 4:8].mean(axis=1) / edges[fogged]) < 0.3)


def _edge(top: float, bottom: float, faint: float, clear: float) -> str:
    if max(top, bottom) < faint:
        return "neither"
    if min(top, bottom) > clear and min(top, bottom) > 0.5 * max(top, bottom):
        return "both"
    side = "top" if top > bottom else "bottom"
    return side if max(top, bottom) > clear else f"{side}, faint"


def _course(fog: Fog, through: Array, cassette_end: Side, thresholds: Mapping[str, float]) -> str:
    """Which of a few courses describes fog across the film best (Schwarz's criterion)."""
    x, value = fog.along, through
    count = len(x)
    total = float(((value - value.mean()) ** 2).sum())
    if total / count < (0.5 * thresholds["faint"]) ** 2:
        return "even"
    tries: list[tuple[float, str]] = []

    def tried(word: str, column: Array, more: int) -> None:
        design = np.stack([np.ones(count), column], axis=1)
        fit, *_ = np.linalg.lstsq(design, value, rcond=None)
        if fit[1] <= 0:
            return
        left = float(((value - design @ fit) ** 2).sum())
        tries.append((count * np.log(left / count + fog.noise**2) + (2 + more) * np.log(count), word))

    other = "from the take-up"
    for side, gone in (("left", x - x[0]), ("right", x[-1] - x)):
        word = "from the cassette" if side == cassette_end else other
        for reach in (6.0, 12.0, 25.0, 50.0, 100.0):
            tried(word, np.exp(-gone / reach), 1)
    for centre in x[3:-3:2]:
        for width in (2.5, 5.0, 9.0):
            tried("one band", np.exp(-(((x - centre) / width) ** 2) / 2), 2)
    if len(fog.starts) >= 2:
        pitch = float(np.diff(fog.starts).mean())
        phase = np.mod(x - fog.starts[0], pitch) / pitch
        bins = np.minimum((phase * 8).astype(int), 7)
        profile = np.array([value[bins == b].mean() if (bins == b).any() else 0 for b in range(8)])
        tried("each frame", profile[bins], 6)
    return min(tries)[1] if tries else "even"


def _repeat(fog: Fog, thresholds: Mapping[str, float]) -> tuple[str, float, float]:
    """
    What lies under all pictures: densest at a side of the gate, or inside.

    Pictures differ; fog that comes with every frame is what none of them is thinner than.
    """
    if len(fog.pictures) < 2:
        return "none", 0.0, 0.0
    floor = np.sort(fog.pictures, axis=0)[0]
    rows, columns = floor.shape
    u = (np.arange(columns) + 0.5) * 36.0 / columns
    v = (np.arange(rows) + 0.5) * 24.0 / rows
    sides, lumps = [], []
    for centre in (3.0, 7.5, 12.0, 16.5, 21.0, None):
        high = np.ones(rows) if centre is None else np.exp(-(((v - centre) / 4.0) ** 2) / 2)
        for gone in (u, u[::-1]):
            sides += [_agreed(floor, high[:, None] * np.exp(-gone / reach)[None]) for reach in (2.0, 5.0)]
        if centre is None:
            continue
        for place in np.arange(8.0, 29.0, 3.0):
            a, b = u[None, :] - place, v[:, None] - centre
            lumps += [_agreed(floor, np.exp(-(a**2 + b**2) / (2 * size**2))) for size in (3.0, 5.5)]
            for turn in (0.0, 0.79, 1.57, 2.36):  # and long ones
                long, short = a * np.cos(turn) + b * np.sin(turn), b * np.cos(turn) - a * np.sin(turn)
                lumps.append(_agreed(floor, np.exp(-((long / 8.0) ** 2 + (short / 3.2) ** 2) / 2)))
    side, inside = max(sides), max(lumps)
    kind, (share, size) = ("side", side) if side[0] >= inside[0] else ("inside", inside)
    beyond, over = _beyond_at_sides(floor)
    strong = share > thresholds["repeat_clear"] and size > 2 * thresholds["clear"]
    strong |= share > thresholds["repeat_dense_share"] and size > thresholds["repeat_dense"]
    seen = over > thresholds["side_dense"]
    if kind == "inside" and strong and not (seen and beyond > thresholds["side_clear"]):
        return kind, size, share
    if (seen and beyond > thresholds["side_clear"]) or (kind == "side" and share > thresholds["side_share"]):
        return "side", max(size, over), share
    if share > thresholds["repeat_faint"] and size > thresholds["clear"]:
        return f"{kind}, faint", size, share
    return ("side, faint" if seen and beyond > thresholds["side_faint"] else "none"), size, share


def _beyond_at_sides(floor: Array) -> tuple[float, float]:
    """How far the floor at the gate's sides stands above the usual: over its spread, and in density."""
    from scipy.ndimage import uniform_filter

    best = (0.0, 0.0)
    for high, wide in ((3, 3), (5, 3), (8, 4)):
        smooth = uniform_filter(floor, (high, wide), mode="nearest")
        usual = float(np.median(smooth))
        spread = 1.48 * float(np.median(np.abs(smooth - usual))) + 0.01
        over = float(smooth[:, [0, 1, -2, -1]].max() - usual)
        best = max(best, (over / spread, over))
    return best


def _agreed(floor: Array, shape: Array) -> tuple[float, float]:
    """Share of the frame's changes that a shape explains, and its density; only density added counts."""
    flat = shape - shape.mean()
    told = floor - floor.mean()
    size = float((told * flat).sum() / (flat**2).sum())
    share = size**2 * float((flat**2).sum()) / max(float((told**2).sum()), 1e-12)
    return (share if size > 0 else 0.0), size * float(shape.max())


def _moving(
    edge: str, across: str, course: str, upper: Array, lower: Array, repeat: str, faint: float
) -> str:
    """Streaks along the travel, or spots where the film stood."""
    if edge == "neither" and across == "no":
        return "no fog" if repeat == "none" else "at rest"
    if across != "no":
        return {"each frame": "at rest", "one band": "at rest"}.get(course, "cannot tell")
    value = upper if edge.startswith("top") or edge == "both" else lower
    high = value > max(faint, 0.5 * float(np.percentile(value, 90)))
    share = float(high.mean())
    if share > 0.75:
        return "while moving"
    return "at rest" if share < 0.55 else "cannot tell"
