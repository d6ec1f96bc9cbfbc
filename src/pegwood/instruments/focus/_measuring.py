"""The modulation transfer of an edge that has been found: settled, evened out, cut into parts, judged."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.focus._judging import alike_blocks, check_light, check_slant, doubts
from pegwood.instruments.focus._lamp import Lamp, lamp_of
from pegwood.instruments.focus._spectrum import Through, crossing
from pegwood.instruments.focus._spline import Knots, basis
from pegwood.instruments.focus._strip import Line, Strip, cut, profile_of, settle
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["EdgeFigures", "measured"]

Array = NDArray[np.float64]
Light = NDArray[np.float32]

WINDOW = 2.0
"""Half of the window, in lengths of 1 / MTF50: a Gaussian is over at 0.6 of it."""
LEAST_CLEAR = 1.0
"""The least there must be clear on both sides, in the same lengths."""
FINEST = 0.5
"""Distance of the profile's knots for a sharp edge, [pixel]."""
_ENOUGH = 40_000
"""Pixels to take aim by."""
_LAMP_SHARE = 0.5
"""Standard uncertainty of the lamp's bow where it was not plain enough to be taken out, as a share of it."""
_METHOD, _STORING = 0.001, 0.007
"""Standard uncertainty of the method itself, and of storing in blocks, as shares of MTF50: what was left on
simulated edges of known MTF. Plain sides are stored as one level, rounded, and no noise averages that out: in
JPEG of quality 70 it moved MTF50 by up to 1.2 % one way or the other, the same for all parts of an edge."""
_STORED_FROM, _STORED_SHARP = 0.2, 0.25
"""Above this MTF50 [cycles/pixel] storing in blocks takes of the fine detail itself: so much more for each
cycle per pixel, as a share. In JPEG of quality 70, edges of 200 pixels, it left 1.4 % at 0.21, 3 % at 0.29 to
0.32 and 5 % at 0.38 (root mean square, simulated), too low on the whole."""
_BLOCK, _SPREAD = 24.0, 4.0
"""Pixels that have their noise in common: a block of JPEG, and what a camera's colours are mixed from."""
_UNDONE_SHARE = 0.06
"""Standard uncertainty of what is undone for the window, as a share of it: perfect lenses, discs and mixtures
of them with Gaussians left 0 to 0.2 of it when simulated."""


@dataclass(frozen=True)
class EdgeFigures:
    """
    What one edge tells.

    Parameters
    ----------
    mtf50 : Measured
        Frequency at which half the modulation is left, [cycles/pixel], along the edge's normal.
    f, mtf : array, shape (n,)
        The curve, corrected; frequencies in [cycles/pixel].
    away, profile : array, shape (m,)
        The edge's profile, dark 0 and bright 1, over the distance from the edge, [pixel].
    line : Line
        Where it lies.
    overshoot : float
        How far the profile passes its bright or dark level, as a share of the step, [-].
    noise : float
        Standard deviation of a pixel's light over the step, [-].
    warnings : tuple of str
    """

    mtf50: Measured
    f: Array
    mtf: Array
    away: Array
    profile: Array
    line: Line
    overshoot: float
    noise: float
    warnings: tuple[str, ...]


def measured(light: Light, line: Line, lossy: bool = False) -> EdgeFigures:
    """
    Measure an edge.

    Parameters
    ----------
    light : array, shape (height, width)
        Linear light, 0 black to 1 white.
    line : Line
        About where it lies: to some pixels and degrees.
    lossy : bool
        Whether the picture was stored with loss, in blocks (JPEG).

    Returns
    -------
    figures : EdgeFigures

    Raises
    ------
    RefusedReadings
        If the edge cannot be measured: why, and what to change.
    """
    line, f50 = _aimed(light, line)
    half_window = min(WINDOW / f50, line.half_width / 1.25)
    if half_window < LEAST_CLEAR / f50:
        raise RefusedReadings(
            "the blur reaches to the end of what is clear beside the edge. Take the picture so that both "
            "sides are plain further out, or begin nearer to focus"
        )
    half_width = min(line.half_width, max(1.8 * half_window, half_window + 12))
    line = replace(line, half_width=half_width)
    strip = _inside(cut(light, line))
    check_light(strip, 0.6 * half_window)
    check_slant(strip)
    seen = _Seen(strip, Knots(half_width, max(FINEST, 0.1 / f50)), half_window, f50, lossy)
    for degree in (1, 3, 3):
        seen = seen.again(degree)
    return seen.figures()


def _inside(strip: Strip) -> Strip:
    use = np.abs(strip.away) < strip.line.half_width
    return replace(strip, light=strip.light[use], d=strip.d[use], t=strip.t[use])


def _centred(strip: Strip, knots: Knots) -> tuple[Strip, Array]:
    """The same with the edge where the profile stands half way, and that profile."""
    inside = _inside(strip)
    coefficients, _, _ = profile_of(knots, inside.away, inside.light)
    bend = strip.bend.copy()
    bend[0] += _half_way(knots, coefficients)
    strip = replace(strip, bend=bend)
    inside = _inside(strip)
    return strip, profile_of(knots, inside.away, inside.light)[0]


def _drawn(knots: Knots, coefficients: Array, x: Array) -> Array:
    first, s = knots.place(x)
    drawn: Array = (basis(s) * np.stack([coefficients[first + i] for i in range(4)])).sum(axis=0)
    return drawn


def _half_way(knots: Knots, coefficients: Array) -> float:
    x = np.linspace(-0.9, 0.9, 721) * knots.half_width
    height = _drawn(knots, coefficients, x)
    outside = np.abs(x) > 0.6 * knots.half_width
    low, high = np.median(height[outside & (x < 0)]), np.median(height[outside & (x > 0)])
    if not high > low:
        raise RefusedReadings(_NO_EDGE)
    over = height > (low + high) / 2
    crossed = x[1:][over[1:] & ~over[:-1]]
    about = 0.9 * knots.half_width * (1 - 2 * float(((height - low) / (high - low)).mean()))
    return float(crossed[np.argmin(np.abs(crossed - about))]) if len(crossed) else about


_NO_EDGE = (
    "there is no edge from dark to bright here. Fill the picture with one, or look at a region that has one"
)


def _aimed(light: Light, line: Line) -> tuple[Line, float]:
    """The line itself, from about there, and about how sharp it is."""
    strip = cut(light, line)
    if len(strip.light) < 200:
        raise RefusedReadings("too little of the edge is in the picture. Show more of it")
    some = slice(None, None, max(1, len(strip.light) // _ENOUGH))
    strip = replace(strip, light=strip.light[some], d=strip.d[some], t=strip.t[some])
    for step in (4.0, 2.0):
        strip = settle(strip, step, 1)
    reach = line.half_width - min(4.0, 0.1 * line.half_width)
    strip = replace(strip, line=replace(line, half_width=reach))
    f50, step = 0.0, 1.0
    for turn in range(4):
        knots = Knots(reach, step)
        strip, coefficients = _centred(strip, knots)
        guess = f50 or 0.2
        through = Through(knots, min(reach, 2.5 / f50) if f50 else reach, guess, line.degrees)
        spectrum = np.abs(through.matrix @ coefficients)
        found = crossing(through.f, spectrum / spectrum[0])
        f50 = min(found if found else 2 * guess, 0.9)
        step = max(FINEST, 0.1 / f50)
        if turn < 2:
            strip = settle(strip, step, 1)
    strip, _ = _centred(strip, Knots(reach, step))
    aside, turned = float(strip.bend[0]), math.atan(strip.bend[1] / line.half_length)
    return (
        Line(
            line.x + aside * math.cos(line.normal),
            line.y + aside * math.sin(line.normal),
            line.normal - turned,
            line.half_length,
            reach,
        ),
        f50,
    )


@dataclass(frozen=True)
class _Seen:
    """An edge with what is known of it so far."""

    strip: Strip
    knots: Knots
    half_window: float
    f50: float
    lossy: bool
    ab: Array | None = None

    @property
    def through(self) -> Through:
        return Through(self.knots, self.half_window, self.f50, self.strip.line.degrees)

    @property
    def tail(self) -> float:
        """Of a perfect lens: its MTF falls off from zero by 4 / pi of f over the cut-off."""
        return 0.0 if self.ab is None else 2 / math.pi**2 * float(self.ab[0]) / self.f50

    @property
    def near(self) -> float:
        return 0.6 * self.half_window

    def lamp(self, use: NDArray[np.bool_] | slice = slice(None), bowed: bool | None = None) -> Lamp:
        """How the light lies, from all pixels or some."""
        strip = self.strip
        reach = (strip.line.half_width, strip.line.half_length)
        seen = (strip.light[use], strip.away[use], strip.t[use])
        return lamp_of(*seen, reach, self.near, self.tail, bowed, _BLOCK if self.lossy else _SPREAD)

    def even(self, lamp: Lamp, use: NDArray[np.bool_] | slice = slice(None)) -> Array:
        return lamp.evened(self.strip.light[use], self.strip.away[use], self.strip.t[use], self.near)

    def again(self, degree: int) -> _Seen:
        """One more round: evened out, settled, its spectrum looked at."""
        settled = settle(replace(self.strip, light=self.even(self.lamp())), self.knots.step, degree, steps=4)
        strip = replace(self.strip, bend=settled.bend)
        seen = replace(self, strip=_inside(strip))
        even = seen.even(seen.lamp())
        coefficients = profile_of(self.knots, seen.strip.away, even)[0]
        through = seen.through
        spectrum = np.abs(through.matrix @ coefficients)
        spectrum = spectrum / spectrum[0]
        ab = through.fitted(spectrum)
        f50 = crossing(through.f, through.undone(spectrum, ab)) or self.f50
        return replace(seen, f50=f50, ab=ab * [f50 / self.f50, (f50 / self.f50) ** 2])

    def figures(self) -> EdgeFigures:
        """The spectrum, its parts left out in turn (jackknife), and what they make of MTF50."""
        strip, through = self.strip, self.through
        length = 2 * strip.line.half_length
        parts = int(np.clip(length / 16, 6, 14))
        part = np.clip(((strip.t / length + 0.5) * parts).astype(np.intp), 0, parts - 1)
        lamp = self.lamp()
        even = self.even(lamp)
        coefficients = profile_of(self.knots, strip.away, even)[0]
        self._check_profile(coefficients, even, part, parts)
        without = []
        for b in range(parts):
            use = part != b
            others = self.even(self.lamp(use, lamp.bowed), use)
            without.append(through.matrix @ profile_of(self.knots, strip.away[use], others)[0])
        scatter = (parts - 1) * np.var(np.array(without), axis=0)
        spectrum = _modulus(through.matrix @ coefficients, scatter)
        ab = through.fitted(spectrum)

        def crossed(one: NDArray[np.complex128]) -> float | None:
            moduli = _modulus(one, scatter)
            return crossing(through.f, through.undone(moduli, through.fitted(moduli, ab, 4)))

        mtf = through.undone(spectrum, ab)
        f50 = crossing(through.f, mtf)
        kept = np.array([at for one in without if (at := crossed(one)) is not None])
        if f50 is None or len(kept) < parts - 1:
            raise RefusedReadings(
                "half the modulation is still there at the finest detail these pixels can show, or noise "
                "hides where it is lost. Take the picture from further away, or with more light"
            )
        other = None
        if not lamp.bowed:
            bowed = self.even(self.lamp(bowed=True))
            other = crossed(through.matrix @ profile_of(self.knots, strip.away, bowed)[0])
        figure = self._combined(
            f50, kept, crossing(through.f, spectrum) or f50, f50 if other is None else other
        )
        if figure.u > 0.15 * f50:
            raise RefusedReadings(
                f"noise leaves MTF50 uncertain by {100 * figure.u / f50:.0f} %. Give more light, or show "
                "more of the edge"
            )
        x = np.linspace(-1, 1, 241) * min(1.2 * self.half_window, self.knots.half_width)
        profile = _drawn(self.knots, coefficients, x)
        residual = even - _drawn(self.knots, coefficients, strip.away)
        over = max(float(profile.max()) - 1, -float(profile.min()))
        noise = float(np.std(residual))
        return EdgeFigures(
            figure,
            through.f,
            mtf,
            x,
            profile,
            strip.line,
            over,
            noise,
            doubts(f50, over, noise, len(even), self.lossy),
        )

    def _combined(self, f50: float, without: Array, raw: float, other: float) -> Measured:
        """MTF50 with its budget, from what it is without each part, through the window, by another lamp."""
        parts = len(without)
        u = math.sqrt((parts - 1) * float(np.var(without)))
        note = f"{parts} parts of the edge, each left out in turn"
        if self.lossy and (alike := alike_blocks(self.strip.line)) > 1.5:
            u *= alike
            note += f"; times {alike:.1f}, since at this angle the blocks of storing meet the edge alike"
        shares = (
            ("window", _UNDONE_SHARE * abs(f50 - raw), "what spreads beyond the window, undone by a form"),
            (
                "uneven light",
                _LAMP_SHARE * abs(f50 - other),
                "whether it falls off otherwise across the edge",
            ),
            ("method", _METHOD * f50, "left over on edges of known MTF, simulated"),
            ("storing", self._stored(f50) * f50, "what storing in blocks rounds and takes away, simulated"),
        )
        return combine(
            f50,
            [
                Component("noise, pixels and storing", u, parts - 1, "A", note),
                *(Component(name, size, note=why) for name, size, why in shares),
            ],
        )

    def _stored(self, f50: float) -> float:
        """Standard uncertainty of storing with loss, as a share of MTF50."""
        return (_STORING + _STORED_SHARP * max(0.0, f50 - _STORED_FROM)) * self.lossy

    def _check_profile(self, coefficients: Array, even: Array, part: NDArray[np.intp], parts: int) -> None:
        x = np.linspace(-0.96, 0.96, 97) * self.knots.half_width
        height = _drawn(self.knots, coefficients, x)
        far = np.abs(x) > 0.75 * self.half_window
        if np.abs(height - (x > 0))[far].max() > 0.12:
            raise RefusedReadings(
                "there is more than one edge here, or a pattern beside it. Use a plain card, or look at "
                "a region with one straight edge and plain sides"
            )
        residual = even - _drawn(self.knots, coefficients, self.strip.away)
        step = 1e-3
        slope = _drawn(self.knots, coefficients, np.clip(self.strip.away + step, *self._ends)) - _drawn(
            self.knots, coefficients, np.clip(self.strip.away - step, *self._ends)
        )
        slope /= 2 * step
        aside = np.bincount(part, residual * slope, parts) / np.maximum(
            np.bincount(part, slope * slope, parts), 1e-12
        )
        if (
            np.abs(self.strip.bend[1:]).sum() > 0.3 * self.strip.line.half_width
            or np.std(aside) > 0.1 / self.f50
        ):
            raise RefusedReadings(
                "the edge is bent or ragged. Use a straight one, a fresh cut or a razor blade, and a "
                "shorter part of it"
            )

    @property
    def _ends(self) -> tuple[float, float]:
        return -self.knots.half_width, self.knots.half_width


def _modulus(spectrum: NDArray[np.complex128], scatter: Array) -> Array:
    """Without the floor of noise: the square of a noisy modulus is too large by the noise's variance."""
    modulus = np.sqrt(np.maximum(np.abs(spectrum) ** 2 - scatter, 1e-12))
    out: Array = modulus / modulus[0]
    return out
