"""One channel of a recording: its pulses, what each shows, and the shots they make."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

from pegwood.instruments.recordings import Recording
from pegwood.instruments.shutter._clipped import quiet_together
from pegwood.instruments.shutter._draft import Draft
from pegwood.instruments.shutter._events import Finding, Pulse
from pegwood.instruments.shutter._figures import full_open_levels, measure
from pegwood.instruments.shutter._firing import draft
from pegwood.instruments.shutter._fitting import Edge, fit_outlines
from pegwood.instruments.shutter._flicker import COMB, FLICKERS, MAX_FLICKER, TOO_CLOSE_S, flicker_reason
from pegwood.instruments.shutter._lamp import NOT_SEEN, lamp_of, lamp_refusal
from pegwood.instruments.shutter._restored import Restored
from pegwood.instruments.shutter._ripple import Ripple, divided
from pegwood.instruments.shutter._scan import Envelope
from pegwood.instruments.shutter._stopped import AT_ITS_STOP, Top, at_a_stop, top_of
from pegwood.instruments.shutter._window import Outline, Window, load, noise_of, outline
from pegwood.instruments.shutter.results import LeftOut, Shot

__all__ = ["Channel", "lit_channels", "measure_channel", "seams_of"]

_BATCH = 64
_MAX_PULSES = 3000
_WEAK = 0.15  # of the strongest firings: less is something else
_CROSSTALK = 0.1
_SEAM = "the light changes so slowly that only undoing the input's capacitors made edges of it"
_GAP_IN_EDGE = "readings are missing where it opens or closes: look at the table"
_FLICKERING = 0.2  # share of the firings that show a flickering lamp: it flickers for the others as well


@dataclass
class Channel:
    """What one channel gave."""

    number: int
    envelope: Envelope
    finding: Finding
    shots: list[Shot] = field(default_factory=list)
    drafts: list[Draft] = field(default_factory=list)
    tops: list[Top | None] = field(default_factory=list)  # of each draft, behind capacitors
    refused: list[tuple[float, str]] = field(default_factory=list)
    height: float = 0.0
    flicker: float = 0.0


def measure_channel(channel: Channel, recording: Recording, warnings: list[str]) -> None:
    """Measure every firing of a channel into its `shots`, and keep why others were refused."""
    pulses = channel.finding.pulses
    if len(pulses) > _MAX_PULSES:
        warnings.append(
            f"Channel {channel.number} has {len(pulses)} pulses: hum or flicker, not firings. Not measured."
        )
        return
    pulses, bursts = _apart(_strong(pulses), recording.sample_rate_hz)
    channel.refused.extend((pulse.start / recording.sample_rate_hz, COMB) for pulse in bursts)
    for start in range(0, len(pulses), _BATCH):
        _measure_batch(channel, pulses[start : start + _BATCH], recording)
    rate = recording.sample_rate_hz
    _judge_stop(channel, recording)
    lamp = lamp_of(channel.drafts, rate)
    for_all = _flicker_of_others(channel)
    reasons = [for_all or lamp_refusal(d, lamp, rate) for d in channel.drafts]
    refused = zip(channel.drafts, reasons, strict=True)
    channel.refused.extend((d.pulse.start / rate, reason) for d, reason in refused if reason)
    good = channel.drafts = [d for d, reason in zip(channel.drafts, reasons, strict=True) if not reason]
    for d, level in zip(good, full_open_levels(good, rate), strict=True):
        channel.shots.append(measure(d, level, channel.number, recording, lamp))
        if not lamp.is_seen(d, rate):
            warnings.append(NOT_SEEN)
    if good:
        channel.height = max(d.pulse.height for d in good)


def _judge_stop(channel: Channel, recording: Recording) -> None:
    """Mark firings as clipped that only show it together; behind capacitors none of them can be measured."""
    if quiet_together(channel.drafts):
        channel.drafts = [replace(d, clipped=True) for d in channel.drafts]
    if not isinstance(recording, Restored):
        return
    standing = at_a_stop(channel.tops)
    stopped = [d.clipped or stands for d, stands in zip(channel.drafts, standing, strict=True)]
    drafts = list(zip(channel.drafts, stopped, strict=True))
    at = [d.pulse.start / recording.sample_rate_hz for d, is_stopped in drafts if is_stopped]
    channel.refused.extend((at_s, AT_ITS_STOP) for at_s in at)
    channel.drafts = [d for d, is_stopped in drafts if not is_stopped]


def _flicker_of_others(channel: Channel) -> str:
    """Why no firing of a channel gives figures: too many of them showed that the lamp flickers."""
    flickering = sum(FLICKERS in reason for _, reason in channel.refused)
    if not flickering or flickering < _FLICKERING * (flickering + len(channel.drafts)):
        return ""
    return flicker_reason(channel.flicker) if channel.flicker > MAX_FLICKER else COMB


def _strong(pulses: list[Pulse]) -> list[Pulse]:
    """Pulses not much weaker than the strongest ones."""
    if not pulses:
        return []
    heights = sorted((p.height for p in pulses), reverse=True)
    usual = heights[min(2, (len(heights) - 1) // 2)]
    return [p for p in pulses if p.height >= _WEAK * usual]


def _apart(pulses: list[Pulse], rate: float) -> tuple[list[Pulse], list[Pulse]]:
    """Pulses that may be firings, and those that follow one another faster than any shutter."""
    crowded: set[int] = set()
    for i, (first, second) in enumerate(pairwise(pulses)):
        if second.start - first.start < TOO_CLOSE_S * rate:
            crowded |= {i, i + 1}
    alone = [pulse for i, pulse in enumerate(pulses) if i not in crowded]
    return alone, [pulses[i] for i in sorted(crowded)]


def _measure_batch(channel: Channel, pulses: list[Pulse], recording: Recording) -> None:
    windows: list[Window] = []
    outlines: list[Outline] = []
    for pulse in pulses:
        window = load(recording, channel.number, pulse, channel.envelope)
        found = outline(window)
        if isinstance(found, str):
            if found:
                channel.refused.append((pulse.start / recording.sample_rate_hz, found))
        else:
            windows.append(window)
            outlines.append(found)
    if not windows:
        return
    shared = noise_of(windows)
    noises = [shared.scaled(1 / w.pulse.height) for w in windows]
    as_read = list(windows)
    ripples: list[Ripple | None] = [None] * len(windows)
    for i, (steady, ripple) in enumerate(divided(windows, outlines, noises, recording.sample_rate_hz)):
        again = outline(steady) if ripple is not None else ""
        if not isinstance(again, str):
            windows[i], outlines[i], ripples[i] = steady, again, ripple
    edges = fit_outlines(windows, outlines, noises)
    seams = [(at - 1, at + 1) for at in seams_of(recording, channel.number)]
    for i, (window, rough, edge, noise) in enumerate(zip(windows, outlines, edges, noises, strict=True)):
        d = draft(window, rough, edge, noise, recording.sample_rate_hz)
        d.divided = ripples[i]
        if not d.refusal and any(_touches(gap, edge) for gap in recording.gaps):
            d.refusal = _GAP_IN_EDGE
        if not d.refusal and any(_touches(seam, edge) for seam in seams):
            d.refusal = _SEAM
        if d.refusal:
            channel.refused.append((window.pulse.start / recording.sample_rate_hz, d.refusal))
            channel.flicker = max(channel.flicker, d.flicker)
        else:
            channel.drafts.append(d)
            if isinstance(recording, Restored):
                channel.tops.append(top_of(recording, channel.number, d, as_read[i]))


def seams_of(recording: Recording, channel: int) -> tuple[int, ...]:
    """
    Where readings that were put back meet those that were not.

    Parameters
    ----------
    recording : Recording
        The recording.
    channel : int
        Channel.

    Returns
    -------
    seams : tuple of int
        Samples; none where nothing was put back.
    """
    return recording.seams(channel) if isinstance(recording, Restored) else ()


def _touches(gap: tuple[int, int], edges: tuple[Edge, Edge]) -> bool:
    """Whether readings are missing in an edge, or right beside it."""
    for edge in edges:
        first, last = sorted((edge.dark, edge.full))
        beside = 0.3 * (last - first) + 2
        if gap[0] < last + beside and first - beside < gap[1]:
            return True
    return False


def lit_channels(
    channels: list[Channel], warnings: list[str], left_out: list[tuple[int, LeftOut]]
) -> list[Channel]:
    """Channels that hold light of their own: no crosstalk, no second copy of the same signal."""
    strongest = max((c.height for c in channels), default=0.0)
    lit: list[Channel] = []
    for channel in channels:
        if not channel.shots:
            continue
        if channel.height < _CROSSTALK * strongest:
            left_out.append((channel.number, "trace"))
            warnings.append(
                f"Channel {channel.number} holds only a trace of the light and was left out "
                f"(crosstalk, or a weak sensor)."
            )
        elif any(_same(channel, other) for other in lit):
            left_out.append((channel.number, "copy"))
            warnings.append(f"Channel {channel.number} is a copy of another channel and was left out.")
        else:
            lit.append(channel)
    return lit


def _same(one: Channel, two: Channel) -> bool:
    if len(one.shots) != len(two.shots):
        return False
    return all(
        abs(a.effective.value - b.effective.value) <= 1e-6 * b.effective.value and abs(a.at_s - b.at_s) < 1e-7
        for a, b in zip(one.shots, two.shots, strict=True)
    )
