"""What happens at the bench: what was seen, done and measured, and with what."""

from __future__ import annotations

from django.db import models

from pegwood.book.models.jobs import Job
from pegwood.book.models.stored import StoredFile
from pegwood.book.models.struck_out import CanBeStruckOut

GRADES = {
    0: "as new",
    1: "slight",
    2: "plain to see",
    3: "marked",
    4: "heavy",
    5: "past use",
}


class Finding(CanBeStruckOut):
    """What was seen: part, condition, where on it."""

    class Outlook(models.TextChoices):
        OPEN = "", "not said"
        MEND = "mend", "mend"
        CAN_STAY = "can stay", "can stay"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="findings")
    part = models.CharField(max_length=120)
    condition = models.CharField(max_length=240)
    grade = models.PositiveSmallIntegerField(null=True, blank=True, choices=list(GRADES.items()))
    place = models.CharField(max_length=120, blank=True)
    note = models.TextField(blank=True, max_length=4000)
    outlook = models.CharField(max_length=10, choices=Outlook.choices, blank=True, default=Outlook.OPEN)
    made_of = models.CharField(max_length=240, blank=True, default="")
    # The step of the strip-down at which it was seen.
    taken_off = models.ForeignKey(
        "TakenOff", null=True, blank=True, on_delete=models.PROTECT, related_name="findings"
    )
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                name="finding_grade_is_0_to_5",
                condition=models.Q(grade__isnull=True) | models.Q(grade__range=(0, 5)),
            )
        ]

    def __str__(self) -> str:
        return f"{self.part}: {self.condition}"


class Work(CanBeStruckOut):
    """A piece of work done."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="work")
    part = models.CharField(max_length=120, blank=True)
    done = models.TextField(max_length=4000)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return self.done


class Gear(models.Model):
    """What the workshop measures with: it stands on every certificate with its serial."""

    name = models.CharField(max_length=120)
    serial = models.CharField(max_length=60, blank=True)
    checked_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=240, blank=True)

    class Meta:
        ordering = ["name", "serial"]
        constraints = [models.UniqueConstraint(fields=["name", "serial"], name="gear_is_listed_once")]

    def __str__(self) -> str:
        return f"{self.name}, no. {self.serial}" if self.serial else self.name


class Calibration(CanBeStruckOut):
    """
    What was found of a piece of gear: how far its clock is off, or the high-pass of its input.

    A newer one of the same kind, and of a clock at the same sample rate, takes its place; it stays readable.
    """

    class Kind(models.TextChoices):
        CLOCK = "clock", "clock"
        INPUT = "input", "input"

    gear = models.ForeignKey(Gear, on_delete=models.PROTECT, related_name="calibrations")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    # As the instrument gives it; what it was made from, a recording or a saved calibration.
    data = models.JSONField()
    file = models.ForeignKey(
        StoredFile, null=True, blank=True, on_delete=models.PROTECT, related_name="calibrations"
    )
    made_on = models.DateField()
    due_on = models.DateField()
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["-made_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.kind} of {self.gear}, {self.made_on}"


class Measurement(models.Model):
    """
    A reading of one thing by one instrument, with the recording it was made from.

    It is taken in unread, read by the instrument, and then accepted as found or as left by a person.
    """

    class Progress(models.TextChoices):
        UNREAD = "to be read", "to be read"
        READ = "read", "read"
        REFUSED = "refused", "refused"

    class Phase(models.TextChoices):
        OPEN = "", "not accepted yet"
        FOUND = "as found", "as found"
        LEFT = "as left", "as left"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="measurements")
    instrument = models.CharField(max_length=40, default="shutter")
    # Which of its ways, for an instrument that has several: each is accepted by itself.
    way = models.CharField(max_length=40, blank=True, default="")
    marked = models.CharField(max_length=20, blank=True)
    # How it was asked for: {"reading": "exact" | "as marked", "shutter": "leaf" | ..., "limit": {...}},
    # how it was recorded where there is more to say than one light channel: {"arrangement": {...}},
    # what it holds where that is not light: {"taken": {"by": "sound" | "video", ...}},
    # and what was known of the gear that day: {"calibrations": [...]}, so that it is read the same for good.
    # Of any other instrument: {"way": which of its ways, "said": {...} what had to be told beside the files,
    # "limits": {...} what it is held against, by key}
    settings = models.JSONField(default=dict)
    recording = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="measurements")
    gear = models.ForeignKey(Gear, null=True, blank=True, on_delete=models.PROTECT)

    progress = models.CharField(max_length=12, choices=Progress.choices, default=Progress.UNREAD)
    reason = models.CharField(max_length=500, blank=True)
    # The instrument's own result, whole; and the light curves, thinned for drawing.
    result = models.JSONField(null=True, blank=True)
    curves = models.JSONField(null=True, blank=True)

    phase = models.CharField(max_length=10, choices=Phase.choices, blank=True, default=Phase.OPEN)
    set_aside = models.BooleanField(default=False)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)
    accepted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["progress"])]
        constraints = [
            models.UniqueConstraint(
                name="one_accepted_reading_for_each_speed_found_and_left",
                fields=["job", "instrument", "way", "marked", "phase"],
                condition=~models.Q(phase="") & models.Q(set_aside=False),
            ),
            models.CheckConstraint(
                name="only_a_reading_is_accepted",
                condition=models.Q(phase="") | models.Q(progress="read"),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument} {self.marked} {self.phase or self.progress}"

    @property
    def summary(self) -> dict[str, object]:
        return (self.result or {}).get("summary") or {}

    @property
    def in_words(self) -> str:
        """What was measured, as a person says it: "1/125" of a shutter, "diaphragm 5.6", "exposure meter"."""
        if self.instrument == "shutter":
            return self.marked
        return f"{self.settings.get('words') or self.instrument} {self.marked}".strip()


class MeasurementFile(models.Model):
    """A further file of a measurement that takes several: one of the photographs through focus, say."""

    measurement = models.ForeignKey(Measurement, on_delete=models.PROTECT, related_name="more_files")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="further_measurements")
    order = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(
                name="each_file_of_a_measurement_has_its_place", fields=["measurement", "order"]
            )
        ]
