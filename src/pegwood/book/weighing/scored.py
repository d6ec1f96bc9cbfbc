"""How good the chances were that the program told: against what was found, and against what was answered."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.book.models import FaultRuling, SignAnswer
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
    rows = FaultRuling.objects.filter(chance_before__isnull=False).order_by("at", "pk")
    if family:
        rows = rows.filter(job__camera__family=family)
    return [
        Prediction(chance=row.chance_before, was=row.there, job=str(row.job_id))
        for row in rows
        if row.chance_before is not None
    ]


def answered(family: str = "") -> list[Answered]:
    """Each answer with the chances all answers to its sign had just before, the oldest first."""
    rows = SignAnswer.objects.filter(chances_before__isnull=False, level__isnull=False).order_by("at", "pk")
    if family:
        rows = rows.filter(job__camera__family=family)
    return [
        Answered(sign=row.sign, chances=tuple(row.chances_before or ()), came=row.level)
        for row in rows
        if row.level is not None and row.level < len(row.chances_before or ())
    ]


def scored(family: str = "") -> Scored | None:
    """How good past chances were; None where nothing was ruled yet."""
    told = predictions(family)
    if not told:
        return None
    return Scored(scores(told), reliability(told), murphy_split(told), model_check(answered(family)))
