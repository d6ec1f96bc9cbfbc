"""What was dictated at the bench, what was heard in it, and what this bench taught the ear."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from pegwood.book.models.bench import Finding, Work
from pegwood.book.models.causes import SignAnswer
from pegwood.book.models.jobs import DiaryEntry, Job
from pegwood.book.models.stored import StoredFile
from pegwood.book.models.struck_out import CanBeStruckOut


class Narration(CanBeStruckOut):
    """
    What somebody told of a job's camera, word for word.

    `text` is what the proposals' places count in: the lines joined by line feeds. `times` holds when each of
    them began, from the start of the recording [s], or null.
    """

    class How(models.TextChoices):
        TYPED = "typed", "typed"
        FILE = "file", "from a file"
        SPOKEN = "spoken", "spoken at the bench"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="narrations")
    name = models.CharField(max_length=200, blank=True)
    language = models.CharField(max_length=12, default="en")
    how = models.CharField(max_length=10, choices=How.choices, default=How.TYPED)
    text = models.TextField()
    times = models.JSONField(default=list)
    # As it came, where it came as a file.
    file = models.ForeignKey(
        StoredFile, null=True, blank=True, on_delete=models.PROTECT, related_name="narrations"
    )
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return self.name or f"{self.get_how_display()}: {self.text[:40]}"


class SaidProposal(models.Model):
    """
    Something heard in a narration, for a person to keep, mend or drop.

    `data` is the extractor's own word on it, and stays as it was heard; `mended` is what a person made of
    it. What it became on the card is named beside it.
    """

    class Kind(models.TextChoices):
        FINDING = "finding", "finding"
        WORK = "work", "work"
        REMARK = "remark", "remark"
        UNPLACED = "unplaced", "not placed"

    class State(models.TextChoices):
        OPEN = "open", "open"
        KEPT = "kept", "kept"
        MENDED = "mended", "mended"
        DROPPED = "dropped", "dropped"

    narration = models.ForeignKey(Narration, on_delete=models.PROTECT, related_name="proposals")
    # In the order spoken, from 1.
    order = models.PositiveIntegerField()
    kind = models.CharField(max_length=10, choices=Kind.choices)
    data = models.JSONField()
    # First character of its words in the narration's text, and that after them.
    begins = models.PositiveIntegerField()
    ends = models.PositiveIntegerField()
    at_s = models.FloatField(null=True, blank=True)

    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)
    mended = models.JSONField(null=True, blank=True)
    reason = models.CharField(max_length=240, blank=True)
    # Which decision of this narration it was settled by: what was done at one press is undone at one.
    act = models.PositiveIntegerField(null=True, blank=True)
    finding = models.ForeignKey(
        Finding, null=True, blank=True, on_delete=models.PROTECT, related_name="said_in"
    )
    work = models.ForeignKey(Work, null=True, blank=True, on_delete=models.PROTECT, related_name="said_in")
    # Signs that the person confirmed with it.
    sign_answers = models.ManyToManyField(SignAnswer, blank=True, related_name="said_in")
    remark = models.ForeignKey(
        DiaryEntry, null=True, blank=True, on_delete=models.PROTECT, related_name="said_in"
    )
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["narration", "order"]
        constraints = [
            models.UniqueConstraint(
                name="each_proposal_of_a_narration_has_its_place", fields=["narration", "order"]
            ),
            models.CheckConstraint(
                name="a_settled_proposal_says_when_and_an_open_one_does_not",
                condition=Q(state="open", decided_at__isnull=True, act__isnull=True)
                | (~Q(state="open") & Q(decided_at__isnull=False, act__isnull=False)),
            ),
            models.CheckConstraint(
                name="the_words_of_a_proposal_have_a_place", condition=Q(ends__gte=models.F("begins"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.order}: {self.data.get('words', '')}"

    @property
    def is_open(self) -> bool:
        """Whether nobody has settled it yet."""
        return self.state == self.State.OPEN


class TaughtWord(CanBeStruckOut):
    """A word of this bench: what is said here, and what is meant by it."""

    class Kind(models.TextChoices):
        PART = "part", "name of a part"
        CONDITION = "condition", "word for a condition"
        MISHEARD = "misheard", "misheard"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    said = models.CharField(max_length=120)
    # The part's id, a key of the conditions, or the word that was really said.
    meant = models.CharField(max_length=120)
    # Of a part: whose it is. A word for a condition is the same in every family.
    family = models.SlugField(max_length=60, blank=True)
    proposal = models.ForeignKey(
        SaidProposal, null=True, blank=True, on_delete=models.PROTECT, related_name="taught"
    )
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["kind", "family", "said"]
        constraints = [
            models.UniqueConstraint(
                name="a_word_means_one_thing_at_a_bench",
                fields=["kind", "family", "said"],
                condition=Q(struck_out=False),
            )
        ]

    def __str__(self) -> str:
        return f"{self.said}: {self.meant}"
