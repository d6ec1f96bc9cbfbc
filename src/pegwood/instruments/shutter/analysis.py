"""From a recording of a light gate to effective exposure times with their uncertainty."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

from pegwood.instruments.recordings import Recording, RefusedRecording
from pegwood.instruments.shutter._contacts import read_contacts
from pegwood.instruments.shutter._coupling import Restored, is_coupled, restore
from pegwood.instruments.shutter._draft import Draft
from pegwood.instruments.shutter._events import Finding, Pulse, find_pulses
from pegwood.instruments.shutter._figures import CLOCK_PPM, full_open_levels, measure
from pegwood.instruments.shutter._firing import draft
from pegwood.instruments.shutter._fitting import fit_outlines
from pegwood.instruments.shutter._flicker import COMB, FLICKERS, MAX_FLICKER, TOO_CLOSE_S, flicker_reason
from pegwood.instruments.shutter._group import summarise
from pegwood.instruments.shutter._lamp import NOT_SEEN, lamp_of, lamp_refusal
from pegwood.instruments.shutter._scan import Envelope, scan
from pegwood.instruments.shutter._window import Outline, Window, load, noise_of, outline
from pegwood.instruments.shutter.marked import MarkedSpeed, Reading
from pegwood.instruments.shutter.results import LeftOut, Shot, ShutterResult
from pegwood.instruments.shutter.stops import at_stops, stops_below
from pegwood.instruments.verdicts import Limit

__all__ = ["METHOD", "analyse", "required_bandwidth_hz"]

METHOD = (
    "Light gate, sensor DC-coupled. Effective time = exposure / full-open illuminance (te = 1/E0 * "
    "integral of E dt, "
    "as in ISO 516), the light curve integrated above the dark level before and after each firing; "
    "E0 is the mean of "
    "the plateau. First and last light, fully open and beginning to close are where a smooth edge "
    "(F = 1 - (1 - x^p)^q, fitted to the whole edge) meets 0 % and 100 % of E0; opening and closing "
    "time run between "
    "them, total time from first to last light. Half-height width at 50 % of E0, a second figure only. "
    f"Clock within {CLOCK_PPM:.0f} ppm. The sensor must be smaller than the slit of a focal-plane shutter. "
    "The lamp must be steady (battery or direct current): one short firing cannot show that it is not."
)

RESTORED_METHOD = METHOD.replace(
    "sensor DC-coupled",
    "sensor AC-coupled: the high-pass of the input, one pole or two, is found by least squares in the "
    "darkness before and after each firing, and undone",
)

_AC_REFUSED = (
    "The record looks AC-coupled (the light sags while it is on, or swings past darkness): its times were "
    "not given. Leave half a second of darkness around each firing, keep the peaks whole, or use an input "
    "that is DC-coupled."
)

#: Said of a group whose slowest and fastest lie further apart than any one marked speed should.
DIFFER = "The firings differ by more than 1 EV: are they all of one marked speed? Look at each."

_BATCH = 64
_MAX_PULSES = 3000
_WEAK = 0.15  # of the strongest firings: less is something else
_CROSSTALK = 0.1
_TOLD = 5
_FLICKERING = 0.2  # share of the firings that show a flickering lamp: it flickers for the others as well


@dataclass(frozen=True)
class _Told:
    """What is known of the shutter beforehand."""

    marked: MarkedSpeed | None
    reading: Reading
    limit: Limit | None
    widest: float | None
    contact: int | None
    kind: str | None


@dataclass
class _Channel:
    """What one channel gave."""

    number: int
    envelope: Envelope
    finding: Finding
    shots: list[Shot] = field(default_factory=list)
    drafts: list[Draft] = field(default_factory=list)
    refused: list[tuple[float, str]] = field(default_factory=list)
    height: float = 0.0
    flicker: float = 0.0


def required_bandwidth_hz(total_s: float) -> float:
    """
    Bandwidth of detector and recorder that ISO 516:2019 asks for: flat within 3 dB from d.c. to 100 / t0.

    Parameters
    ----------
    total_s : float
        Total time t0, above zero, [s].

    Returns
    -------
    bandwidth : float
        [Hz].

    Raises
    ------
    ValueError
        If the time is not above zero.
    """
    if not total_s > 0:
        raise ValueError(f"A total time must be above zero, not {total_s!r} s")
    return 100 / total_s


def analyse(
    recording: Recording,
    *,
    marked: MarkedSpeed | None = None,
    reading: Reading = "exact",
    limit: Limit | None = None,
    widest: float | None = None,
    contact: int | None = None,
    kind: str | None = None,
    progress: Callable[[float], None] | None = None,
) -> ShutterResult:
    """
    Find the firings in a recording and measure each.

    Parameters
    ----------
    recording : Recording
        What the light gate gave.
    marked : MarkedSpeed, optional
        What the dial said.
    reading : "exact" or "as marked"
        How the marking is read.
    limit : Limit, optional
        The workshop's limit for this shutter and marking.
    widest : float, optional
        f-number of the full aperture at which a leaf shutter was recorded; asks for its smaller stops, [-].
    contact : int, optional
        Channel that holds a flash contact's closing beside the light, counted from 0.
    kind : str, optional
        Kind of shutter, one of `KINDS`, by which the contact is judged; a leaf shutter where not given.
    progress : callable, optional
        Called with the fraction done, 0 to 1.

    Returns
    -------
    result : ShutterResult
        No firing found is an empty list and a warning.

    Raises
    ------
    RefusedRecording
        If the recording turns out damaged while it is read, or has no such channel beside the light.
    ValueError
        If `widest` can't be an f-number.
    """
    if widest is not None:
        stops_below(widest)
    if contact is not None:
        _check_contact(recording, contact)
    tell = progress or (lambda _: None)
    told = _Told(marked, reading, limit, widest, contact, kind)
    envelopes = scan(recording, lambda done: tell(0.6 * done))
    result = _read(recording, envelopes, told, lambda done: tell(0.6 + 0.4 * done))
    light = [number for number in range(recording.n_channels) if number != contact]
    is_sagging = any(is_coupled(envelopes[number], recording) for number in light)
    if result.coupling == "DC" and not is_sagging:
        return result
    restored = restore(recording, envelopes, light)
    if restored is not None:
        again = _read(restored, scan(restored), told, lambda _: None)
        if again.coupling == "DC":
            notes = (*again.notes, *_corner_notes(restored))
            return replace(again, coupling="AC", method=RESTORED_METHOD, notes=notes)
    return _without_figures(result) if is_sagging else result


def _read(
    recording: Recording, envelopes: list[Envelope], told: _Told, tell: Callable[[float], None]
) -> ShutterResult:
    """Everything behind the first pass."""
    marked, reading, contact = told.marked, told.reading, told.contact
    target_s = None if marked is None else marked.seconds(reading)
    channels = [
        _Channel(number, envelope, find_pulses(envelope, recording.sample_rate_hz, recording.n_samples))
        for number, envelope in enumerate(envelopes)
        if number != contact
    ]
    warnings: list[str] = list(recording.warnings)
    for i, channel in enumerate(channels):
        _measure_channel(channel, recording, warnings)
        tell((i + 1) / len(channels))
    left_out: list[tuple[int, LeftOut]] = []
    lit = _lit_channels(channels, warnings, left_out)
    coupling = _judge_coupling(channels, lit, warnings)
    shots = sorted((s for c in lit for s in c.shots), key=lambda s: (s.at_s, s.channel))
    firings = _by_firing(shots)
    _tell_refused(channels, lit, warnings)
    if not shots:
        warnings.append(_nothing_found(channels))
    summary = summarise(firings, target_s, told.limit)
    if summary.range_ev is not None and summary.range_ev > 1:
        warnings.append(DIFFER)
    stops = None
    if told.widest is not None:
        stops, unstopped = at_stops(firings, told.widest)
        warnings.extend(unstopped)
    contacts = None
    if contact is not None:
        swing = max((c.height for c in lit), default=0.0)
        seen_first = [firing[0] for firing in firings]
        contacts, unseen = read_contacts(recording, contact, seen_first, told.kind or "leaf", swing)
        warnings.extend(unseen)
        if contacts and told.kind is None:
            warnings.append("Kind of shutter not given: its contact is judged as that of a leaf shutter.")
    return ShutterResult(
        file=recording.name,
        method=METHOD,
        coupling=coupling,
        sample_rate_hz=recording.sample_rate_hz,
        shots=tuple(shots),
        summary=summary,
        warnings=tuple(dict.fromkeys(warnings)),
        notes=tuple(_notes(shots, recording)),
        marked=marked,
        reading=reading,
        at_stops=stops,
        contacts=contacts,
        n_channels=recording.n_channels,
        unread=tuple((c.number, at, reason) for c in channels for at, reason in c.refused),
        left_out=tuple(left_out),
    )


def _without_figures(result: ShutterResult) -> ShutterResult:
    """The same without its shots: they were read as if the input passed direct current."""
    if not result.shots:
        return result
    return replace(
        result,
        coupling="AC",
        shots=(),
        summary=summarise([], None, None),
        at_stops=None if result.at_stops is None else (),
        contacts=None if result.contacts is None else (),
        warnings=tuple(dict.fromkeys((*result.warnings, _AC_REFUSED))),
    )


def _corner_notes(restored: Restored) -> list[str]:
    """The high-pass of each channel, in words."""
    notes = []
    for channel, coupling in enumerate(restored.couplings):
        if coupling is not None:
            corners = " and ".join(f"{corner:.3g} Hz" for corner in coupling.corners_hz)
            notes.append(
                f"Channel {channel} is AC-coupled: a high-pass at {corners}, found in the darkness, undone."
            )
    return notes


def _check_contact(recording: Recording, contact: int) -> None:
    if recording.n_channels < 2:
        raise RefusedRecording(
            f"{recording.name}: one channel only. Record the light and the contact in a channel each."
        )
    if not 0 <= contact < recording.n_channels:
        raise RefusedRecording(
            f"{recording.name}: no channel {contact} for the contact; its channels are 0 to "
            f"{recording.n_channels - 1}."
        )


def _measure_channel(channel: _Channel, recording: Recording, warnings: list[str]) -> None:
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


def _flicker_of_others(channel: _Channel) -> str:
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


def _measure_batch(channel: _Channel, pulses: list[Pulse], recording: Recording) -> None:
    windows: list[Window] = []
    outlines: list[Outline] = []
    for pulse in pulses:
        window = load(recording, channel.number, pulse, channel.envelope)
        found = outline(window)
        if found is not None:
            windows.append(window)
            outlines.append(found)
    if not windows:
        return
    shared = noise_of(windows)
    noises = [shared.scaled(1 / w.pulse.height) for w in windows]
    edges = fit_outlines(windows, outlines, noises)
    for window, rough, edge, noise in zip(windows, outlines, edges, noises, strict=True):
        d = draft(window, rough, edge, noise, recording.sample_rate_hz)
        if d.refusal:
            channel.refused.append((window.pulse.start / recording.sample_rate_hz, d.refusal))
            channel.flicker = max(channel.flicker, d.flicker)
        else:
            channel.drafts.append(d)


def _lit_channels(
    channels: list[_Channel], warnings: list[str], left_out: list[tuple[int, LeftOut]]
) -> list[_Channel]:
    """Channels that hold light of their own: no crosstalk, no second copy of the same signal."""
    strongest = max((c.height for c in channels), default=0.0)
    lit: list[_Channel] = []
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


def _same(one: _Channel, two: _Channel) -> bool:
    if len(one.shots) != len(two.shots):
        return False
    return all(
        abs(a.effective.value - b.effective.value) <= 1e-6 * b.effective.value and abs(a.at_s - b.at_s) < 1e-7
        for a, b in zip(one.shots, two.shots, strict=True)
    )


def _judge_coupling(
    channels: list[_Channel], lit: list[_Channel], warnings: list[str]
) -> Literal["DC", "AC", "unknown"]:
    """Whether the sensor is DC-coupled; takes back figures that can't be trusted."""
    evident = False
    for channel in channels:
        finding = channel.finding
        undershot = [at for at, reason in channel.refused if "AC-coupled" in reason]
        against = [p for p in finding.opposite if p.height > 0.3 * (channel.height or p.height)]
        n = len(channel.shots)
        ringing = len(undershot) + len(finding.two_sided) if channel.refused or n == 0 else 0
        if (
            finding.sagging
            or (len(undershot) and len(undershot) >= n)
            or (len(against) and 2 * len(against) >= n)
        ):
            sags = finding.sagging or any(FLICKERS in reason for _, reason in channel.refused)
            if channel.shots or undershot or sags:
                evident = True
            if channel in lit:
                channel.shots.clear()
                lit.remove(channel)
        elif n == 0 and ringing:
            evident = evident or bool(undershot)
    if evident:
        warnings.append(_AC_REFUSED)
    if evident or not any(c.shots for c in lit):
        return "AC" if evident else "unknown"
    sinking = [d.undershoot > max(4 * d.undershoot_u, 0.002) for c in lit for d in c.drafts]
    if sum(sinking) * 2 > len(sinking):
        warnings.append(
            "After each firing darkness lies a little lower than before: the input is AC-coupled "
            "with a long time "
            "constant, or the light around changes. The effect on these times is small and in the budget."
        )
        return "AC"
    return "DC"


def _tell_refused(channels: list[_Channel], lit: list[_Channel], warnings: list[str]) -> None:
    telling = [c for c in channels if c in lit] or channels
    for channel in telling:
        for at, reason in channel.refused[:_TOLD]:
            warnings.append(f"At {at:.3f} s in channel {channel.number}: not measured: {reason}.")
        if len(channel.refused) > _TOLD:
            warnings.append(
                f"{len(channel.refused) - _TOLD} more places in channel {channel.number} were not measured."
            )
        knocks = len(channel.finding.two_sided)
        if knocks:
            warnings.append(
                f"{knocks} places in channel {channel.number} swing to both sides of darkness and "
                f"were left out: "
                "knocks, or an AC-coupled input."
            )


def _nothing_found(channels: list[_Channel]) -> str:
    steps = sum(c.finding.steps for c in channels)
    seen = (
        f" The light stepped {steps} times and did not come back: room light, or an AC-coupled input."
        if steps
        else ""
    )
    return (
        "No firing found."
        + seen
        + " Check that the sensor sees the lamp through the open shutter and is DC-coupled, "
        "and leave half a second of darkness before and after each firing."
    )


def _by_firing(shots: list[Shot]) -> list[list[Shot]]:
    """Shots of different channels that overlap in time are one firing."""
    firings: list[list[Shot]] = []
    for shot in shots:
        if firings:
            last = firings[-1][-1]
            end = last.at_s + max(last.effective.value, last.total.value if last.total else 0.0) + 0.05
            if shot.at_s < end and all(shot.channel != other.channel for other in firings[-1]):
                firings[-1].append(shot)
                continue
        firings.append([shot])
    return firings


def _notes(shots: list[Shot], recording: Recording) -> list[str]:
    totals = [s.total.value for s in shots if s.total is not None and s.total.value > 0]
    if not totals:
        return []
    needed = required_bandwidth_hz(min(totals))
    if needed <= recording.sample_rate_hz / 2:
        return []
    return [
        f"ISO 516:2019 asks for a bandwidth of 100 / total time, here {needed / 1000:.3g} kHz; "
        f"{recording.sample_rate_hz:g} samples per second hold {recording.sample_rate_hz / 2000:.3g} "
        f"kHz at most."
    ]
