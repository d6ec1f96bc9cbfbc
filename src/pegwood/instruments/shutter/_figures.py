"""From drafts of one channel to firings with their figures and budgets."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter import _stamped
from pegwood.instruments.shutter._curve import draw
from pegwood.instruments.shutter._draft import Draft, Level
from pegwood.instruments.shutter._fitting import Edge
from pegwood.instruments.shutter._flicker import REMEDY, edge_doubt
from pegwood.instruments.shutter._lamp import Lamp
from pegwood.instruments.shutter._resolved import resolved_at
from pegwood.instruments.shutter._restored import Held, Restored
from pegwood.instruments.shutter._ripple import Ripple
from pegwood.instruments.shutter.results import Shot
from pegwood.instruments.uncertainty import Component, Mark, Measured, combine

__all__ = ["CLOCK_PPM", "full_open_levels", "measure"]

CLOCK_PPM = 100.0
_CLOCK_SOURCE = "Crystals of sound cards and microcontrollers: 50 to 100 ppm, from memory"
_CLOCK_NOTE = f"rate of the converter, within {CLOCK_PPM:.0f} ppm, and of the time stamps where there are any"
_CALIBRATED_NOTE = "rate of the converter, calibrated"
_LONG_S = 0.01  # a slit this long has surely uncovered the whole sensor
_LOWER = 0.93
_PEAK_SHORT = 0.2  # blades that reach no plateau may have turned back up to this far below fully open
_CLIP_SHARE = 1.0
_ONE_LEVEL_U = 0.03
# Where an edge begins and ends rests on the shape of its model. Tried on ramps, powers, cosines, polynomials,
# simulated blades and curtains, what it misses is below this share of the edge,
_SHAPE = 0.03
# grows with what the model leaves over (as a fraction of full light),
_SHAPE_MISSED = 60.0
# and where noise hides foot and shoulder may be as much as
_SHAPE_UNSEEN = 0.35
# The shoulder alone, where full light begins or ends, is met better than foot and shoulder together.
_SHOULDER = 0.016
_SHOULDER_MISSED = 15.0
_SHOULDER_UNSEEN = 0.06
_STEP = 3.0  # samples
# Noise of half a step of the converter carries a mean across its steps: of the rounding error's first
# harmonic, step / pi, exp(-2 pi^2 / 4) is left (Widrow and Kollar, Quantization Noise, 2008; from memory).
# More is asked, for two readings that take turns have as much, and noise as seen holds the rounding's own.
_SMOOTHED = 0.75
_HALF_MISSED = 1.0  # near half height an edge rises as steeply as it ever does: a misfit moves it by no more

Array = NDArray[np.float64]


def full_open_levels(drafts: list[Draft], sample_rate_hz: float) -> list[Level]:
    """
    Full-open level of every firing of a channel.

    Parameters
    ----------
    drafts : list of Draft
        Firings of one channel.
    sample_rate_hz : float
        Samples per second, [Hz].

    Returns
    -------
    levels : list of Level
        Own plateau where it can be trusted, else the plateau of others, else the firing's own peak.
    """
    seen = [d.raw_level for d in drafts if d.has_plateau and not d.clipped]
    long = [
        d.raw_level
        for d in drafts
        if d.has_plateau and not d.clipped and d.closing.half - d.opening.half > _LONG_S * sample_rate_hz
    ]
    return [_level_of(d, seen, long, sample_rate_hz) for d in drafts]


def _level_of(d: Draft, seen: list[float], long: list[float], rate: float) -> Level:
    own = d.raw_level
    width = d.closing.half - d.opening.half
    if d.has_plateau:
        if long and width < _LONG_S * rate and own < _LOWER * float(np.median(long)):
            d.warnings.append(
                f"Its plateau is only {100 * own / float(np.median(long)):.0f} % of the full-open "
                f"level of longer firings: "
                "the slit is narrower than the sensor, or the blades did not open fully. Their level "
                "was used."
            )
            return Level(float(np.median(long)), _spread(long), "others", "full-open level of longer firings")
        return Level(own, 0.0, "plateau")
    if seen and own < 1.05 * float(np.median(seen)):
        value = float(np.median(seen))
        if own < 0.95 * value:
            d.warnings.append(f"The blades reached only {100 * own / value:.0f} % of the full-open level.")
        return Level(
            value, _spread(seen), "others", f"full-open level of {len(seen)} other firings in this channel"
        )
    d.warnings.append(
        "No plateau, and no other firing here shows the full-open level: time is relative to the "
        "firing's own peak and "
        "efficiency is withheld. Fire once at a slower speed in the same recording, lamp and sensor "
        "untouched."
    )
    note = (
        f"own peak taken as full-open; blades may have turned back up to {100 * _PEAK_SHORT:.0f} % below it"
    )
    return Level(own, _PEAK_SHORT / math.sqrt(3), "peak", note)


def _spread(levels: list[float]) -> float:
    """Relative uncertainty of a level taken from others."""
    if len(levels) < 2:
        return _ONE_LEVEL_U
    return max(float(np.std(levels, ddof=1)) / float(np.mean(levels)), 0.002)


def measure(d: Draft, level: Level, channel: int, recording: Recording, lamp: Lamp) -> Shot:
    """
    Figures of one firing.

    Parameters
    ----------
    d : Draft
        What it shows by itself.
    level : Level
        Full-open level.
    channel : int
        Channel.
    recording : Recording
        Where it comes from.
    lamp : Lamp
        What all firings of the channel show of it.

    Returns
    -------
    shot : Shot
        With budgets.
    """
    dt = 1 / recording.sample_rate_hz
    scaled = level.value / d.pulse.height
    levels = d.levels if level.kind == "plateau" else (scaled, scaled)
    if d.n_plateau and level.kind == "plateau":
        inside = float(d.n_plateau)
    else:
        inside = d.n_plateau * 0.5 * sum(d.levels) / scaled if d.n_plateau else 0.0
    from_edges = [d.edge_sums[i] / levels[i] for i in (0, 1)]
    extra = d.bounce / levels[1]
    from_edges[1] += extra  # held against the same light, and as noisy
    by_stamps = _stamped.by_stamps(d, levels, recording, channel)
    samples = inside + sum(from_edges) + by_stamps[0]
    components = _components(d, level, levels, from_edges, samples, recording, channel, lamp)
    if by_stamps[1] > 0:
        components.append(Component("time stamps", by_stamps[1] * dt, note=_stamped.NOTE))
    effective = combine(samples * dt, components)
    bridged = isinstance(recording, Restored) and recording.is_bridged(channel, d.opening.dark)
    if bridged:
        d.warnings.append(_BRIDGED)
    _warn(d, samples, recording.sample_rate_hz, lamp.unsteady)
    total, opening, closing = _durations(d, dt, _clock(recording))
    efficiency = None if bridged else _efficiency(effective, total, level, d)
    half_open, half_closed = _instants(d, level, dt)
    return Shot(
        at_s=d.opening.dark * dt,
        channel=channel,
        effective=effective,
        total=total,
        opening=opening,
        closing=closing,
        efficiency=efficiency,
        half_height_s=_half_height(d, level, dt),
        bounce=d.bounce_end is not None,
        bounce_extra_s=extra * dt,
        curve=draw(d, levels, dt),
        warnings=tuple(d.warnings),
        moments=_moments(d, dt),
        half_open=half_open,
        half_closed=half_closed,
    )


_CORNERS_NOTE = "corners of the input's high-pass, by least squares over the darkness of all firings"
_BRIDGED = (
    "The capacitors of the input left only its two edges: they were timed, and the light between them is "
    "taken to have stayed. Efficiency can't be had."
)
_GATHERED_NOTE = "noise that undoing the high-pass gathers, beyond what the readings have of their own"


def _moments(d: Draft, dt: float) -> dict[str, Measured]:
    """First light, and where there is a plateau its ends, from the start of the recording."""
    foot = _shape_doubt(d.opening)
    found = {"first light": _moment(d.opening.dark, d.opening.u_dark, foot * d.opening.span, dt)}
    if d.has_plateau:
        for name, edge in (("fully open", d.opening), ("begins to close", d.closing)):
            unseen = _SHOULDER_UNSEEN * math.sqrt(edge.vagueness)
            shoulder = _SHOULDER + _SHOULDER_MISSED * edge.misfit + unseen
            found[name] = _moment(edge.full, edge.u_full, shoulder * edge.span, dt)
    return found


def _moment(at: float, fitted: float, shape: float, dt: float) -> Measured:
    parts = [
        Component("fit of the edge", fitted * dt, note="noise, and what the edge's model can't follow"),
        Component("shape of the edge", shape * dt, note="foot and shoulder are extrapolated"),
        Component("sampling of the light", 0.3 * dt, note="edges fall between two samples"),
    ]
    return combine(at * dt, parts)


def _clock(recording: Recording) -> float:
    """Relative standard uncertainty of the time base."""
    by_crystal = CLOCK_PPM * 1e-6 / math.sqrt(3) if recording.clock_u is None else recording.clock_u
    return math.hypot(by_crystal, recording.sample_rate_u)


def _half_height(d: Draft, level: Level, dt: float) -> float | None:
    """Width at half of the full-open level; None where the edges were read against another level."""
    if level.kind == "others" and abs(d.raw_level / level.value - 1) > 0.05:
        return None
    return (d.closing.half - d.opening.half) * dt


def _components(
    d: Draft,
    level: Level,
    levels: tuple[float, float],
    from_edges: list[float],
    samples: float,
    recording: Recording,
    channel: int,
    lamp: Lamp,
) -> list[Component]:
    dt = 1 / recording.sample_rate_hz
    parts = [
        Component(
            "noise",
            dt * math.sqrt(_noise_variance(d, level, levels, from_edges)),
            d.noise.df,
            "A",
            "readings while an edge lasts, the dark level and the full-open level; from the darkness "
            "of the record, "
            "with its autocorrelation",
        ),
        Component(
            "sampling",
            dt * math.hypot(_sampling(d.opening.span), _sampling(d.closing.span)),
            note="edges fall between two samples; nothing is known about the shape in between",
        ),
    ]
    edge_time = 0.5 * (d.opening.span + d.closing.span)
    mean_level = 0.5 * sum(levels)
    hidden = d.resolution / math.sqrt(12)
    if d.noise.sigma < _SMOOTHED * d.resolution:
        u = dt * hidden / mean_level * math.sqrt(2) * edge_time
        parts.append(Component("resolution", u, note="steps of the converter, not smoothed by noise"))
    if level.relative_u > 0:
        whole = samples if d.n_plateau == 0 or level.kind != "plateau" else sum(from_edges)
        source = "Workshop's assumption" if level.kind == "peak" else ""
        mark: Mark = "practice" if source else ""
        u = dt * whole * level.relative_u
        parts.append(Component("full-open level", u, math.inf, "B", level.note, source, mark))
    if d.clipped:
        u = dt * (d.opening.span + d.closing.span) * _CLIP_SHARE / math.sqrt(3)
        parts.append(
            Component(
                "clipping",
                u,
                note="the plateau is cut off; the edges may go on up to three times as high",
                source="Workshop's assumption",
                mark="practice",
            )
        )
    doubts = _doubts(d, lamp, dt)
    if max(doubts) > 0 or d.divided is not None:
        left = 0.0 if d.divided is None else d.divided.u
        both = (math.hypot(doubt, left) * edge for doubt, edge in zip(doubts, from_edges, strict=True))
        note = f"light wavers by {100 * max(d.ripple, d.flicker / math.sqrt(2), lamp.unsteady):.2g} % (rms)"
        if d.divided is not None:
            note = f"ripple of {_swing(d.divided)} divided out; after that the {note}"
        parts.append(Component("light ripple", dt * math.hypot(*both), note=note))
    if abs(d.bent) > 1e-5:
        note = f"light in the middle of the firing {100 * d.bent:+.2g} % off that beside its edges"
        parts.append(Component("light while open", dt * d.n_plateau * abs(d.bent) / math.sqrt(3), note=note))
    beyond = max(0.0, abs(d.undershoot) - 2 * d.undershoot_u) if math.isfinite(d.undershoot_u) else 0.02
    if beyond > 0:
        name = "coupling" if d.undershoot >= 0 else "dark level"
        parts.append(
            Component(
                name,
                dt * 0.5 * beyond * edge_time,
                note=f"darkness after closing differs by {100 * d.undershoot:.2g} % of full light",
            )
        )
    if isinstance(recording, Restored):
        by_corners, by_noise = recording.doubt(channel, _held(d, level, levels, from_edges, samples), d.dark)
        parts.append(Component("high-pass", dt * by_corners, note=_CORNERS_NOTE))
        parts.append(Component("restoring", dt * by_noise, d.noise.df, "A", _GATHERED_NOTE))
    u = dt * samples * _clock(recording)
    if recording.clock_u is None:
        parts.append(Component("clock", u, note=_CLOCK_NOTE, source=_CLOCK_SOURCE, mark="memory"))
    else:
        parts.append(Component("clock", u, note=_CALIBRATED_NOTE))
    return parts


def _held(
    d: Draft, level: Level, levels: tuple[float, float], from_edges: list[float], samples: float
) -> list[Held]:
    """What the effective time is made of: each edge, held against the plateau beside it; or the whole."""
    begins, ends = d.opening.dark, d.closing.dark
    if level.kind != "plateau":
        return [Held((begins, ends), (0.0, 0.0), level.value, samples)]
    opened, closes = begins + d.opening.span, ends - d.closing.span
    ends = ends if d.bounce_end is None else d.bounce_end
    height = d.pulse.height
    return [
        Held((begins, opened), (opened, opened + d.n_level[0]), levels[0] * height, from_edges[0]),
        Held((closes, ends), (closes - d.n_level[1], closes), levels[1] * height, from_edges[1]),
    ]


def _doubts(d: Draft, lamp: Lamp, dt: float) -> tuple[float, float]:
    """Relative doubt about the light of each edge: what this firing shows, or what the others let expect."""
    distance = 0.5 * (d.closing.half - d.opening.half) * dt
    swell = d.swell if d.divided is not None else max(d.swell, lamp.ripple)
    least = max(lamp.unsteady, edge_doubt(swell, distance), 0.6 * d.sudden)
    return max(d.level_doubts[0], least), max(d.level_doubts[1], least)


def _noise_variance(d: Draft, level: Level, levels: tuple[float, float], from_edges: list[float]) -> float:
    """Variance of the exposure by noise, in samples squared."""
    noise, variance = d.noise, 0.0
    lit_edge = 0.5 * (1 + d.lit_ratio)
    n_before, n_after = d.dark_weight
    dark = [0.0, 0.0]
    for i, n in enumerate((d.n_edge[0], d.n_edge[1] + d.n_bounce)):
        variance += noise.of_sum(n) * lit_edge / levels[i] ** 2
        # what one unit of error in the dark level does to this edge, and to the plateau it is held against
        pull = n / levels[i]
        if level.kind == "plateau":
            pull -= from_edges[i] / levels[i]
        dark[i] += pull
    if level.kind == "plateau":
        shares = [from_edges[i] / levels[i] for i in (0, 1)]
        if d.is_whole and levels[0] == levels[1]:  # one mean serves both edges
            shares = [sum(shares), 0.0]
        for share, n in zip(shares, d.n_level, strict=True):
            variance += noise.of_sum(n) * d.lit_ratio / n**2 * share**2
    elif d.n_plateau:
        variance += noise.of_sum(d.n_plateau) * d.lit_ratio / levels[0] ** 2
        dark = [pull + 0.5 * d.n_plateau / levels[0] for pull in dark]
    if n_before == 0 or n_after == 0:
        n = max(n_before, n_after, 1)
        return variance + noise.of_sum(n) / n**2 * sum(dark) ** 2
    return variance + sum(
        noise.of_sum(n) / n**2 * pull**2 for n, pull in zip((n_before, n_after), dark, strict=True)
    )


def _sampling(span: float) -> float:
    """
    Standard uncertainty of an edge's place by sampling it at a random phase, in samples.

    The error of a sum against the integral across a ramp of length r holds only the harmonics of the
    sampling, each weakened by sinc(k r); the envelope 1 / (pi k r) is taken, since the true shape between
    samples is not known.
    """
    weights = [min(1.0, 1 / (math.pi * k * max(span, 1e-9))) for k in range(1, 8)]
    return math.sqrt(sum(2 * (w / (2 * math.pi * k)) ** 2 for k, w in enumerate(weights, start=1)))


def _durations(d: Draft, dt: float, clock: float) -> tuple[Measured, Measured, Measured]:
    """Total, opening and closing time."""
    end = d.closing.dark if d.bounce_end is None else max(d.bounce_end, d.closing.dark)
    both = [(d.opening.u_dark, d.opening), (d.closing.u_dark, d.closing)]
    total = _duration(end - d.opening.dark, both, dt, clock)
    opening = _duration(d.opening.span, [(d.opening.u_span, d.opening)], dt, clock)
    closing = _duration(d.closing.span, [(d.closing.u_span, d.closing)], dt, clock)
    return total, opening, closing


def _duration(samples: float, ends: list[tuple[float, Edge]], dt: float, clock: float) -> Measured:
    fitted = math.hypot(*(u for u, _ in ends))
    # both edges of a shutter are of one kind: what the model misses adds up
    shape = sum(_shape_doubt(edge) * edge.span for _, edge in ends)
    sampling = 0.3 * math.sqrt(2)
    return combine(
        samples * dt,
        [
            Component("fit of the edge", fitted * dt, note="noise, and what the edge's model can't follow"),
            Component("shape of the edge", shape * dt, note="foot and shoulder are extrapolated"),
            Component("sampling", sampling * dt, note="edges fall between two samples"),
            Component("clock", samples * dt * clock, note=_CLOCK_NOTE, source=_CLOCK_SOURCE, mark="memory"),
        ],
    )


def _instants(d: Draft, level: Level, dt: float) -> tuple[Measured | None, Measured | None]:
    """When the light passes half of a full-open level that was seen; the clock's rate is left out."""
    if level.kind != "plateau" or d.clipped:
        return None, None
    return _instant(d.opening, d.noise.df, dt), _instant(d.closing, d.noise.df, dt)


def _instant(edge: Edge, df: float, dt: float) -> Measured:
    # an edge of hardly more than a sample is a step somewhere between two of them: no fit knows better
    sampling = _sampling(edge.span) if edge.span > _STEP else 0.5
    return combine(
        edge.half * dt,
        [
            Component("fit of the edge", edge.u_half * dt, df, "A", "noise while the edge lasts"),
            Component("sampling", sampling * dt, note="edges fall between two samples"),
            Component(
                "shape of the edge",
                _HALF_MISSED * edge.misfit * edge.span * dt,
                note="what the edge's model leaves over",
            ),
        ],
    )


def _shape_doubt(edge: Edge) -> float:
    """How far foot and shoulder may lie from where the model puts them, as a share of the edge."""
    return _SHAPE + _SHAPE_MISSED * edge.misfit + _SHAPE_UNSEEN * math.sqrt(edge.vagueness)


def _efficiency(effective: Measured, total: Measured, level: Level, d: Draft) -> Measured | None:
    """Effective over total time; withheld where the full-open level was not seen."""
    if level.kind == "peak" or d.clipped or total.value <= 0:
        return None
    value = effective.value / total.value
    parts = [
        Component("effective time", value * effective.u / effective.value, effective.df, "B", "relative"),
        Component("total time", value * total.u / total.value, total.df, "B", "relative"),
    ]
    return combine(value, parts)


def _swing(ripple: Ripple) -> str:
    return f"{100 * ripple.amplitude:.2g} % at {ripple.hertz:.3g} Hz"


def _warn(d: Draft, samples: float, rate: float, unsteady: float) -> None:
    if d.clipped:
        d.warnings.append(
            "The plateau is clipped: total time stands, the effective time is uncertain by the edges "
            "and efficiency is "
            "withheld. Turn the gain or the lamp down."
        )
    can = resolved_at(rate)
    if can.too_few(samples / rate):
        d.warnings.append(
            f"Only {samples:.0f} samples while open: {rate:g} samples per second suit times down to "
            f"{can.suited}."
        )
    if d.bounce_end is not None:
        d.warnings.append("The blades let in light again after closing (bounce); its exposure is counted.")
    if d.divided is not None:
        d.warnings.append(f"The lamp ripples by {_swing(d.divided)}, which was divided out: {REMEDY}.")
    wavers = 100 * max(d.ripple, d.flicker / math.sqrt(2), unsteady)
    if wavers > 2:
        d.warnings.append(f"The light wavers by {wavers:.0f} % (rms): {REMEDY}.")
    if 0 in d.dark_weight:
        d.warnings.append(
            "Darkness was recorded on one side of the firing only. Leave half a second before and after."
        )
