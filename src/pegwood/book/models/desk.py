"""Things that lie on the desk: settings, forms begun and not yet sent, the index to look things up in."""

from __future__ import annotations

from django.db import models

from pegwood.book.models.jobs import Job
from pegwood.book.models.people import Owner


class Setting(models.Model):
    """One thing the workshop has chosen for itself; the rest stands at its default."""

    key = models.CharField(max_length=60, primary_key=True)
    value = models.JSONField()

    def __str__(self) -> str:
        return self.key


class Draft(models.Model):
    """A form begun and not yet sent. It outlives a reload, a flat battery and a dropped line."""

    ticket = models.UUIDField(primary_key=True)
    form = models.CharField(max_length=40)
    fields = models.JSONField(default=dict)
    # [{"sha256": ..., "name": ...}]: photographs already taken, waiting for the form they belong to.
    photos = models.JSONField(default=list)
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["-changed_at"]

    def __str__(self) -> str:
        return f"{self.form} {self.ticket}"


class SearchEntry(models.Model):
    """What can be looked up: one row for each job and each owner, kept by `pegwood.book.search`."""

    job = models.OneToOneField(Job, null=True, on_delete=models.CASCADE, related_name="search_entry")
    owner = models.OneToOneField(Owner, null=True, on_delete=models.CASCADE, related_name="search_entry")
    title = models.TextField()
    body = models.TextField()

    def __str__(self) -> str:
        return self.title
