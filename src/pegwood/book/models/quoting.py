"""What parts cost to get, and what a job's camera is worth: the repairer's own figures behind a price."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from pegwood.book.models.jobs import Job
from pegwood.pricing.money import Money


class PartCost(models.Model):
    """What a part costs where it must be got, how long that takes, and who says so."""

    family = models.SlugField(max_length=60)
    part = models.CharField(max_length=120)
    # Of one, as the workshop states its sums.
    low_minor = models.BigIntegerField()
    likely_minor = models.BigIntegerField()
    high_minor = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    # [day]; all three or none.
    wait_low = models.FloatField(null=True, blank=True)
    wait_likely = models.FloatField(null=True, blank=True)
    wait_high = models.FloatField(null=True, blank=True)
    source = models.CharField(max_length=240)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["family", "part"]
        constraints = [
            models.UniqueConstraint(name="a_part_costs_one_sum", fields=["family", "part"]),
            models.CheckConstraint(
                name="a_parts_cost_is_in_order",
                condition=Q(low_minor__gte=0, likely_minor__gte=F("low_minor"))
                & Q(high_minor__gte=F("likely_minor")),
            ),
            models.CheckConstraint(
                name="a_parts_wait_is_in_order",
                condition=Q(wait_low=None, wait_likely=None, wait_high=None)
                | Q(wait_low__gte=0, wait_likely__gte=F("wait_low"), wait_high__gte=F("wait_likely")),
            ),
            models.CheckConstraint(name="who_says_what_a_part_costs_is_told", condition=~Q(source="")),
        ]

    def __str__(self) -> str:
        return f"{self.part}: {self.likely_minor} {self.currency}"

    @property
    def wait_days(self) -> tuple[float, float, float] | None:
        """Low, likely and high, [day]; None where it need not be waited for."""
        if self.wait_low is None or self.wait_likely is None or self.wait_high is None:
            return None
        return self.wait_low, self.wait_likely, self.wait_high


class CameraWorth(models.Model):
    """What a job's camera is worth, as the repairer sees it. What is null is not weighed."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="worth")
    currency = models.CharField(max_length=3)
    mended_minor = models.BigIntegerField()
    unmended_minor = models.BigIntegerField()
    cleaned_minor = models.BigIntegerField(null=True, blank=True)
    # How long cleaning takes, [min]; all three or none.
    clean_low = models.FloatField(null=True, blank=True)
    clean_likely = models.FloatField(null=True, blank=True)
    clean_high = models.FloatField(null=True, blank=True)
    as_found_minor = models.BigIntegerField(null=True, blank=True)
    for_parts_minor = models.BigIntegerField(null=True, blank=True)
    paid_for_parts_minor = models.BigIntegerField(null=True, blank=True)
    # By fault that can stay: by how much less the mended camera is worth with it, in minor units.
    stays = models.JSONField(default=dict)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    def __str__(self) -> str:
        return f"{self.job_id}: {self.mended_minor} {self.currency} mended"

    def money(self, name: str) -> Money | None:
        """One of the sums, by its name without `_minor`."""
        minor = getattr(self, f"{name}_minor")
        return None if minor is None else Money(minor, self.currency)
