"""From a recording of a light gate to effective exposure times with their uncertainty."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from pegwood.instruments.recordings import Recording, RefusedRecording
from pegwood.instruments.shutter._channel import Channel, lit_channels, measure_channel, seams_of
from pegwood.instruments.shutter._contacts import read_contacts
from pegwood.instruments.shutter._coupling import CALIBRATED, is_coupled, restore, speaks_against
from pegwood.instruments.shutter._events import find_pulses
from pegwood.instruments.shutter._figures import CLOCK_PPM
from pegwood.instruments.shutter._flicker import FLICKERS
from pegwood.instruments.shutter._group import summarise
from pegwood.instruments.shutter._lamp import NOT_SEEN
from pegwood.instruments.shutter._resolved import resolved_at
from pegwood.instruments.shutter._restored import Restored
from pegwood.instruments.shutter._scan import Envelope, scan
from pegwood.instruments.shutter._stopped import AT_ITS_STOP
from pegwood.instruments.shutter._telling import (
    AC_REFUSED,
    SINKING,
    bandwidth_notes,
    cut_off,
    judge_coupling,
    nothing_found,
    tell_refused,
)
from pegwood.instruments.shutter.coupled_input import InputCalibration
from pegwood.instruments.shutter.marked import MarkedSpeed, Reading
from pegwood.instruments.shutter.results import LeftOut, Shot, ShutterResult
from pegwood.instruments.shutter.stops import at_stops, stops_below
from pegwood.instruments.verdicts import Limit

__all__ = ["METHOD", "analyse", "uses_calibration"]

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
    "darkness before and after each firing, and undone; a long firing whose middle is lost in the noise that "
    "this gathers is timed from edge to edge",
)

ANOTHER_INPUT = (
    "The saved calibration of the input was left out: nothing in this recording sags as behind that input. "
    "Is it this input's?"
)

_UNDONE = ", undone."

#: Said of a group whose slowest and fastest lie further apart than any one marked speed should.
DIFFER = "The firings differ by more than 1 EV: are they all of one marked speed? Look at each."

_OF_FIGURES = (NOT_SEEN, SINKING, DIFFER)  # that are not given after all
_FIRST_PASS = 0.5  # of the work where capacitors make a second one necessary; who knows beforehand?


@dataclass(frozen=True)
class _Told:
    """What is known of the shutter beforehand."""

    marked: MarkedSpeed | None
    reading: Reading
    limit: Limit | None
    widest: float | None
    contact: int | None
    kind: str | None


def analyse(
    recording: Recording,
    *,
    marked: MarkedSpeed | None = None,
    reading: Reading = "exact",
    limit: Limit | None = None,
    widest: float | None = None,
    contact: int | None = None,
    kind: str | None = None,
    calibrated: InputCalibration | None = None,
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
    calibrated : InputCalibration, optional
        What is known of the input the recording came through.
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
    envelopes = scan(recording, lambda done: tell(_FIRST_PASS * done))
    light = [number for number in range(recording.n_channels) if number != contact]
    known = None if calibrated is None else calibrated.corners

    def undone() -> ShutterResult | None:
        restored = restore(recording, envelopes, light, known)
        return None if restored is None else _read_restored(restored, told, tell)

    is_sagging = any(is_coupled(envelopes[number], recording) for number in light)
    found = undone() if is_sagging else None
    if found is not None:
        return found
    result = _read(recording, envelopes, told, lambda done: tell(_FIRST_PASS + 0.1 * done))
    if result.coupling == "DC" and not is_sagging:
        if known is None:
            tell(1.0)
            return result
        if speaks_against(recording, envelopes, light, known):
            tell(1.0)
            return replace(result, warnings=(*result.warnings, ANOTHER_INPUT))
    found = None if is_sagging else undone()
    tell(1.0)
    if found is None:
        found = _without_figures(result) if is_sagging or calibrated is not None else result
    return _with_cut_off(found, recording, envelopes, light)


def _with_cut_off(
    result: ShutterResult, recording: Recording, envelopes: list[Envelope], light: list[int]
) -> ShutterResult:
    """The same, and where it has no figures first of all which channel is cut off at full scale."""
    if result.shots:
        return result
    told = [cut_off(number, envelopes[number], recording.full_scale) for number in light]
    return replace(result, warnings=(*filter(None, told), *result.warnings))


def _read_restored(restored: Restored, told: _Told, tell: Callable[[float], None]) -> ShutterResult | None:
    """What is read once the capacitors are undone; None where that is no light of firings either."""
    begun = _FIRST_PASS + 0.1
    envelopes = scan(restored, lambda done: tell(begun + (0.9 - begun) * done))
    again = _read(restored, envelopes, told, lambda done: tell(0.9 + 0.1 * done))
    # firings that were put back and then refused for what the light did say more than the raw readings
    told_why = any(reason == AT_ITS_STOP or FLICKERS in reason for _, _, reason in again.unread)
    if again.coupling != "DC" and not (told_why and not again.shots):
        return None
    notes = (*again.notes, *_corner_notes(restored))
    return replace(again, coupling="AC", method=RESTORED_METHOD, notes=notes)


def _read(
    recording: Recording, envelopes: list[Envelope], told: _Told, tell: Callable[[float], None]
) -> ShutterResult:
    """Everything behind the first pass."""
    marked, reading, contact = told.marked, told.reading, told.contact
    target_s = None if marked is None else marked.seconds(reading)
    channels = [
        Channel(
            number,
            envelope,
            find_pulses(envelope, recording.sample_rate_hz, recording.n_samples, seams_of(recording, number)),
        )
        for number, envelope in enumerate(envelopes)
        if number != contact
    ]
    warnings: list[str] = list(recording.warnings)
    if marked is not None and target_s is not None:
        told_fastest = resolved_at(recording.sample_rate_hz).about(marked.text, target_s)
        warnings.extend([told_fastest] if told_fastest else [])
    for i, channel in enumerate(channels):
        measure_channel(channel, recording, warnings)
        tell((i + 1) / len(channels))
    left_out: list[tuple[int, LeftOut]] = []
    lit = lit_channels(channels, warnings, left_out)
    coupling = judge_coupling(channels, lit, warnings, is_restored=isinstance(recording, Restored))
    shots = sorted((s for c in lit for s in c.shots), key=lambda s: (s.at_s, s.channel))
    firings = by_firing(shots)
    tell_refused(channels, lit, warnings)
    if not shots and not any(reason == AT_ITS_STOP for c in channels for _, reason in c.refused):
        warnings.append(nothing_found(channels))
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
        notes=tuple(bandwidth_notes(shots, recording)),
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
        warnings=tuple(dict.fromkeys([*(w for w in result.warnings if w not in _OF_FIGURES), AC_REFUSED])),
    )


def _corner_notes(restored: Restored) -> list[str]:
    """The high-pass of each channel, in words."""
    notes = []
    for channel, coupling in enumerate(restored.couplings):
        if coupling is not None:
            corners = " and ".join(f"{corner:.3g} Hz" for corner in coupling.corners_hz)
            notes.append(
                f"Channel {channel} is AC-coupled: a high-pass at {corners}, {coupling.origin}{_UNDONE}"
            )
    return notes


def uses_calibration(result: ShutterResult) -> bool:
    """
    Whether a calibration of the input went into a result, or was left out as another input's.

    Parameters
    ----------
    result : ShutterResult
        From `analyse`.

    Returns
    -------
    uses_calibration : bool
        True where it went into the figures of at least one channel.
    """
    return any(note.endswith(f"{CALIBRATED}{_UNDONE}") for note in result.notes)


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


def by_firing(shots: list[Shot]) -> list[list[Shot]]:
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
