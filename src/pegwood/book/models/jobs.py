"""One camera's visit, and the record of all that happened to it."""

from __future__ import annotations

from datetime import date

from django.db import models

from pegwood.book.models.people import Camera, Owner
from pegwood.book.states import OVER, Standing, WaitingFor
from pegwood.pricing.money import Money


def _choices(words: type[Standing] | type[WaitingFor]) -> list[tuple[str, str]]:
    return [(word.value, word.value) for word in words]


class Job(models.Model):
    """A camera's visit, from the door to the door."""

    number = models.PositiveIntegerField(unique=True)
    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, related_name="jobs")
    camera = models.ForeignKey(Camera, on_delete=models.PROTECT, related_name="jobs")

    standing = models.CharField(max_length=20, choices=_choices(Standing), default=Standing.ARRIVED)
    waiting_for = models.CharField(max_length=10, choices=_choices(WaitingFor), blank=True)
    came_from = models.CharField(max_length=20, choices=_choices(Standing), blank=True)
    stands_since = models.DateTimeField()
    # When what a waiting job waits for should be over, as far as that was told.
    waits_until = models.DateTimeField(null=True, blank=True)

    story = models.TextField(blank=True, max_length=20_000)
    accessories = models.TextField(blank=True, max_length=2000)
    arrived_at = models.DateTimeField()
    promised_on = models.DateField(null=True, blank=True)
    gone_home_at = models.DateTimeField(null=True, blank=True)

    currency = models.CharField(max_length=3)
    price_minor = models.BigIntegerField(null=True, blank=True)
    price_told_at = models.DateTimeField(null=True, blank=True)
    agreed_up_to_minor = models.BigIntegerField(null=True, blank=True)
    agreed_at = models.DateTimeField(null=True, blank=True)
    agreed_how = models.CharField(max_length=120, blank=True)
    paid_minor = models.BigIntegerField(null=True, blank=True)
    paid_how = models.CharField(max_length=60, blank=True)
    # When the last of it was paid.
    paid_at = models.DateTimeField(null=True, blank=True)

    guarantee_months = models.PositiveSmallIntegerField(default=0)
    guarantee_until = models.DateField(null=True, blank=True)
    comeback_of = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="comebacks"
    )
    # The take-in form it came from: a form sent twice over a bad line takes in one camera.
    ticket = models.UUIDField(null=True, blank=True, unique=True)

    class Meta:
        ordering = ["-number"]
        indexes = [
            models.Index(fields=["standing", "promised_on"]),
            models.Index(fields=["standing", "stands_since"]),
        ]
        constraints = [
            models.CheckConstraint(
                name="waits_for_something_exactly_while_waiting",
                condition=models.Q(standing=Standing.WAITING) ^ models.Q(waiting_for=""),
            ),
            models.CheckConstraint(
                name="waits_until_a_moment_only_while_waiting",
                condition=models.Q(standing=Standing.WAITING) | models.Q(waits_until__isnull=True),
            ),
            models.CheckConstraint(
                name="agreed_sum_is_not_negative",
                condition=models.Q(agreed_up_to_minor__isnull=True) | models.Q(agreed_up_to_minor__gte=0),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}"

    @property
    def stands(self) -> Standing:
        return Standing(self.standing)

    @property
    def is_over(self) -> bool:
        return self.stands in OVER

    @property
    def price(self) -> Money | None:
        """What the owner was told."""
        return None if self.price_minor is None else Money(self.price_minor, self.currency)

    @property
    def agreed_up_to(self) -> Money | None:
        """The sum beyond which the owner must be asked again."""
        return None if self.agreed_up_to_minor is None else Money(self.agreed_up_to_minor, self.currency)

    @property
    def paid(self) -> Money | None:
        return None if self.paid_minor is None else Money(self.paid_minor, self.currency)

    def is_late(self, today: date) -> bool:
        """Whether it was promised for a day before `today` and is still here."""
        return self.promised_on is not None and not self.is_over and self.promised_on < today


class DiaryEntry(models.Model):
    """
    One thing that happened. The database itself refuses to change or delete a row: see migration 0002.

    Entries without a job belong to the workshop: its settings, its owners.
    """

    job = models.ForeignKey(Job, null=True, blank=True, on_delete=models.PROTECT, related_name="diary")
    at = models.DateTimeField()
    who = models.CharField(max_length=80)
    what = models.CharField(max_length=60)
    text = models.TextField(blank=True)
    old = models.JSONField(null=True, blank=True)
    new = models.JSONField(null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["job", "at"])]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.who}: {self.what}"
