"""What was written down by mistake leaves the card, and stays in the book."""

from __future__ import annotations

from typing import TypeVar

from django.db import models

Row = TypeVar("Row", bound=models.Model, covariant=True)


class OnTheCard(models.Manager[Row]):
    """Rows that still stand on a job's card."""

    def get_queryset(self) -> models.QuerySet[Row]:
        return super().get_queryset().filter(struck_out=False)


class CanBeStruckOut(models.Model):
    """
    A row that is struck out and never deleted.

    `objects`, and with it `job.findings` and the like, leaves out what was struck out, so that no page and no
    paper can forget to; `everything` is for backups and for striking out itself.
    """

    struck_out = models.BooleanField(default=False)

    objects = OnTheCard()  # first, and so the one that related rows come through
    everything = models.Manager()  # noqa: DJ012  (it is a manager, not a field)

    class Meta:
        abstract = True
