"""
Is the lamp steady? What all firings of a channel say of it together, and what remains open.

A firing much shorter than a period of the mains can't show that its lamp swells and fades; three firings can,
by their full-open levels, and so can one long firing. Where none of that is in the recording, it is said; and
edges that only a lamp which is switched makes are refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from pegwood.instruments.shutter._draft import Draft
from pegwood.instruments.shutter._flicker import FLICKERS, MAX_FLICKER, flicker_reason

__all__ = ["NOT_SEEN", "Lamp", "lamp_of", "lamp_refusal"]

NOT_SEEN = (
    "Nothing in this recording shows that the lamp is steady: a short firing cannot. Fire at least three "
    "times, or once at 1/60 or slower; and use a lamp on a battery or on direct current."
)

_LONG_S = 0.012  # plateau longer than any pulse of a lamp on mains or dimmed by pulses (practice)
_SHOWS_S = 0.005  # plateau that holds half a period of the mains
_FEW = 3  # firings whose levels can be compared
_ALIKE = 1.15  # widths of firings that open alike
# What a lamp may have cut out of the dark (practice):
# edges sharper than a slit makes them, or so sharp that the samples can't tell;
_SHARP_S, _UNRESOLVED, _UNRESOLVED_S = 2e-5, 3.5, 8e-5
# or one such edge beside one so much longer.
_UNLIKE = 4.0

# Edges of one shutter differ by less than this, and those of a mains lamp are slow (practice).
_DIFFER, _SLOW_S, _SURE = 1.8, 1e-3, 4.0
_HUMP_S, _MOSTLY = 7e-3, 0.7

_SLOWER = "fire once at 1/60 or slower in the same recording, lamp and sensor untouched, to show that it is"


@dataclass(frozen=True)
class Lamp:
    """
    The lamp, as far as the firings of a channel show it.

    Parameters
    ----------
    unsteady : float
        Relative standard deviation of the full-open level between firings beyond noise, [-].
    amplitude : float
        Amplitude of its flicker by the levels of firings of one length, [-].
    is_compared : bool
        True where at least three firings show a level.
    is_seen_long : bool
        True where a firing was fully open so long that a lamp that is switched would have shown.
    ripple : float
        Amplitude that was divided out of longer firings, [-].
    edges_ms : (float, float) or None
        Shortest and longest of edges that ought to be alike, where nothing but a lamp makes them differ so.
    """

    unsteady: float
    amplitude: float
    is_compared: bool
    is_seen_long: bool
    ripple: float = 0.0
    edges_ms: tuple[float, float] | None = None

    def is_seen(self, d: Draft, rate: float) -> bool:
        """Whether the recording shows what lamp a firing had."""
        return self.is_compared or self.is_seen_long or d.n_plateau > _SHOWS_S * rate


def lamp_of(drafts: list[Draft], rate: float) -> Lamp:
    """
    What the firings of a channel show of their lamp.

    Parameters
    ----------
    drafts : list of Draft
        Firings of one channel, in order of time.
    rate : float
        Samples per second, [Hz].

    Returns
    -------
    lamp : Lamp
        What is known.
    """
    whole = [d for d in drafts if not d.clipped]
    unsteady, count = _unsteadiness(whole)
    return Lamp(
        unsteady,
        max(math.sqrt(2) * unsteady, _by_length(whole)),
        count >= max(_FEW, 0.75 * len(whole)),
        any(d.has_plateau and d.n_plateau > _LONG_S * rate for d in drafts),
        max((d.divided.amplitude for d in drafts if d.divided is not None), default=0.0),
        _unlike_edges(whole, rate),
    )


def _unlike_edges(whole: list[Draft], rate: float) -> tuple[float, float] | None:
    """
    Edges of firings of one length that differ far more than the length does, where there is little else.

    A lamp that swells and fades within a firing lends it slow edges, at another phase another time.
    """
    whole = [d for d in whole if _is_hump(d, rate)]
    widths = [d.closing.half - d.opening.half for d in whole]
    usual = float(np.median(widths)) if widths else 0.0
    alike = [d for d, width in zip(whole, widths, strict=True) if abs(width / usual - 1) < _ALIKE - 1]
    if len(alike) < _FEW:
        return None
    for edges in ([d.opening for d in alike], [d.closing for d in alike]):
        short, long = (pick(edges, key=lambda edge: edge.span) for pick in (min, max))
        clear = _SURE * math.hypot(short.u_span, long.u_span)
        if short.span > _SLOW_S * rate and long.span > max(_DIFFER * short.span, short.span + clear):
            return 1000 * short.span / rate, 1000 * long.span / rate
    return None


def _is_hump(d: Draft, rate: float) -> bool:
    """Whether it is mostly edges, and lasts as long as a lamp on mains takes to swell and fade."""
    total = d.closing.dark - d.opening.dark
    return total > _HUMP_S * rate and d.opening.span + d.closing.span > _MOSTLY * total


def _unsteadiness(whole: list[Draft]) -> tuple[float, int]:
    """Relative spread of the levels from successive differences, blind to slow drift; and of how many."""
    flat = [d for d in whole if d.has_plateau]
    chosen = flat if len(flat) >= _FEW else whole
    usual = float(np.median([d.raw_level for d in chosen])) if chosen else 0.0
    chosen = [d for d in chosen if abs(d.raw_level / usual - 1) < 0.3]  # others did not open fully
    if len(chosen) < _FEW:
        return 0.0, len(chosen)
    levels = [d.raw_level for d in chosen]
    steps = np.diff(levels) / float(np.mean(levels))
    excess = float(np.mean(steps**2)) / 2 - 4 * float(np.mean([_level_noise(d) ** 2 for d in chosen]))
    few = 1 + 2 / len(steps)  # a few firings may agree by luck
    return few * math.sqrt(max(excess, 0.0)), len(chosen)


def _level_noise(d: Draft) -> float:
    n = max(3, min(d.n_level))
    return math.sqrt(d.noise.of_sum(n)) / n / d.levels[0]


def _by_length(whole: list[Draft]) -> float:
    """Amplitude by which levels contradict lengths: who is open no longer is not open further."""
    ordered = sorted((d.closing.half - d.opening.half, d.raw_level, _level_noise(d)) for d in whole)
    apart = []
    for i, (width, level, noise) in enumerate(ordered):
        others = [
            (other - level) / (other + level) - 2 * math.hypot(noise, its_noise)
            for k, (its_width, other, its_noise) in enumerate(ordered)
            if k != i and its_width < _ALIKE * width
        ]
        apart.append(max(others, default=0.0))
    # one firing in five: a single odd one is no lamp
    return max(0.0, float(np.quantile(apart, 0.8, method="lower"))) if apart else 0.0


def lamp_refusal(d: Draft, lamp: Lamp, rate: float) -> str:
    """
    Why a firing gives no figures for what is not known of its lamp.

    Parameters
    ----------
    d : Draft
        The firing.
    lamp : Lamp
        What all firings of the channel show.
    rate : float
        Samples per second, [Hz].

    Returns
    -------
    reason : str
        Empty where it gives figures.
    """
    amplitude = lamp.amplitude if d.divided is not None else max(lamp.amplitude, lamp.ripple)
    if amplitude > MAX_FLICKER:
        return flicker_reason(amplitude)
    if lamp.edges_ms is not None and d.divided is None and not lamp.is_seen_long:
        short, long = lamp.edges_ms
        return (
            f"an edge takes {short:.2g} ms in one firing and {long:.2g} ms in another of the same length, so "
            f"perhaps {FLICKERS}: {_SLOWER} steady"
        )
    spans = sorted((d.opening.span, d.closing.span))
    sharp = max(_SHARP_S * rate, min(_UNRESOLVED, _UNRESOLVED_S * rate))
    if spans[0] < sharp and spans[1] > _UNLIKE * spans[0] and not lamp.is_seen_long:
        return f"one edge is a jump and the other is not, so perhaps {FLICKERS}: {_SLOWER} steady"
    if spans[1] < sharp and not lamp.is_seen_long:
        return f"its edges are as sharp as those of a lamp dimmed by pulses: {_SLOWER} steady"
    return ""
