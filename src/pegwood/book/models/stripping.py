"""A camera taken apart: what is to be reached, what came off and what was kept of it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from pegwood.book.models.jobs import Job
from pegwood.book.models.struck_out import CanBeStruckOut


class StripDown(models.Model):
    """
    The strip-down of a job's camera.

    `clock_from` is since when the present step takes its time; none while the clock stands. The trays are as
    the workshop had them when this began, so that a printed sheet stays right.
    """

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="strip_down")
    family = models.SlugField(max_length=60)
    reach = models.JSONField(default=list)
    spare = models.JSONField(default=list)
    avoid = models.JSONField(default=list)
    only_from = models.CharField(max_length=10, blank=True)
    # [[part, way], ...] that are not to be gone.
    without = models.JSONField(default=list)
    clock_from = models.DateTimeField(null=True, blank=True)
    tray_columns = models.PositiveSmallIntegerField(default=4)
    tray_rows = models.PositiveSmallIntegerField(default=3)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="a_tray_has_pockets",
                condition=Q(tray_columns__range=(1, 12)) & Q(tray_rows__range=(1, 12)),
            )
        ]

    @property
    def pockets(self) -> int:
        """How many pockets a tray has."""
        return self.tray_columns * self.tray_rows


class TakenOff(CanBeStruckOut):
    """One part that came off, or was found missing, with how it went back."""

    class Met(models.TextChoices):
        THERE = "there", "it was there"
        MISSING = "missing", "missing"
        NEVER = "never fitted", "never fitted to this one"

    class Awaits(models.TextChoices):
        NOTHING = "", "at hand"
        CLEANING = "cleaning", "being cleaned"
        SPARE = "spare", "waits for a spare"
        MENDING = "mending", "being mended"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="taken_off")
    number = models.PositiveSmallIntegerField()
    # Its id in the family, where the family knows it; and as it was called.
    part = models.CharField(max_length=120, blank=True)
    name = models.CharField(max_length=120)
    way = models.CharField(max_length=120, blank=True)
    side = models.CharField(max_length=20, blank=True)
    tool = models.CharField(max_length=40, blank=True)
    seconds = models.FloatField(null=True, blank=True)
    met = models.CharField(max_length=12, choices=Met.choices, default=Met.THERE)
    # Other parts that it was held to, and that hid what held it: ids in the family, or names.
    held_to = models.JSONField(default=list)
    hidden_under = models.JSONField(default=list)
    # [{"kind": "count turns", "says": "1 3/4"}, ...]
    notes = models.JSONField(default=list)
    tray = models.PositiveSmallIntegerField(null=True, blank=True)
    pocket = models.PositiveSmallIntegerField(null=True, blank=True)
    awaits = models.CharField(max_length=10, choices=Awaits.choices, blank=True, default=Awaits.NOTHING)
    awaits_note = models.CharField(max_length=240, blank=True)
    explained = models.CharField(max_length=240, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)
    back_at = models.DateTimeField(null=True, blank=True)
    back_by = models.CharField(max_length=80, blank=True)
    back_seconds = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["number", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="each_step_of_a_strip_down_has_its_own_number",
                fields=["job", "number"],
                condition=Q(struck_out=False),
            ),
            models.CheckConstraint(
                name="a_pocket_lies_in_a_tray",
                condition=Q(tray__isnull=True, pocket__isnull=True)
                | Q(tray__isnull=False, pocket__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_back(self) -> bool:
        """Whether it is in the camera again."""
        return self.back_at is not None

    @property
    def is_out(self) -> bool:
        """Whether it belongs into the camera and is not there, and nobody said why."""
        return self.met != self.Met.NEVER and not self.is_back and not self.explained


class Kept(models.Model):
    """A screw, a shim, a spring, or several alike, that came away with a part."""

    class Kind(models.TextChoices):
        SCREW = "screw", "screw"
        SHIM = "shim", "shim"
        WASHER = "washer", "washer"
        SPRING = "spring", "spring"
        PIN = "pin", "pin"
        BALL = "ball", "ball"
        PART = "part", "part"
        OTHER = "other", "other"

    taken_off = models.ForeignKey(TakenOff, on_delete=models.PROTECT, related_name="kept")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    what = models.CharField(max_length=120, blank=True)
    place = models.CharField(max_length=120, blank=True)
    side = models.CharField(max_length=120, blank=True)
    count = models.PositiveSmallIntegerField(default=1)
    thread = models.CharField(max_length=40, blank=True)
    head = models.CharField(max_length=60, blank=True)
    length_mm = models.FloatField(null=True, blank=True)
    thickness_mm = models.FloatField(null=True, blank=True)
    thickness_u_mm = models.FloatField(null=True, blank=True)
    tray = models.PositiveSmallIntegerField(null=True, blank=True)
    pocket = models.PositiveSmallIntegerField(null=True, blank=True)
    # Count and measures are the family's, and nobody has changed them: not measured on this camera.
    as_family = models.BooleanField(default=False)
    # How many are back in the camera; why the others need not be.
    back = models.PositiveSmallIntegerField(default=0)
    explained = models.CharField(max_length=240, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="no_more_of_it_is_back_than_came_off",
                condition=Q(count__gte=1) & Q(back__lte=models.F("count")),
            ),
            models.CheckConstraint(
                name="a_measured_shim_has_its_uncertainty",
                condition=Q(thickness_mm__isnull=True) | Q(thickness_u_mm__isnull=False),
            ),
        ]

    @property
    def is_out(self) -> bool:
        """Whether some of it is not back, and nobody said why."""
        return self.back < self.count and not self.explained
