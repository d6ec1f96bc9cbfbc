"""A recording comes in, is read by its instrument, and is accepted as found or as left."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import datetime
from typing import Any, BinaryIO

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.arrangement import Arrangement
from pegwood.book.calibrated import KEY as CALIBRATIONS
from pegwood.book.calibrated import known_of
from pegwood.book.files.store import clean_name, keep, verified_path
from pegwood.book.gauging.reading import in_short
from pegwood.book.instrument import Found, Told, marked_speed, read_by_instrument
from pegwood.book.models import Gear, Job, Measurement, StoredFile
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.taken import KEY as TAKEN
from pegwood.book.taken import Taken
from pegwood.book.workshop import workshop
from pegwood.instruments.recordings import RefusedRecording, open_recording
from pegwood.instruments.shutter import MarkedSpeed, NoError, SpeedReading, limit_for
from pegwood.instruments.verdicts import Limit

LARGEST_RECORDING = 2 * 1024**3
#: Whoever sends a longer table is told of its channels when it is read, [byte].
LONGEST_TABLE_LOOKED_AT = 4 * 1024**2


def keep_recording(
    job: Job,
    content: BinaryIO,
    name: str,
    *,
    marked: str,
    by: str,
    gear: Gear | None = None,
    arrangement: Arrangement | None = None,
    taken: Taken | None = None,
    at: datetime | None = None,
) -> Measurement:
    """
    Store a recording of the shutter as it came, to be read by `read_recording`.

    The same recording of the same speed, sent twice over a bad line, is one measurement as long as nobody has
    accepted it or set it aside.

    Parameters
    ----------
    content, name : binary file, str
        The recording, and the name it came with.
    marked : str
        The speed on the dial, such as ``"1/125"`` or ``"B"``.
    gear : Gear, optional
        What it was recorded with.
    arrangement : Arrangement, optional
        What its channels hold; one light channel if not said.
    taken : Taken, optional
        Whether it holds light, sound or a video; light if not said.

    Raises
    ------
    Refused
        If the marked speed or the arrangement cannot be, the file's kind is not known or nothing here reads
        it, it is empty or too large, or the job is over.
    """
    at = at or timezone.now()
    if job.is_over:
        raise Refused(f"Job {job.number} is over; it stands at '{job.standing}'.")  # before storing gigabytes
    speed = marked_speed(marked)
    arrangement = arrangement or Arrangement()
    arrangement.check(job.camera.kind.shutter)
    taken = taken or Taken()
    taken.check(arrangement)
    shown = clean_name(name)
    media_type = taken.media_type(shown)
    _check_channels(content, shown, arrangement)
    # Outside the transaction: a large file must not hold the book's write lock.
    file = keep(content, name=shown, media_type=media_type, at_most=LARGEST_RECORDING, at=at)
    more = {**arrangement.to_settings(), **taken.to_settings()}
    return enter_recording(job, speed, file, by=by, gear=gear, at=at, more=more)


def gear_last_used(*, by_light: bool) -> int | None:
    """
    What the workshop measured with the last time: rarely another this time.

    Parameters
    ----------
    by_light : bool
        With light; else by sound or video, where a light gate is no guess.

    Returns
    -------
    key : int or None
        Primary key of the gear; None where that was not said.
    """
    readings = Measurement.objects.order_by("-pk")
    if not by_light:
        return readings.filter(settings__has_key=TAKEN).values_list("gear", flat=True).first()
    used = readings.exclude(settings__has_key=TAKEN).values_list("gear", flat=True).first()
    return used if used is not None else Gear.objects.values_list("pk", flat=True).first()


def enter_recording(
    job: Job,
    speed: MarkedSpeed,
    file: StoredFile,
    *,
    by: str,
    gear: Gear | None,
    at: datetime,
    more: dict[str, Any] | None = None,
) -> Measurement:
    """
    Enter a stored recording as a measurement of one speed, to be read; `more` goes into its settings.

    Raises
    ------
    Refused
        If the job is over.
    """
    limit = limit_of(job, speed)
    settings = {
        "reading": workshop().reading,
        "shutter": job.camera.kind.shutter,
        "limit": None if limit is None else asdict(limit),
        **known_of(gear, at),
        **(more or {}),
    }
    with transaction.atomic():
        job = locked_open(job)
        sent_before = job.measurements.filter(
            instrument="shutter", marked=speed.text, recording=file, gear=gear, phase="", set_aside=False
        )
        for same in sent_before:
            if same.settings == settings:  # sent twice over a bad line
                return same
        measurement = Measurement.objects.create(
            job=job, marked=speed.text, settings=settings, recording=file, gear=gear, at=at, by=by
        )
        diary.write(
            job,
            by=by,
            at=at,
            what="recorded the shutter",
            text=speed.text,
            new={
                "measurement": measurement.pk,
                "sha256": file.sha256,
                "gear": gear and str(gear),
                **{name: value for name, value in settings.items() if name != CALIBRATIONS},
                "calibrated": [f"{it['kind']}, {it['made_on']}" for it in settings.get(CALIBRATIONS, ())],
            },
        )
    return measurement


def tell_of_recording(
    measurement: Measurement, taken: Taken, *, by: str, at: datetime | None = None
) -> Measurement:
    """
    Tell what a kept recording did not say itself, such as the rate a film was captured at.

    The measurement is then to be read again by `read_recording`, from the file that is there.

    Parameters
    ----------
    taken : Taken
        Of the same kind as before; takes the place of what was told then.

    Raises
    ------
    Refused
        If it can't be, the reading was accepted or set aside, or the job is over.
    """
    taken.check(Arrangement.of(measurement.settings))
    if taken.by != Taken.of(measurement.settings).by:
        raise Refused("A recording stays what it was sent as: light, sound or a video. Send it as the other.")
    with transaction.atomic():
        measurement = Measurement.objects.select_for_update().select_related("job").get(pk=measurement.pk)
        locked_open(measurement.job)
        if measurement.phase or measurement.set_aside:
            raise Refused(
                "This reading was accepted or set aside; it stays as it is. Send the recording again."
            )
        before = measurement.settings.get(TAKEN)
        measurement.settings = {**measurement.settings, **taken.to_settings()}
        measurement.progress, measurement.reason = Measurement.Progress.UNREAD, ""
        measurement.result = measurement.curves = None
        measurement.save()
        diary.write(
            measurement.job,
            by=by,
            at=at or timezone.now(),
            what="told more of the recording",
            text=measurement.marked,
            old={TAKEN: before},
            new={"measurement": measurement.pk, TAKEN: measurement.settings.get(TAKEN)},
        )
    return measurement


def _check_channels(content: BinaryIO, name: str, arrangement: Arrangement) -> None:
    """Look at the head of the file where its channels matter: a slip is told before anything is stored."""
    if arrangement == Arrangement() or not content.seekable():
        return
    is_long_table = name.lower().endswith((".csv", ".txt")) and content.seek(0, 2) > LONGEST_TABLE_LOOKED_AT
    try:
        if not is_long_table:
            arrangement.check_channels(open_recording(content, name).n_channels)
    except RefusedRecording:
        pass  # kept and refused with its reason when it is read, as any recording that is none
    finally:
        content.seek(0)


def read_recording(
    measurement: Measurement, *, by: str, told: Told | None = None, at: datetime | None = None
) -> Measurement:
    """
    Let the instrument read a recording, or the readings of a gauging, and keep its result whole.

    A recording that cannot be read makes the measurement `refused`, with the instrument's reason; that is an
    answer, not an error. Reading again replaces an earlier reading as long as none was accepted.

    Parameters
    ----------
    told : callable, optional
        Called with the share of the recording read so far, from 0 to 1.

    Raises
    ------
    Refused
        If the stored file is damaged, or the reading was accepted already.
    """
    if measurement.phase:
        raise Refused(
            "This reading was accepted; it stays as it is. Send the recording again to read it anew."
        )
    path = verified_path(measurement.recording)
    found = read_by_instrument(path, measurement, told)
    return _enter_reading(measurement, found, by, at or timezone.now(), asked=measurement.settings)


@transaction.atomic
def _enter_reading(
    measurement: Measurement, found: Found, by: str, at: datetime, *, asked: dict[str, Any]
) -> Measurement:
    measurement = Measurement.objects.select_for_update().select_related("job").get(pk=measurement.pk)
    if measurement.phase or measurement.settings != asked:
        return measurement  # accepted in the meantime, or told more of: this reading is not of that
    measurement.result, measurement.curves, measurement.reason = found.result, found.curves, found.reason
    measurement.progress = Measurement.Progress.REFUSED if found.reason else Measurement.Progress.READ
    measurement.save()
    diary.write(
        measurement.job,
        by=by,
        at=at,
        what=f"{measurement.progress} the recording",
        text=found.reason,
        new={"measurement": measurement.pk, "marked": measurement.in_words, **_in_short(measurement)},
    )
    return measurement


def _in_short(measurement: Measurement) -> dict[str, Any]:
    """The figures of a reading that the diary keeps."""
    if measurement.instrument == "shutter":
        return measurement.summary
    return in_short(measurement.result or {})


@transaction.atomic
def accept_measurement(
    measurement: Measurement, phase: str, *, by: str, at: datetime | None = None
) -> Measurement:
    """
    Take a reading as the truth about the camera as found or as left.

    One taken before for that speed is set aside.

    Raises
    ------
    Refused
        If nothing was read from the recording, or the phase is neither.
    """
    at = at or timezone.now()
    if phase not in {Measurement.Phase.FOUND, Measurement.Phase.LEFT}:
        raise Refused(f"A reading is accepted 'as found' or 'as left', not {phase!r}.")
    measurement = Measurement.objects.select_for_update().select_related("job").get(pk=measurement.pk)
    job = locked_open(measurement.job)
    if measurement.phase not in {"", phase} and not measurement.set_aside:
        raise Refused(f"This reading stands '{measurement.phase}' already. Set it aside, then send it again.")
    if measurement.progress != Measurement.Progress.READ:
        raise Refused("Nothing was read from this recording yet, so there is nothing to accept.")
    if measurement.phase == phase and not measurement.set_aside:
        return measurement
    earlier = job.measurements.filter(
        instrument=measurement.instrument, marked=measurement.marked, phase=phase, set_aside=False
    )
    if way := measurement.settings.get("way"):  # one instrument may be used in several ways
        earlier = earlier.filter(settings__way=way)
    replaced = list(earlier.values_list("pk", flat=True))
    earlier.update(set_aside=True)
    old = {"measurement": measurement.pk, "phase": measurement.phase, "set_aside": replaced}
    measurement.phase, measurement.set_aside, measurement.accepted_at = phase, False, at
    measurement.save()
    diary.write(
        job,
        by=by,
        at=at,
        what=f"accepted {phase}",
        text=measurement.in_words,
        old=old,
        new={"measurement": measurement.pk, "phase": phase, **_in_short(measurement)},
    )
    return measurement


@transaction.atomic
def set_aside(measurement: Measurement, reason: str, *, by: str, at: datetime | None = None) -> Measurement:
    """
    Take a reading off the card (wrong dial, lamp bumped). Its recording and its diary entry stay.

    Raises
    ------
    Refused
        If the job is over.
    """
    measurement = Measurement.objects.select_for_update().select_related("job").get(pk=measurement.pk)
    if measurement.job.is_over:
        raise Refused(f"Job {measurement.job.number} is over; its readings stand as they were handed over.")
    if not measurement.set_aside:
        measurement.set_aside = True
        measurement.save()
        diary.write(
            measurement.job,
            by=by,
            at=at or timezone.now(),
            what="set a reading aside",
            text=reason.strip(),
            old={"measurement": measurement.pk, "phase": measurement.phase, "marked": measurement.in_words},
        )
    return measurement


def accepted_speeds(job: Job) -> dict[str, list[SpeedReading]]:
    """
    What is accepted of a job's shutter by light, as found and as left: what the pattern is read from.

    Strokes and frames are not light: what they are off by is alike at all speeds, and would pass for a sign.

    Returns
    -------
    readings : dict of str to list of SpeedReading
        By phase; one without a reading of a marked speed is left out, and so are B and T.
    """
    found: dict[str, list[SpeedReading]] = {}
    accepted = job.measurements.filter(instrument="shutter", set_aside=False).exclude(phase="")
    for measurement in accepted.select_related("gear").defer("curves").order_by("phase", "pk"):
        gear = str(measurement.gear) if measurement.gear else ""
        try:
            reading = SpeedReading.from_result(measurement.result or {}, gear)
        except NoError:
            continue
        found.setdefault(measurement.phase, []).append(reading)
    return found


def unread() -> list[Measurement]:
    """Recordings that nobody has read yet, the oldest first: what a restart must take up again."""
    return list(Measurement.objects.filter(progress=Measurement.Progress.UNREAD, set_aside=False))


#: Where older constructions end and newer begin, for the limits (practice).
FIRST_NEWER_YEAR = 1960


def limit_of(job: Job, speed: MarkedSpeed) -> Limit | None:
    """
    The workshop's limit for a marked speed of the camera on this job.

    None where the kind of shutter is not known, for B and T, and where the workshop has set none.
    """
    camera = job.camera
    if not camera.kind.shutter:
        return None
    newer = camera.year_made is not None and camera.year_made >= FIRST_NEWER_YEAR
    limit = limit_for(camera.kind.shutter, "newer" if newer else "older", speed, workshop().limits)
    if limit is not None and camera.year_made is None:
        limit = replace(
            limit, note=f"{limit.note} Year of making not known: taken as an older shutter.".strip()
        )
    return limit
