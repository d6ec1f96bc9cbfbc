"""Price lines, and the papers that were handed over."""

from __future__ import annotations

from django.db import models

from pegwood.book.models.jobs import Job
from pegwood.book.models.stored import StoredFile
from pegwood.pricing.money import Money


class PriceLine(models.Model):
    """A line of what was told beforehand, or of what is asked for afterwards."""

    class Sheet(models.TextChoices):
        PRICE = "price", "the price"
        BILL = "bill", "the bill"

    class Kind(models.TextChoices):
        LABOUR = "labour", "labour"
        PART = "part", "part"
        OTHER = "other", "other"

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="lines")
    sheet = models.CharField(max_length=5, choices=Sheet.choices)
    position = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=160)
    kind = models.CharField(max_length=6, choices=Kind.choices, default=Kind.LABOUR)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    amount_minor = models.BigIntegerField()
    # The rate of tax it stands at; none: no tax is charged on it.
    tax_percent = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)

    class Meta:
        ordering = ["sheet", "position"]
        constraints = [
            models.UniqueConstraint(fields=["job", "sheet", "position"], name="a_line_has_its_own_place")
        ]

    def __str__(self) -> str:
        return self.what

    @property
    def amount(self) -> Money:
        return Money(self.amount_minor, self.job.currency)


class Paper(models.Model):
    """A paper as it was made: the content it was made from, and the very bytes."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="papers")
    kind = models.CharField(max_length=20)
    # 417-bill-1: the job, what it is, and which making of it.
    number = models.CharField(max_length=40, unique=True)
    content = models.JSONField()
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="papers")
    # What is printed on it, as it was printed: without these it could not be made again.
    pictures = models.ManyToManyField(StoredFile, related_name="printed_on")
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return self.number
