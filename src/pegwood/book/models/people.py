"""Whose it is, and what it is."""

from __future__ import annotations

from django.db import models

from pegwood.anatomy import Family
from pegwood.book.families import family


class Owner(models.Model):
    """Somebody who brings cameras."""

    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=60, blank=True)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True, max_length=1000)
    note = models.TextField(blank=True, max_length=4000)
    known_since = models.DateTimeField()

    class Meta:
        ordering = ["name", "pk"]
        indexes = [models.Index(fields=["name"])]

    def __str__(self) -> str:
        return self.name


class Camera(models.Model):
    """A camera as an individual: one serial number, many visits."""

    owner = models.ForeignKey(Owner, on_delete=models.PROTECT, related_name="cameras")
    family = models.SlugField(max_length=60, default="other")
    maker = models.CharField(max_length=80, blank=True)
    model = models.CharField(max_length=80, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    lens = models.CharField(max_length=120, blank=True)
    lens_serial = models.CharField(max_length=60, blank=True)
    shutter = models.CharField(max_length=120, blank=True)
    year_made = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.TextField(blank=True, max_length=4000)

    class Meta:
        indexes = [models.Index(fields=["serial"])]

    def __str__(self) -> str:
        return self.title

    @property
    def title(self) -> str:
        """Maker and model; where nobody knows them, the kind of camera."""
        return f"{self.maker} {self.model}".strip() or self.kind.name

    @property
    def kind(self) -> Family:
        return family(self.family)
