"""The shelf: spares, what was measured of them, what moved, and cameras kept for their parts."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import F, Q, Sum, Value
from django.db.models.functions import Coalesce

from pegwood.book.models.bench import GRADES
from pegwood.book.models.jobs import Job
from pegwood.book.models.struck_out import CanBeStruckOut
from pegwood.pricing.money import Money

#: Of which a spare is no use to anybody.
PAST_USE = 5
MARKS = [("seen", "seen"), ("memory", "memory"), ("practice", "practice")]


def _money_goes_with_its_currency(name: str, column: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        name=name,
        condition=Q(**{f"{column}__isnull": True}) | (Q(**{f"{column}__gte": 0}) & ~Q(currency="")),
    )


class Donor(CanBeStruckOut):
    """A camera that is kept for its parts; a job's where it came as one."""

    job = models.OneToOneField(Job, null=True, blank=True, on_delete=models.PROTECT, related_name="donor")
    family = models.SlugField(max_length=60, blank=True)
    maker = models.CharField(max_length=80, blank=True)
    model = models.CharField(max_length=80, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    place = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)
    cost_minor = models.BigIntegerField(null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["-pk"]
        constraints = [_money_goes_with_its_currency("a_donors_cost_is_in_a_currency", "cost_minor")]

    def __str__(self) -> str:
        named = " ".join(filter(None, (self.maker, self.model))) or "a camera"
        return f"{named}, no. {self.serial}" if self.serial else named


class OnTheShelf(models.Manager["Spare"]):
    """Spares with how many there are: `lies` on the shelf, `held` of these for jobs, `free` for anybody."""

    def counted(self) -> models.QuerySet[Any]:
        return self.get_queryset().annotate(
            lies=Coalesce(Sum("moves__lies"), Value(0)),
            held=Coalesce(Sum("moves__held"), Value(0)),
            free=Coalesce(Sum(F("moves__lies") - F("moves__held")), Value(0)),
        )


class Spare(models.Model):
    """
    A part in stock, or several alike. How many there are is the sum of what moved, and stands nowhere else.
    """

    # By id in the family, where the family knows it; and as it is called.
    part = models.CharField(max_length=120, blank=True)
    name = models.CharField(max_length=120)
    family = models.SlugField(max_length=60, blank=True)
    # What camera it is of; empty where nobody knows, or where it does not matter.
    maker = models.CharField(max_length=80, blank=True)
    model = models.CharField(max_length=80, blank=True)
    grade = models.PositiveSmallIntegerField(null=True, blank=True, choices=list(GRADES.items()))
    place = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)
    # Of one.
    cost_minor = models.BigIntegerField(null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    # The least of what is measured of it at which it is of any use, in that unit.
    good_from = models.FloatField(null=True, blank=True)
    donor = models.ForeignKey(Donor, null=True, blank=True, on_delete=models.PROTECT, related_name="spares")
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    objects = OnTheShelf()

    class Meta:
        ordering = ["name", "pk"]
        indexes = [models.Index(fields=["family", "part"])]
        constraints = [
            models.CheckConstraint(
                name="a_spares_grade_is_0_to_5",
                condition=Q(grade__isnull=True) | Q(grade__range=(0, PAST_USE)),
            ),
            _money_goes_with_its_currency("a_spares_cost_is_in_a_currency", "cost_minor"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def camera(self) -> str:
        """What camera it is of, in words; empty where nobody knows."""
        return " ".join(filter(None, (self.maker, self.model)))

    @property
    def cost(self) -> Money | None:
        """Of one."""
        return None if self.cost_minor is None else Money(self.cost_minor, self.currency)


class SpareMove(models.Model):
    """
    Something that moved. The database itself refuses to change or delete a row: see migration 0008.

    What was wrong is undone by a counter-entry, once.
    """

    class Kind(models.TextChoices):
        PUT = "put in", "put in"
        HELD = "reserved", "reserved"
        LET_GO = "let go", "let go"
        USED = "used", "used"
        GIVEN_BACK = "given back", "given back"
        WRITTEN_OFF = "written off", "written off"
        COUNTED = "counted", "counted"
        UNDONE = "undone", "undone"

    spare = models.ForeignKey(Spare, on_delete=models.PROTECT, related_name="moves")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    # By how many there are more on the shelf, and by how many more of these are reserved.
    lies = models.SmallIntegerField(default=0)
    held = models.SmallIntegerField(default=0)
    job = models.ForeignKey(Job, null=True, blank=True, on_delete=models.PROTECT, related_name="spare_moves")
    # Which part of the job's camera it is for, by id in its family; empty for the spare's own.
    for_part = models.CharField(max_length=120, blank=True)
    reason = models.CharField(max_length=240, blank=True)
    undoes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by"
    )
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="what_is_reserved_is_reserved_for_a_job", condition=Q(held=0) | Q(job__isnull=False)
            ),
            models.CheckConstraint(
                name="a_counter_entry_names_what_it_undoes",
                condition=Q(kind="undone", undoes__isnull=False) | (~Q(kind="undone") & Q(undoes=None)),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.spare_id}"


class SpareMeasure(CanBeStruckOut):
    """What was measured of a spare, with its uncertainty: a cell's output, a spring's rate."""

    spare = models.ForeignKey(Spare, on_delete=models.PROTECT, related_name="measures")
    what = models.CharField(max_length=60)
    value = models.FloatField()
    # Standard uncertainty, k = 1, in the same unit.
    u = models.FloatField()
    unit = models.CharField(max_length=20)
    note = models.CharField(max_length=240, blank=True)
    on = models.DateField()
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["on", "pk"]
        constraints = [
            models.CheckConstraint(name="a_measured_spare_has_its_uncertainty", condition=Q(u__gt=0))
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.reading}"

    @property
    def reading(self) -> str:
        """Value, standard uncertainty and unit: "72.5 ± 1.5 µA"."""
        return f"{self.value:g} ± {self.u:g} {self.unit}"


class DonorPart(CanBeStruckOut):
    """A part that is not in a donor any more: it lies on the shelf as a spare, or never was there."""

    donor = models.ForeignKey(Donor, on_delete=models.PROTECT, related_name="parts_gone")
    # By id in the family, where the family knows it; and as it is called.
    part = models.CharField(max_length=120, blank=True)
    name = models.CharField(max_length=120)
    spare = models.OneToOneField(
        Spare, null=True, blank=True, on_delete=models.PROTECT, related_name="out_of"
    )
    reason = models.CharField(max_length=240, blank=True)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="a_part_comes_out_of_a_donor_once",
                fields=["donor", "part"],
                condition=Q(struck_out=False) & ~Q(part=""),
            )
        ]

    def __str__(self) -> str:
        return self.name


class FitsAlso(CanBeStruckOut):
    """A part of one camera that fits another, and who says so."""

    part = models.CharField(max_length=120)
    family = models.SlugField(max_length=60)
    maker = models.CharField(max_length=80, blank=True)
    model = models.CharField(max_length=80, blank=True)
    to_part = models.CharField(max_length=120)
    to_family = models.SlugField(max_length=60)
    to_maker = models.CharField(max_length=80, blank=True)
    to_model = models.CharField(max_length=80, blank=True)
    both_ways = models.BooleanField(default=True)
    note = models.CharField(max_length=240, blank=True)
    source = models.CharField(max_length=240)
    mark = models.CharField(max_length=10, choices=MARKS, default="practice")
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(name="who_says_that_it_fits_is_told", condition=~Q(source=""))]


class PartWorth(models.Model):
    """What having a part is worth to the workshop when a job needs it: the repairer's own figure."""

    family = models.SlugField(max_length=60)
    part = models.CharField(max_length=120)
    worth_minor = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        constraints = [
            models.UniqueConstraint(name="a_part_is_worth_one_sum", fields=["family", "part"]),
            models.CheckConstraint(name="a_parts_worth_is_above_nothing", condition=Q(worth_minor__gt=0)),
        ]

    @property
    def worth(self) -> Money:
        return Money(self.worth_minor, self.currency)
