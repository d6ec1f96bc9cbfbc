"""What is wrong with a job's camera: its story, the signs, what was found, how it was mended."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from pegwood.book.models.bench import Work
from pegwood.book.models.jobs import Job
from pegwood.book.models.struck_out import CanBeStruckOut


class Story(models.Model):
    """What the owner told, as far as it bears on what may be wrong: by the keys of the story's taps."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="told_story")
    told = models.JSONField(default=list)
    denied = models.JSONField(default=list)


class SignAnswer(CanBeStruckOut):
    """A sign that was asked of a camera, and its answer."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="sign_answers")
    # By id in the camera's family.
    sign = models.CharField(max_length=120)
    # One of the sign's answers, "sort of" before it, or "don't know".
    answer = models.CharField(max_length=120)
    # Which of the sign's answers that is, and how likely the program held each just before; none for
    # "don't know", after a mend, and where it could not be told exactly.
    level = models.PositiveSmallIntegerField(null=True, blank=True)
    # Whether a mend had been done by then: it tells how the camera is, not what was wrong with it.
    after_mend = models.BooleanField(default=False)
    chances_before = models.JSONField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_answer_to_a_sign_as_found_and_one_since",
                fields=["job", "sign", "after_mend"],
                condition=Q(struck_out=False),
            )
        ]

    def __str__(self) -> str:
        return f"{self.sign}: {self.answer}"

    @property
    def chance_before(self) -> float | None:
        """How likely the program held the answer just before it came, [1]."""
        if self.level is None or self.chances_before is None:
            return None
        return float(self.chances_before[self.level])


class FaultRuling(CanBeStruckOut):
    """A fault that somebody found, or found not to be there."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="fault_rulings")
    fault = models.CharField(max_length=120)
    there = models.BooleanField()
    # How likely the program held the fault just before.
    chance_before = models.FloatField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_ruling_on_a_fault", fields=["job", "fault"], condition=Q(struck_out=False)
            )
        ]

    def __str__(self) -> str:
        return f"{self.fault}: {'there' if self.there else 'not there'}"


class MendDone(models.Model):
    """A mend that was tried on a fault; it is struck out with the piece of work that it is."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="mends_done")
    fault = models.CharField(max_length=120)
    mend = models.CharField(max_length=120)
    # Whether it did the job there and then; whether it holds is told by what comes back.
    worked = models.BooleanField(default=True)
    work = models.OneToOneField(Work, on_delete=models.PROTECT, related_name="mend_done")
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.fault}: {self.mend}"


class LessonLeftOut(models.Model):
    """A job that nothing is learned from."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="lesson_left_out")
    reason = models.CharField(max_length=240, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)
