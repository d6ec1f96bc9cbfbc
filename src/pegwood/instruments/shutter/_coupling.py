"""Is an input coupled through capacitors, where do its firings lie, and what were they before?"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._highpass import (
    Corners,
    Fit,
    believed,
    fit,
    gathered,
    merged,
    sags_less,
)
from pegwood.instruments.shutter._noise import rough_sigma
from pegwood.instruments.shutter._restored import Coupling, Opening, Restored
from pegwood.instruments.shutter._scan import Envelope
from pegwood.instruments.shutter._steady import Known, Steady

__all__ = [
    "CALIBRATED",
    "base_of",
    "best_fit",
    "is_coupled",
    "openings_in",
    "restore",
    "speaks_against",
    "steps_of",
]

_OPENS, _ARMED = 0.3, 0.15  # of the highest swing: an opening begins; another may begin
_GUARD_BEFORE_S, _GUARD_AFTER_S = 1.5e-3, 4e-3  # between an edge and what is taken for darkness
_BOUNCE_S = 0.05
_DARK_S = 0.5  # of darkness on either side, at the most
_TAU = 8.0  # time constants in which the input settles
_LEAST_DARK_S = 0.02
_UNCHANGED = 3.0  # standard uncertainties
_TELLS_LITTLE = 4.0  # times the uncertainty: with so much left out nothing is known any more
_GUARDS_S = (0.0, 0.008, 0.02, 0.05)  # more to leave out behind an edge that rebounds or fades
LENGTHS_S = (0.5, 0.25, 0.12, 0.06, 0.03)  # of constant light beside an edge, to fit
_WIDEST_BIN_S = 5e-3  # those of an hour
_FEWEST_BINS = 8
_BEGINS_BINS = 60
_ENOUGH = 12  # firings tell whether there is a capacitor,
_MOST = 60  # and so many edges what its corner is
_EDGE_S = 0.02  # after which an edge is taken to be over
_STEP_S = 0.5  # of steady light beside an edge, at the most
_LEAST_STEP_S = 0.04
_WANDER = 0.003  # of the swing: beyond, the middle of a firing is not believed

DARK = "found in the darkness"
CALIBRATED = "calibrated"
STEPS = "found in the darkness and in the steady light beside each edge"


def is_coupled(envelope: Envelope, recording: Recording) -> bool:
    """
    Whether a channel came through a capacitor, by its envelope alone.

    Parameters
    ----------
    envelope : Envelope
        From the first pass.
    recording : Recording
        What it was made of.

    Returns
    -------
    is_coupled : bool
        True where a high-pass is clear beyond doubt.
    """
    if envelope.bin_samples > _WIDEST_BIN_S * recording.sample_rate_hz:
        return False  # too coarse to tell an edge from darkness
    step = envelope.bin_samples / recording.sample_rate_hz
    base = base_of(envelope)
    rows, height = [], 0.0
    found = openings_in(envelope, recording)
    for one in found[:: len(found) // _ENOUGH + 1]:
        bins = one.in_bins(envelope.bin_samples)
        y = envelope.mean[bins.start : bins.stop].astype(np.float64) - base
        if min(bins.left - bins.start, bins.stop - bins.right) >= _FEWEST_BINS:
            steady = Steady.read(y, bins, step, 1)
            rows.append(steady.rows(len(y), 0))
            height = max(height, steady.highest)
    return believed([one for one in rows if one is not None], height) is not None


def restore(
    recording: Recording,
    envelopes: list[Envelope],
    light: Collection[int],
    calibrated: Corners | None = None,
) -> Restored | None:
    """
    Put the light curve back as it was before the capacitors.

    Parameters
    ----------
    recording : Recording
        As it came.
    envelopes : list of Envelope
        From the first pass, one for each channel.
    light : collection of int
        Channels that hold light; others stay as they are.
    calibrated : Corners, optional
        What is known of the input beforehand.

    Returns
    -------
    restored : Restored or None
        None where no channel shows firings behind one or two capacitors.
    """
    couplings: list[Coupling | None] = []
    openings: list[tuple[Opening, ...]] = []
    for channel, envelope in enumerate(envelopes):
        dark = openings_in(envelope, recording) if channel in light else []
        coupling, dark = _fitted(recording, channel, dark, base_of(envelope), calibrated)
        couplings.append(coupling)
        openings.append(tuple(Opening(one) for one in dark))
    if not any(couplings):
        return None
    restored = Restored(
        name=recording.name,
        sample_rate_hz=recording.sample_rate_hz,
        n_channels=recording.n_channels,
        n_samples=recording.n_samples,
        format=recording.format,
        sample_rate_u=recording.sample_rate_u,
        timing_u_s=recording.timing_u_s,
        gaps=recording.gaps,
        warnings=recording.warnings,
        clock_u=recording.clock_u,
        inner=recording,
        couplings=tuple(couplings),
        openings=tuple(openings),
    )
    return replace(restored, openings=tuple(_bridged(restored, k) for k in range(len(couplings))))


def speaks_against(
    recording: Recording, envelopes: list[Envelope], light: list[int], calibrated: Corners
) -> bool:
    """
    Whether the darkness of a recording that shows no capacitor rules out the input that was calibrated.

    Parameters
    ----------
    recording, envelopes, light
        As in `restore`.
    calibrated : Corners
        What was calibrated.

    Returns
    -------
    speaks_against : bool
        True where a channel clearly sags less than it would behind that input.
    """
    for channel in light:
        dark = openings_in(envelopes[channel], recording)
        base = base_of(envelopes[channel])
        if best_fit(recording, channel, dark, base) is not None:
            continue
        steady = gathered(recording, channel, dark[:: len(dark) // _MOST + 1], base)
        if any(sags_less(one, calibrated) for one in steady or ()):
            return True
    return False


def _bridged(restored: Restored, channel: int) -> tuple[Opening, ...]:
    """The firings of a channel, those whose middle is lost in gathered noise by their edges only."""
    coupling, found = restored.couplings[channel], []
    for opening in restored.openings[channel]:
        steps = steps_of(opening.dark, restored.sample_rate_hz)
        if coupling is not None and steps:
            # behind a second capacitor the noise of a minute is a minute squared
            highest = float(np.abs(restored.inner.read(opening.start, opening.stop)[:, channel]).max())
            if restored.wander(channel, opening) > _WANDER * (highest - abs(coupling.base)):
                most = round(max(_TAU / coupling.a, _LEAST_STEP_S) * restored.sample_rate_hz)
                opening = Opening(opening.dark, (steps[0].within(most), steps[1].within(most)))
        found.append(opening)
    return tuple(found)


def steps_of(dark: Known, rate: float, most_s: float = _STEP_S) -> list[Known]:
    """
    Both edges of a firing as steps between darkness and steady light; none where it is too short.

    Parameters
    ----------
    dark : Known
        The darkness beside it.
    rate : float
        Samples per second, [Hz].
    most_s : float
        Steady light beside each, at the most, [s].

    Returns
    -------
    steps : list of Known
        Opening and closing.
    """
    opened, closes = dark.left + round(_EDGE_S * rate), dark.right - round(_EDGE_S * rate)
    lit = min((closes - opened) // 2, round(most_s * rate))
    if lit < _LEAST_STEP_S * rate:
        return []
    return [
        Known(dark.start, dark.left, opened, opened + lit, lit=1),
        Known(closes - lit, closes, dark.right, dark.stop, lit=0),
    ]


def base_of(envelope: Envelope) -> float:
    """
    What the dark input settles at: as the record begins, for later it may be open more than closed.

    Parameters
    ----------
    envelope : Envelope
        From the first pass.

    Returns
    -------
    base : float
        In the unit of the readings.
    """
    first = envelope.mean[:_BEGINS_BINS]
    whole = float(envelope.high.max() - envelope.low.min())
    return float(np.median(first if float(np.ptp(first)) < 0.1 * whole else envelope.mean))


def openings_in(envelope: Envelope, recording: Recording, dark_s: float = _DARK_S) -> list[Known]:
    """
    Where the light leaves darkness with a swing, and where it came back to it.

    Parameters
    ----------
    envelope : Envelope
        From the first pass.
    recording : Recording
        What it was made of.
    dark_s : float
        Darkness on either side, at the most, [s].

    Returns
    -------
    dark : list of Known
        The darkness before and after each firing, in order of time.
    """
    base, bin_samples = base_of(envelope), envelope.bin_samples
    up, down = envelope.high - base, base - envelope.low
    highest = float(max(up.max(), down.max()))
    starts = np.flatnonzero(np.maximum(up, down) > 0.5 * highest)
    if highest <= 0 or not len(starts):
        return []
    swing, back = (up, down) if up[starts[0]] >= down[starts[0]] else (down, up)
    opens = _openings(swing, float(swing.max()))
    bounce = round(_BOUNCE_S * recording.sample_rate_hz / bin_samples)
    edges = []
    for first, beyond in zip(opens, [*opens[1:], len(swing)], strict=True):
        least = _ARMED * float(swing.max())
        after = back[first:beyond]
        if float(after.max()) > least:
            closed = first + int(after.argmax())
        else:
            closed = first + _down_again(swing[first:beyond], least, bounce)
        edges.append((first * bin_samples, (closed + 1) * bin_samples))
    return _with_darkness(edges, recording, dark_s)


def _down_again(swing: NDArray[np.floating], least: float, bounce: int) -> int:
    """Last bin above `least` before it stays down for as long as blades bounce."""
    above = np.flatnonzero(swing > least)
    gaps = np.flatnonzero(np.diff(above) > bounce)
    return int(above[gaps[0]] if len(gaps) else above[-1])


def _openings(swing: NDArray[np.floating], highest: float) -> list[int]:
    """Bins in which it swings up, after it was down."""
    clear = np.flatnonzero((swing > _OPENS * highest) | (swing < _ARMED * highest))
    up = swing[clear] > _OPENS * highest
    up[1:] &= ~up[:-1]
    opens: list[int] = clear[up].tolist()
    return opens


def _with_darkness(edges: list[tuple[int, int]], recording: Recording, dark_s: float) -> list[Known]:
    rate, n = recording.sample_rate_hz, recording.n_samples
    before, after, dark = (round(s * rate) for s in (_GUARD_BEFORE_S, _GUARD_AFTER_S, dark_s))
    least = round(_LEAST_DARK_S * rate)
    found = []
    for i, (opens, closed) in enumerate(edges):
        start = (edges[i - 1][1] + opens) // 2 if i else 0
        stop = (closed + edges[i + 1][0]) // 2 if i + 1 < len(edges) else n
        one = Known(
            max(start, opens - before - dark),
            opens - before,
            closed + after,
            min(stop, closed + after + dark),
        )
        if one.left - one.start >= least and one.stop - one.right >= least:
            found.append(one)
    return found


def _fitted(
    recording: Recording, channel: int, dark: list[Known], base: float, calibrated: Corners | None
) -> tuple[Coupling | None, list[Known]]:
    """Corners by least squares over the darkness, and the firings with no more of it than they settle in."""
    found, origin = best_fit(recording, channel, dark, base), DARK
    if found is None:
        steps = [step for one in dark for step in steps_of(one, recording.sample_rate_hz)]
        found, origin = best_fit(recording, channel, steps, base), STEPS
    if calibrated is not None and dark:
        found, origin = _with_calibration(found, calibrated, origin, recording, channel, dark)
    if found is None:
        return None, dark
    it = found.corners
    most = round(max(_TAU / it.slower, 4 * _LEAST_DARK_S) * recording.sample_rate_hz)
    noise = (it.gain, found.rows)
    coupling = Coupling(it.a, it.b, it.bend, it.covariance, found.sigma, base, origin, *noise)
    guard = round(found.guard_s * recording.sample_rate_hz)
    return coupling, [one.guarded(guard).within(most) for one in dark]


def _with_calibration(
    found: Fit | None,
    calibrated: Corners,
    origin: str,
    recording: Recording,
    channel: int,
    dark: list[Known],
) -> tuple[Fit, str]:
    """What the recording says of its input and what is known of it beforehand, as one."""
    if found is None:
        y = recording.read(dark[0].start, dark[0].left)[:, channel].astype(np.float64)
        return Fit(calibrated, rough_sigma(y)), CALIBRATED
    both = merged(found.corners, calibrated)
    if both is None:
        return found, f"{origin} (the saved calibration says otherwise and was left out: is it this input's?)"
    return replace(found, corners=both), f"{origin} and calibrated"


def best_fit(
    recording: Recording,
    channel: int,
    known: list[Known],
    base: float,
    lengths_s: Sequence[float] = LENGTHS_S,
) -> Fit | None:
    """
    The fit over as much constant light beside each edge as tells most.

    Beyond the tail an integral only gathers noise. Which length is best is judged by the uncertainty that
    each promises, not by what it finds; where any shows a second capacitor, only those count that do.

    Parameters
    ----------
    recording, channel, known, base
        As in `fit`.
    lengths_s : sequence of float
        Lengths to try, [s].

    Returns
    -------
    fit : Fit or None
        None where no high-pass is clear.
    """
    reach = round((max(lengths_s) + max(_GUARDS_S)) * recording.sample_rate_hz)
    used = [one.within(reach) for one in known[:: len(known) // _MOST + 1]]
    steady = gathered(recording, channel, used, base)
    if not steady:
        return None
    by_guard: list[Fit] = []
    for guard_s in _GUARDS_S:
        best: Fit | None = None
        for most_s in lengths_s:
            found = fit(steady, most_s, guard_s)
            if found is not None and (best is None or _tells_more(found, best)):
                best, lengths = found, (most_s,)
        if best is not None:
            by_guard.append(best)
            lengths_s = lengths  # with more left out behind the edge the same length is tried again
    return next((one for i, one in enumerate(by_guard) if _stands(one, by_guard[i + 1 :])), None)


def _stands(one: Fit, others: Sequence[Fit]) -> bool:
    """Whether leaving out more behind the edges changes nothing: what rebounds or fades there is over."""
    a, u = one.corners.a, one.corners.covariance[0, 0]
    return all(
        abs(a - other.corners.a) < _UNCHANGED * math.sqrt(u + other.corners.covariance[0, 0])
        for other in others
        if (other.corners.b > 0) == (one.corners.b > 0)
        and other.corners.covariance[0, 0] < _TELLS_LITTLE**2 * u
    )


def _tells_more(one: Fit, other: Fit) -> bool:
    if one.is_clean != other.is_clean:
        return one.is_clean
    if (one.corners.b > 0) != (other.corners.b > 0):
        return one.corners.b > 0
    return bool(one.corners.covariance[0, 0] < other.corners.covariance[0, 0])
