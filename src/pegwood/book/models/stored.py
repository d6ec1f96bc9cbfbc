"""Files of the book: photographs, recordings, papers, each under the hash of its content."""

from __future__ import annotations

from django.db import models

from pegwood.book.models.jobs import Job
from pegwood.book.models.struck_out import CanBeStruckOut


class StoredFile(models.Model):
    """A file in the store. The same content, brought twice, is one row and one file."""

    sha256 = models.CharField(max_length=64, primary_key=True)
    size = models.BigIntegerField()
    media_type = models.CharField(max_length=80)
    # The name it came with: shown and offered at download, never used as a path.
    name = models.CharField(max_length=200, blank=True)
    stored_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name or self.sha256[:12]


class Photo(CanBeStruckOut):
    """A photograph of a job, perhaps of one of its findings or of a step of its strip-down."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photos")
    finding = models.ForeignKey(
        "book.Finding", null=True, blank=True, on_delete=models.PROTECT, related_name="photos"
    )
    # The step of the strip-down that it shows.
    taken_off = models.ForeignKey(
        "book.TakenOff", null=True, blank=True, on_delete=models.PROTECT, related_name="photos"
    )
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="photos")
    caption = models.CharField(max_length=160, blank=True)
    # As shown, upright: after the camera's own note of how it was held.
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.CharField(max_length=80)

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return self.caption or f"photo {self.pk}"
