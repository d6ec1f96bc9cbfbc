"""Is an input coupled through capacitors, and what were its firings before them?"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

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
from pegwood.instruments.shutter._openings import (
    BOUNCE_S,
    FEWEST_BINS,
    LEAST_DARK_S,
    LEAST_STEP_S,
    base_of,
    openings_in,
    steps_of,
)
from pegwood.instruments.shutter._restored import Coupling, Opening, Restored
from pegwood.instruments.shutter._scan import Envelope
from pegwood.instruments.shutter._steady import Known, Steady, undone

__all__ = ["CALIBRATED", "LENGTHS_S", "best_fit", "is_coupled", "restore", "speaks_against"]

_BLOCK_S = 1e-3
_BOUNCES, _CLEARLY, _ROUNDS = 0.02, 6.0, 2  # of the highest swing; times the scatter; fits
_TAU = 8.0  # time constants in which the input settles
_UNCHANGED = 3.0  # standard uncertainties
_TELLS_LITTLE = 4.0  # times the uncertainty: with so much left out nothing is known any more
_ALIKE = 0.2  # sums of the same corners
_GUARDS_S = (0.0, 0.008, 0.02, 0.05)  # more to leave out behind an edge that rebounds or fades
LENGTHS_S = (0.5, 0.25, 0.12, 0.06, 0.03)  # of constant light beside an edge, to fit
_WIDEST_BIN_S = 5e-3  # those of an hour
_ENOUGH = 12  # firings tell whether there is a capacitor,
_MOST = 60  # and so many edges what its corner is
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
        if min(bins.left - bins.start, bins.stop - bins.right) >= FEWEST_BINS:
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
        coupling, dark = _fitted(recording, channel, dark, envelope, calibrated)
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
                most = round(max(_TAU / coupling.a, LEAST_STEP_S) * restored.sample_rate_hz)
                opening = Opening(opening.dark, (steps[0].within(most), steps[1].within(most)))
        found.append(opening)
    return tuple(found)


def _fitted(
    recording: Recording, channel: int, dark: list[Known], envelope: Envelope, calibrated: Corners | None
) -> tuple[Coupling | None, list[Known]]:
    """Corners by least squares over the darkness, and the firings with no more of it than they settle in."""
    base = base_of(envelope)
    swing = float(max(envelope.high.max() - base, base - envelope.low.min()))
    found, origin = best_fit(recording, channel, dark, base), DARK
    for _ in range(_ROUNDS):
        if found is None:
            break
        behind = [_behind_bounce(recording, channel, one, found, base, swing) for one in dark]
        again = None if behind == dark else best_fit(recording, channel, behind, base)
        if again is None:
            break
        found, dark = again, behind
    if found is None:
        steps = [step for one in dark for step in steps_of(one, recording.sample_rate_hz)]
        found, origin = best_fit(recording, channel, steps, base), STEPS
    if calibrated is not None and dark:
        found, origin = _with_calibration(found, calibrated, origin, recording, channel, dark)
    if found is None:
        return None, dark
    it = found.corners
    most = round(max(_TAU / it.slower, 4 * LEAST_DARK_S) * recording.sample_rate_hz)
    noise = (it.gain, found.rows)
    coupling = Coupling(it.a, it.b, it.bend, it.covariance, found.sigma, base, origin, *noise)
    guard = round(found.guard_s * recording.sample_rate_hz)
    return coupling, [one.guarded(guard).within(most) for one in dark]


def _behind_bounce(
    recording: Recording, channel: int, one: Known, found: Fit, base: float, swing: float
) -> Known:
    """
    The same darkness from where it is dark: a tail that recovers faster hides the falling of a small bounce.

    With the corners known the light just behind the edge is put back against the darkness further on.
    """
    rate = recording.sample_rate_hz
    block, beside = max(1, round(_BLOCK_S * rate)), round(BOUNCE_S * rate)
    n = (one.stop - one.right) // block * block
    if n < 2 * beside:
        return one
    y = recording.read(one.right, one.right + n)[:, channel].astype(np.float64) - base
    it = found.corners
    light = undone(y, 1 / rate, it.a, it.b, it.bend).reshape(-1, block).mean(axis=1)
    at, dark = np.arange(len(light)), slice(beside // block, None)
    light -= np.polyval(np.polyfit(at[dark], light[dark], 1), at)
    least = max(_BOUNCES * swing, _CLEARLY * float(np.std(light[dark])))
    lit = np.flatnonzero(light[: beside // block] > least)
    return one.guarded((int(lit[-1]) + 2) * block) if len(lit) else one


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
    stand = [one for i, one in enumerate(by_guard) if _stands(one, by_guard[i + 1 :])]
    if not stand:
        return None
    # a bounce that was taken for darkness leaves more over than noise does; behind a long guard only the
    # slower of two corners is left
    alike = [one for one in stand if abs(one.corners.a / stand[0].corners.a - 1) < _ALIKE]
    return next((one for one in alike if one.is_clean), stand[0])


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
