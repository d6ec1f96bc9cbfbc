"""How good the chances were that the program told: against what was found, and against what was answered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, QuerySet
from django.db.models.functions import Coalesce

from pegwood.book.models import FaultRuling, SignAnswer
from pegwood.causes.known import SORT_OF
from pegwood.causes.scoring import (
    Answered,
    ModelCheck,
    Prediction,
    Reliability,
    Scores,
    Split,
    model_check,
    murphy_split,
    reliability,
    scores,
)


@dataclass(frozen=True)
class Scored:
    """
    How good past chances were.

    Attributes
    ----------
    scores : Scores
    reliability : Reliability
    split : Split
    check : ModelCheck
        Whether answers came that the knowledge held nearly impossible more often than they should.
    """

    scores: Scores
    reliability: Reliability
    split: Split
    check: ModelCheck


def predictions(family: str = "") -> list[Prediction]:
    """
    The chance each fault was told to have just before somebody ruled it there or not, the oldest first.

    Faults that nobody ruled are not in it: whether they were there nobody knows.
    """
    rows = _of(FaultRuling.objects.filter(chance_before__isnull=False), family)
    return [
        Prediction(chance=row.chance_before, was=row.there, job=str(row.job_id))
        for row in rows.order_by("at", "pk")
        if row.chance_before is not None
    ]


def answered(family: str = "") -> list[Answered]:
    """
    Each answer with the chances all answers to its sign had just before, the oldest first.

    "Sort of" is none: the chances are those of the plain answers.
    """
    rows = _of(SignAnswer.objects.filter(chances_before__isnull=False, level__isnull=False), family)
    return [
        Answered(sign=row.sign, chances=tuple(row.chances_before or ()), came=row.level)
        for row in rows.exclude(answer__istartswith=SORT_OF).order_by("at", "pk")
        if row.level is not None and row.level < len(row.chances_before or ())
    ]


def families_scored() -> dict[str, int]:
    """By family: how many rulings there are to hold chances against."""
    rows = _of(FaultRuling.objects.filter(chance_before__isnull=False))
    return dict(rows.order_by("weighed_as").values_list("weighed_as").annotate(n=Count("pk")))


def scored(family: str = "") -> Scored | None:
    """How good past chances were; None where nothing was ruled yet."""
    told = predictions(family)
    if not told:
        return None
    return Scored(scores(told), reliability(told), murphy_split(told), model_check(answered(family)))


def _of(rows: QuerySet[Any], family: str = "") -> QuerySet[Any]:
    """Those of one family, or of all; `weighed_as` is the family, as `learnt.family_of` tells it."""
    rows = rows.annotate(weighed_as=Coalesce("job__strip_down__family", "job__camera__family"))
    return rows.filter(weighed_as=family) if family else rows
