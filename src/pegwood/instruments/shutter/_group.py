"""A group of firings of one marked speed: mean, spread, error, first-firing effect."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from pegwood.instruments.shutter.results import Shot, Summary
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Limit, verdict

__all__ = ["SHARED", "error_ev", "summarise"]

# What all firings of a recording share does not average out; what is drawn anew at every firing does.
SHARED = {"clock", "full-open level", "clipping", "coupling", "dark level", "light ripple", "resolution"}
SHARED |= {"high-pass"}  # of a sound input
SHARED |= {"transfer function", "frame rate"}  # of a video
SHARED |= {"shape of the opening", "growth of the opening", "stop as marked"}  # at smaller stops
SHARED |= {"moment of the sound", "mirror"}  # of a microphone's recording


def summarise(firings: Sequence[Sequence[Shot]], target_s: float | None, limit: Limit | None) -> Summary:
    """
    Take all firings as one group.

    Parameters
    ----------
    firings : sequence of sequence of Shot
        For every firing what each channel saw of it.
    target_s : float or None
        Time the marking stands for, [s].
    limit : Limit or None
        The workshop's limit.

    Returns
    -------
    summary : Summary
        Empty where there is no firing.
    """
    n = len(firings)
    if n == 0:
        return Summary(0, None, None, None, None, None, verdict(None, limit), limit)
    values = np.array([np.mean([shot.effective.value for shot in firing]) for firing in firings])
    effective = combine(float(values.mean()), _of_the_mean(firings, values))
    stops = np.log2(values)
    error = None if target_s is None else error_ev(effective, target_s)
    return Summary(
        n=n,
        effective=effective,
        spread_ev=float(np.std(stops, ddof=1)) if n > 1 else None,
        range_ev=float(np.ptp(stops)) if n > 1 else None,
        error=error,
        first_firing=_first_firing(firings, stops),
        verdict=verdict(error, limit if target_s is not None else None),
        limit=limit,
    )


def error_ev(effective: Measured, target_s: float) -> Measured:
    """
    Error of a time in EV; positive lets in too much light.

    Parameters
    ----------
    effective : Measured
        Effective time, [s].
    target_s : float
        Time it should be, [s].

    Returns
    -------
    error : Measured
        log2(measured / target), [EV].
    """
    factor = 1 / (effective.value * math.log(2))
    scaled = effective.scaled(factor)
    return Measured(math.log2(effective.value / target_s), scaled.u, scaled.df, scaled.budget)


def _of_the_mean(firings: Sequence[Sequence[Shot]], values: np.ndarray) -> list[Component]:
    n = len(firings)
    shots = [shot for firing in firings for shot in firing]
    own = math.sqrt(sum(_own_variance(firing) for firing in firings)) / n
    own_df = min(c.df for shot in shots for c in shot.effective.budget)
    parts: list[Component] = []
    if n > 1:
        scatter = float(np.std(values, ddof=1)) / math.sqrt(n)
        # the scatter of the firings holds their noise already; by luck it may come out smaller
        if scatter >= own:
            parts.append(
                Component(
                    "repeatability", scatter, n - 1, "A", f"standard deviation of the mean of {n} firings"
                )
            )
        else:
            note = f"noise and sampling of {n} firings; their scatter is no larger"
            parts.append(
                Component("repeatability", own, max(n - 1.0, own_df if n > 4 else n - 1.0), "A", note)
            )
    else:
        parts.extend(c for c in shots[0].effective.budget if c.name not in SHARED) if len(
            shots
        ) == 1 else parts.append(Component("noise and sampling", own, own_df, "A", "mean of the channels"))
    for name in sorted({c.name for shot in shots for c in shot.effective.budget} & SHARED):
        found = [c for shot in shots for c in shot.effective.budget if c.name == name]
        u = sum(c.u for c in found) / len(shots)
        first = found[0]
        parts.append(Component(name, u, first.df, first.kind, first.note, first.source, first.mark))
    return parts


def _own_variance(firing: Sequence[Shot]) -> float:
    """Variance of what is drawn anew at every firing, for the mean over its channels."""
    variances = [sum(c.u**2 for c in shot.effective.budget if c.name not in SHARED) for shot in firing]
    return sum(variances) / len(firing) ** 2


def _first_firing(firings: Sequence[Sequence[Shot]], stops: np.ndarray) -> Measured | None:
    """First firing against the mean of the others, in EV."""
    n = len(stops)
    if n < 3:
        return None
    others = stops[1:]
    mean = float(np.mean([shot.effective.value for firing in firings for shot in firing]))
    own = math.sqrt(sum(_own_variance(f) for f in firings) / n) / (mean * math.log(2))
    scatter = max(float(np.std(others, ddof=1)), own)
    u = scatter * math.sqrt(1 + 1 / len(others))
    note = f"scatter of the {len(others)} other firings"
    part = Component("repeatability", u, len(others) - 1, "A", note)
    return combine(float(stops[0] - others.mean()), [part])
