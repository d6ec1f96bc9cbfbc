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
from pegwood.instruments.leaks.pictures import Repeats, repeats_of

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
    gate : str
        "straight" or "bulges": the sides of all pictures.
    figures : dict of str to float
        Fog in density behind each sign.
    moving : str
        "at rest", "while moving", "cannot tell" or "no fog".
    repeats : Repeats
        What the pictures say of fog that comes with every frame; `repeat` in figures.
    """

    edge: str
    across: str
    course: str
    repeat: str
    gate: str
    figures: Mapping[str, float]
    moving: str
    repeats: Repeats

    def as_words(self) -> dict[str, str]:
        """By name, as the tables of chances have them."""
        return {
            "edge": self.edge,
            "across": self.across,
            "course": self.course,
            "repeat": self.repeat,
            "gate": self.gate,
        }


def read_signs(
    fog: Fog,
    density: float,
    thresholds: Mapping[str, float],
    weights: Mapping[str, float],
    cassette_end: Side,
) -> Signs:
    """
    The signs of a strip's fog.

    Parameters
    ----------
    fog : Fog
    density : float
        From which fog on bare film plainly counts, [1].
    thresholds : mapping of str to float
        Shares and factors by which a sign counts.
    weights : mapping of str to float
        As `repeats_of` takes them.
    cassette_end : "left" or "right"
        End of the scan that lay towards the cassette.

    Returns
    -------
    signs : Signs
    """
    wide = 1.0 if fog.lamp_known else thresholds["lamp_unknown_factor"]
    grain = thresholds["noise_factor"] * fog.noise
    faint, clear = (max(share * density * wide, grain) for share in (thresholds["faint_share"], 1.0))
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
    course = _course(fog, through, cassette_end, faint) if across != "no" else "none"
    repeats = repeats_of(fog.pictures, weights)
    repeat = _repeat(repeats, thresholds)
    gate = "bulges" if fog.bulge > thresholds["bulge_mm"] else "straight"
    moving = _moving(edge, across, course, upper, lower, repeat, faint)
    figures = {
        "top": top,
        "bottom": bottom,
        "across": most,
        "noise": fog.noise,
    }
    return Signs(edge, across, course, repeat, gate, figures, moving, repeats)


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
    beside = (fog.gap_at >= fog.along[0]) & (fog.gap_at <= fog.along[-1])
    if not beside.any():
        return False
    gap_at, gaps = fog.gap_at[beside], fog.gaps[beside]
    after = np.clip(np.searchsorted(fog.along, gap_at), 1, len(through) - 1)
    edges = np.minimum(through[after - 1], through[after])  # a band may end between the two
    fogged = edges > 0.5 * wide_fog
    if not fogged.any():
        return False
    return bool(np.median(gaps[fogged, 4:8].mean(axis=1) / edges[fogged]) < 0.3)


def _edge(top: float, bottom: float, faint: float, clear: float) -> str:
    if max(top, bottom) < faint:
        return "neither"
    if min(top, bottom) > clear and min(top, bottom) > 0.5 * max(top, bottom):
        return "both"
    side = "top" if top > bottom else "bottom"
    return side if max(top, bottom) > clear else f"{side}, faint"


def _course(fog: Fog, through: Array, cassette_end: Side, faint: float) -> str:
    """Which of a few courses describes fog across the film best (Schwarz's criterion)."""
    x, value = fog.along, through
    count = len(x)
    total = float(((value - value.mean()) ** 2).sum())
    if total / count < (0.5 * faint) ** 2:
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


def _repeat(repeats: Repeats, thresholds: Mapping[str, float]) -> str:
    """What lies under all pictures, in a word."""
    kind, most = ("side", repeats.side) if repeats.side >= repeats.inside else ("inside", repeats.inside)
    if most > thresholds["repeat_clear"]:
        return kind
    return f"{kind}, faint" if most > thresholds["repeat_faint"] else "none"


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
