"""From a microphone recording of a shutter to the times between its opening and closing sounds."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from pegwood.instruments.recordings import Recording, RefusedRecording
from pegwood.instruments.shutter import MarkedSpeed, Reading, Shot, ShutterResult, summarise
from pegwood.instruments.sound._budget import MIRRORS, Mirror, Told, heard, shot_of
from pegwood.instruments.sound._doubts import against_all, clipped_share
from pegwood.instruments.sound._firings import FASTEST_S, SURE, Timed, choose, time_it
from pegwood.instruments.sound._naming import Named, name_sounds
from pegwood.instruments.sound._onsets import Onset, onsets_in
from pegwood.instruments.sound._scan import scan
from pegwood.instruments.sound.results import Called, CannotTell, Sound, SoundResult
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Limit

__all__ = ["METHOD", "MIRRORS", "Mirror", "analyse_sound"]

METHOD = (
    "Sound. Beginnings of sounds by spectral flux over six octave bands; each instant by an autoregressive "
    "change-point likelihood; which sound is opening and which closing by weighing all explanations of the "
    "recording (the speed on the dial chooses none). The time is from the opening's sound to the closing's: "
    "what is heard are strokes, not light; the difference of both stands in the budget as practice."
)

_SLOWEST_RATE_HZ = 8000.0
_FAST_MARK_S = 1 / 45  # 1/30 is told if it can be, 1/50 and 1/60 never are
_MOST_SOUNDS = 4000
_MOST_TOLD = 2000
_MIRROR_LIKELY = 0.2
_LIKELY = 0.5
_CLIPPED = 0.1
# The steepest rise of a band comes behind the beginning; by so much on simulated strokes.
_COARSE_LATE_S, _COARSE_U_S = 0.0008, 0.0005
_TOLD_OF = 3
_FAR_EV = 1.5  # from the dial: an old slow gear may be so far off, and so may what was taken for the closing

_NO_SOUND = (
    "No firing was heard. Bring the microphone within a hand's breadth of the shutter, turn automatic gain "
    "and noise suppression off, and fire in a quiet room."
)


def analyse_sound(
    recording: Recording,
    *,
    marked: MarkedSpeed | None = None,
    reading: Reading = "exact",
    limit: Limit | None = None,
    kind: str | None = None,
    mirror: Mirror = "not told",
    progress: Callable[[float], None] | None = None,
) -> SoundResult:
    """
    Find opening and closing of a shutter among the sounds of a recording, and the time between them.

    Parameters
    ----------
    recording : Recording
        What the microphone gave.
    marked : MarkedSpeed, optional
        What the dial said. It chooses no sound; only whether a slow speed is to be expected at all.
    reading : "exact" or "as marked"
        How the marking is read.
    limit : Limit, optional
        The workshop's limit for this shutter and marking.
    kind : str, optional
        Kind of shutter, "leaf" or "focal-plane": how far its sounds are from its light.
    mirror : "none", "locked", "moving" or "not told"
        Whether a mirror strokes as well.
    progress : callable, optional
        Called with the fraction done, 0 to 1.

    Returns
    -------
    result : SoundResult
        Where it cannot tell, the reason and the remedy.

    Raises
    ------
    RefusedRecording
        If the recording is damaged, or sampled too slowly for sounds.
    ValueError
        If `mirror` or `kind` is none of these.
    """
    if mirror not in MIRRORS:
        raise ValueError(f"A mirror is one of {', '.join(MIRRORS)}, not {mirror!r}")
    if kind not in (None, "leaf", "focal-plane"):
        raise ValueError(f"No kind of shutter {kind!r}: expected leaf or focal-plane")
    if recording.sample_rate_hz < _SLOWEST_RATE_HZ:
        raise RefusedRecording(
            f"{recording.name}: {recording.sample_rate_hz:g} samples per second are too few for sounds. "
            "Record with 44100 or more."
        )
    tell = progress or (lambda _: None)
    scanned = scan(recording, lambda done: tell(0.6 * done))
    channel = scanned.channel
    onsets: list[Onset] = []
    for i, passage in enumerate(scanned.passages):
        onsets += onsets_in(recording, passage, channel)
        tell(0.6 + 0.3 * (i + 1) / len(scanned.passages))
    onsets = _strongest(onsets, _MOST_SOUNDS)
    nominal_s = None if marked is None or marked.nominal_s is None else float(marked.nominal_s)
    named = name_sounds(
        onsets,
        recording.sample_rate_hz,
        is_slow=None if nominal_s is None else nominal_s >= _FAST_MARK_S,
        has_mirror={"none": False, "locked": False, "moving": True}.get(mirror),
    )
    choices, unread = choose(
        onsets, named, recording.sample_rate_hz, mirror_told=mirror in ("none", "locked")
    )
    timed = [time_it(recording, onsets, choice, channel) for choice in choices]
    timed, refused = _doubted(recording, timed, channel)
    unread = sorted([*unread, *refused], key=lambda one: one.at_s)
    why = _why_none(nominal_s, mirror, named, marked)
    why = why or against_all(recording, scanned, _likely(onsets, named, recording.sample_rate_hz), channel)
    if why is not None and (timed or unread):
        unread = [CannotTell(_first(timed, unread), *why)]
        timed = []
    told = Told(kind, mirror, recording)
    shots = tuple(shot_of(one, told, channel) for one in timed)
    target_s = None if marked is None else marked.seconds(reading)
    warnings = [*recording.warnings, *_warnings(shots, unread, told, scanned.clipped)]
    if marked is not None and target_s is not None:
        warnings += _far_from(marked, target_s, shots)
    if not onsets or not (shots or unread):
        warnings.append(_NO_SOUND)
    tell(1.0)
    shutter = ShutterResult(
        file=recording.name,
        method=METHOD,
        coupling="unknown",
        sample_rate_hz=recording.sample_rate_hz,
        shots=shots,
        summary=summarise([(shot,) for shot in shots], target_s, limit),
        warnings=tuple(dict.fromkeys(warnings)),
        notes=_notes(nominal_s),
        marked=marked,
        reading=reading,
        n_channels=recording.n_channels,
        unread=tuple((channel, one.at_s, one.reason) for one in unread),
    )
    return SoundResult(
        shutter=shutter,
        firings=tuple(heard(one, shot, told) for one, shot in zip(timed, shots, strict=True)),
        sounds=_sounds(onsets, named, timed, recording.sample_rate_hz),
        unread=tuple(unread),
        format=recording.format,
        is_compressed=told.is_compressed,
        fastest_s=FASTEST_S,
        mirror=named.mirror,
    )


def _likely(onsets: Sequence[Onset], named: Named, rate: float) -> list[tuple[float, float]]:
    """Opening and closing of what is more likely a firing than not, [s]."""
    return [
        (onsets[pair.opening].at / rate, onsets[pair.closing].at / rate)
        for pair in named.pairs
        if pair.chance >= _LIKELY
    ]


def _strongest(onsets: list[Onset], most: int) -> list[Onset]:
    if len(onsets) <= most:
        return onsets
    least = sorted((onset.level_db for onset in onsets), reverse=True)[most - 1]
    return [onset for onset in onsets if onset.level_db >= least][:most]


def _doubted(recording: Recording, timed: list[Timed], channel: int) -> tuple[list[Timed], list[CannotTell]]:
    """Leave out firings whose sounds are cut off at full scale."""
    kept, refused = [], []
    for one in timed:
        clipped = max(clipped_share(recording, at.at_s, channel) for at in (one.opened, one.closed))
        if clipped > _CLIPPED:
            refused.append(
                CannotTell(
                    one.opened.at_s,
                    "the sound is cut off at full scale, so that loud and soft can't be told apart",
                    "turn the level down until the loudest sound stays at half, and record again",
                )
            )
        else:
            kept.append(one)
    return kept, refused


def _why_none(
    nominal_s: float | None, mirror: Mirror, named: Named, marked: MarkedSpeed | None
) -> tuple[str, str] | None:
    """A reason that is known without looking at any firing."""
    if nominal_s is not None and nominal_s < _FAST_MARK_S and marked is not None:
        return (
            f"sound can't tell a speed marked {marked.text}: opening and closing run into each other",
            "time it with a light gate; sound does for 1/30 s and slower",
        )
    if mirror == "moving" or named.mirror > _MIRROR_LIKELY:
        return (
            "a mirror's strokes can't be told from the shutter's"
            if mirror == "moving"
            else f"there may be a mirror's strokes among the sounds (chance {named.mirror:.2f})",
            "lock the mirror up and say so, or use a light gate",
        )
    return None


def _first(timed: Sequence[Timed], unread: Sequence[CannotTell]) -> float:
    return min([one.opened.at_s for one in timed] + [one.at_s for one in unread])


def _warnings(shots: Sequence[Shot], unread: Sequence[CannotTell], told: Told, clipped: int) -> list[str]:
    out = []
    reasons = dict.fromkeys((one.reason, one.remedy) for one in unread)
    for reason, remedy in list(reasons)[:_TOLD_OF]:
        at = [one.at_s for one in unread if one.reason == reason]
        where = f"at {at[0]:.2f} s" + (f" and {len(at) - 1} more" if len(at) > 1 else "")
        out.append(f"Cannot tell ({where}): {reason}. Remedy: {remedy}.")
    if shots and unread:
        out.append(f"{len(shots)} firings were timed and {len(unread)} were not.")
    if told.is_compressed and shots:
        out.append(
            "The file was compressed with loss: a codec spreads every stroke over some milliseconds, also to "
            "before it begins. This is in the uncertainty; record as WAV or FLAC."
        )
    if clipped and shots:
        out.append("Some readings are at full scale. Turn the level down.")
    if shots and told.kind is None:
        out.append("The kind of shutter was not told; a leaf shutter's sounds are nearer to its light.")
    if shots and told.mirror == "not told":
        out.append(
            "Whether a mirror strokes was not told: one that does so with the curtain passes for it: "
            "say that there is none, or that it is locked up."
        )
    return out


def _far_from(marked: MarkedSpeed, target_s: float, shots: Sequence[Shot]) -> list[str]:
    """What to think of times that lie far from the dial's: another pair of sounds may come back as evenly."""
    times = [shot.effective.value for shot in shots]
    far = [s for s in times if abs(math.log2(s / target_s)) > _FAR_EV]
    if not far:
        return []
    which = "The times" if len(far) == len(times) > 1 else f"{len(far)} of {len(times)} times"
    return [
        f"{which} lie more than {_FAR_EV:g} EV from the {marked.text} on the dial (about "
        f"{1e3 * float(np.median(far)):.0f} ms). Two other sounds that come back evenly, such as the closing "
        "and a knock behind it, look the same: check the dial, and one firing with a light gate."
    ]


def _notes(nominal_s: float | None) -> tuple[str, ...]:
    notes = ["Strokes are heard, not light: a light gate tells more, and everything faster than 1/30 s."]
    if nominal_s is None:
        notes.append(
            "Without a marked speed firings too fast for sound are taken to be as usual as slow ones."
        )
    return tuple(notes)


def _sounds(onsets: Sequence[Onset], named: Named, timed: Sequence[Timed], rate: float) -> tuple[Sound, ...]:
    """Every sound with its chances; those that were timed with their instants."""
    if not onsets:
        return ()
    top = max(onset.level_db for onset in onsets)
    picked = {round(at.onset): at for one in timed for at in (one.opened, one.closed)}
    out = []
    for k, onset in enumerate(onsets):
        pick = picked.get(round(onset.at))
        at = (
            Measured(onset.at / rate - _COARSE_LATE_S, _COARSE_U_S)
            if pick is None
            else Measured(pick.at_s, pick.u_s)
        )
        chances = float(named.opening[k]), float(named.closing[k]), float(named.fast[k])
        out.append(Sound(at, onset.level_db - top, _called(*chances), *chances))
    return tuple(sorted(sorted(out, key=lambda s: -s.level_db)[:_MOST_TOLD], key=lambda s: s.at.value))


def _called(opening: float, closing: float, fast: float) -> Called:
    if opening >= SURE:
        return "opening"
    if closing >= SURE:
        return "closing"
    return "something else" if opening + closing + fast <= 1 - SURE else "cannot tell"
