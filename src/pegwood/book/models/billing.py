"""Offers, the clock of the bench, bills and what was paid on them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.db import models
from django.db.models import Q

from pegwood.book.models.jobs import Job
from pegwood.pricing.money import Money

#: What stands on a line: gross, with the tax in it, or net, without. What tax is rounded by.
PRICES = [("gross", "with tax"), ("net", "without tax")]
ROUNDINGS = [("bill", "on the whole"), ("line", "line by line")]


class TaxedSums(models.Model):
    """What lines come to, with what was chosen of tax when they were added up."""

    currency = models.CharField(max_length=3)
    prices = models.CharField(max_length=5, choices=PRICES, default="gross")
    rounding = models.CharField(max_length=4, choices=ROUNDINGS, default="bill")
    net_minor = models.BigIntegerField()
    tax_minor = models.BigIntegerField()
    total_minor = models.BigIntegerField()
    # [{"percent": "21", "net_minor": 100, "tax_minor": 21}, ...]; an empty percent: no tax is charged.
    taxes = models.JSONField(default=list)

    class Meta:
        abstract = True

    @property
    def total(self) -> Money:
        return Money(self.total_minor, self.currency)

    @property
    def net(self) -> Money:
        return Money(self.net_minor, self.currency)

    @property
    def tax(self) -> Money:
        return Money(self.tax_minor, self.currency)


class Offer(TaxedSums):
    """A price as the owner was told it, and the answer. Older ones are kept as they were told."""

    class IfNo(models.TextChoices):
        TOGETHER = "together", "put together again, unmended"
        AS_IT_IS = "as it is", "handed back as it lies"

    class Answer(models.TextChoices):
        OPEN = "", "no answer yet"
        YES = "yes", "yes"
        NO = "no", "no"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="offers")
    # Its place among the job's offers, from 1.
    place = models.PositiveSmallIntegerField()
    at = models.DateTimeField()
    by = models.CharField(max_length=80)
    # [{"what", "kind", "minutes", "amount_minor", "percent"}, ...] as told.
    lines = models.JSONField(default=list)
    note = models.CharField(max_length=400, blank=True)
    valid_until = models.DateField()
    deposit_minor = models.BigIntegerField(default=0)
    if_no = models.CharField(max_length=8, choices=IfNo.choices, default=IfNo.TOGETHER)
    # What the look and the putting together cost if the owner says no.
    no_costs_minor = models.BigIntegerField(default=0)
    # What the job was reckoned to come to when this was told; empty where nothing was reckoned.
    reckoned = models.JSONField(default=dict)

    answer = models.CharField(max_length=3, choices=Answer.choices, blank=True, default=Answer.OPEN)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_how = models.CharField(max_length=400, blank=True)
    up_to_minor = models.BigIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["job", "place"]
        constraints = [
            models.UniqueConstraint(fields=["job", "place"], name="an_offer_has_its_own_place"),
            models.CheckConstraint(
                name="an_offer_asks_for_nothing_below_nothing",
                condition=Q(total_minor__gte=0, deposit_minor__gte=0, no_costs_minor__gte=0),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.job_id}: offer {self.place}"

    @property
    def deposit(self) -> Money:
        return Money(self.deposit_minor, self.currency)

    @property
    def no_costs(self) -> Money:
        return Money(self.no_costs_minor, self.currency)

    @property
    def up_to(self) -> Money | None:
        return None if self.up_to_minor is None else Money(self.up_to_minor, self.currency)

    @property
    def minutes(self) -> int:
        """Work it reckoned with, [min]."""
        return sum(line.get("minutes") or 0 for line in self.lines)


class BenchClock(models.Model):
    """
    The clock of one job.

    It runs while `since` is set; with `until` set too it stands, and waits to be told how long the work was.
    """

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="bench_clock")
    since = models.DateTimeField(null=True, blank=True)
    until = models.DateTimeField(null=True, blank=True)
    by = models.CharField(max_length=80, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="a_clock_ends_after_it_began",
                condition=Q(until__isnull=True) | Q(since__isnull=False, until__gte=models.F("since")),
            )
        ]

    def __str__(self) -> str:
        return f"clock of {self.job_id}"


class ClockEntry(models.Model):
    """Minutes at the bench. Never changed: what was wrong is put right by a counter-entry."""

    class Kind(models.TextChoices):
        RUN = "run", "the clock ran"
        TOLD = "told", "told, as the clock had been forgotten"
        CORRECTION = "correction", "corrected"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="clock_entries")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    minutes = models.IntegerField()
    since = models.DateTimeField(null=True, blank=True)
    until = models.DateTimeField(null=True, blank=True)
    why = models.CharField(max_length=240, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.minutes} min"


class NumberSeries(models.Model):
    """The last number given out of a series, held locked while a bill takes the next: none is left out."""

    # "bill" or "credit", and the year where numbers begin anew with it: "bill 2031".
    key = models.CharField(max_length=20, primary_key=True)
    last = models.PositiveIntegerField()
    first = models.PositiveIntegerField()

    class Meta:
        verbose_name_plural = "number series"

    def __str__(self) -> str:
        return f"{self.key}: {self.last}"


class Bill(TaxedSums):
    """
    A bill, or a credit note, as it was issued. The database refuses to change one: see the migration.

    A credit note counts below zero, so that all of a job's together are what is asked for.
    """

    class Kind(models.TextChoices):
        BILL = "bill", "bill"
        CREDIT = "credit", "credit note"

    kind = models.CharField(max_length=6, choices=Kind.choices)
    series = models.ForeignKey(NumberSeries, on_delete=models.PROTECT, related_name="bills")
    n = models.PositiveIntegerField()
    number = models.CharField(max_length=40, unique=True)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="bills")
    corrects = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="credits"
    )
    reason = models.CharField(max_length=400, blank=True)

    issued_at = models.DateTimeField()
    issued_on = models.DateField()
    due_on = models.DateField()
    by = models.CharField(max_length=80)
    # Whose bill it is and who gets it, as it stood on that day: names, addresses, numbers.
    seller = models.JSONField()
    buyer = models.JSONField()
    tax_name = models.CharField(max_length=20, blank=True)
    no_tax_reason = models.CharField(max_length=240, blank=True)
    # What was agreed and done, as it stands on the bill.
    agreed_up_to_minor = models.BigIntegerField(null=True, blank=True)
    agreed_on = models.DateField(null=True, blank=True)
    agreed_how = models.CharField(max_length=120, blank=True)
    done = models.JSONField(default=list)
    terms = models.CharField(max_length=1000, blank=True)

    class Meta:
        ordering = ["issued_at", "pk"]
        indexes = [models.Index(fields=["issued_on"])]
        constraints = [
            models.UniqueConstraint(fields=["series", "n"], name="a_number_is_given_once"),
            models.CheckConstraint(
                name="net_and_tax_are_the_total",
                condition=Q(total_minor=models.F("net_minor") + models.F("tax_minor")),
            ),
            models.CheckConstraint(
                name="a_credit_note_counts_below_zero",
                condition=Q(kind="bill", corrects__isnull=True, total_minor__gte=0)
                | Q(kind="credit", corrects__isnull=False, total_minor__lte=0),
            ),
        ]

    def __str__(self) -> str:
        return self.number


class BillLine(models.Model):
    """A line of an issued bill; of a credit note, below zero."""

    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=160)
    kind = models.CharField(max_length=6)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    # What stands on the line, and what of it is without tax.
    amount_minor = models.BigIntegerField()
    net_minor = models.BigIntegerField()
    tax_percent = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)

    class Meta:
        ordering = ["bill", "position"]
        constraints = [
            models.UniqueConstraint(fields=["bill", "position"], name="a_bill_line_has_its_own_place")
        ]

    def __str__(self) -> str:
        return self.what

    @property
    def amount(self) -> Money:
        return Money(self.amount_minor, self.bill.currency)

    @property
    def net(self) -> Money:
        return Money(self.net_minor, self.bill.currency)

    @property
    def as_told(self) -> dict[str, Any]:
        """As an offer keeps a line."""
        percent: Decimal | None = self.tax_percent
        return {
            "what": self.what,
            "kind": self.kind,
            "minutes": self.minutes,
            "amount_minor": self.amount_minor,
            "percent": "" if percent is None else f"{percent.normalize():f}",
        }


class Payment(models.Model):
    """Money that came, or went back (below zero). Never changed: a wrong one is undone by a counter-entry."""

    class Kind(models.TextChoices):
        DEPOSIT = "deposit", "deposit"
        PAYMENT = "payment", "payment"
        BACK = "back", "paid back"
        UNDONE = "undone", "taken back, it was a slip"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="payments")
    kind = models.CharField(max_length=7, choices=Kind.choices)
    amount_minor = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    how = models.CharField(max_length=60, blank=True)
    undoes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by"
    )
    why = models.CharField(max_length=240, blank=True)
    # The form it came from: one sent twice over a bad line is one payment.
    ticket = models.UUIDField(null=True, blank=True, unique=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.amount_minor} {self.currency}"

    @property
    def amount(self) -> Money:
        return Money(self.amount_minor, self.currency)
