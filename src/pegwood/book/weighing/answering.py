"""Answers to signs."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.models import Job, MendDone, SignAnswer
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.case import case_of
from pegwood.book.weighing.taking_back import take_back
from pegwood.causes.answers import likelihood
from pegwood.causes.weighing import chances_of


@transaction.atomic
def answer_sign(job: Job, sign: str, answer: str, *, by: str, at: datetime | None = None) -> SignAnswer:
    """
    Write down what was seen of a sign; an answer that was there before is struck out.

    What is seen once a mend was done stands beside what was seen before: that tells what was wrong.

    Parameters
    ----------
    sign : str
        By id in the camera's family.
    answer : str
        One of its answers, with "sort of" before it where it is only partly so, or "don't know".

    Raises
    ------
    Refused
        If the family has no such sign, that is none of its answers, or the job is over.
    """
    at = at or timezone.now()
    job = locked_open(job)
    causes = the_causes(job)
    if sign not in causes.signs:
        raise Refused(f"{sign!r} is nothing that is looked for on such a camera.")
    asked = causes.signs[sign]
    try:
        seen = likelihood(asked, answer)
    except ValueError as reason:
        said = str(reason)
        raise Refused(said[:1].upper() + said[1:]) from None
    after_mend = MendDone.objects.filter(job=job, work__struck_out=False).exists()
    before = SignAnswer.objects.filter(job=job, sign=sign, after_mend=after_mend).first()
    if before is not None:
        if before.answer == answer:
            return before
        before.struck_out = True
        before.save(update_fields=["struck_out"])
    row = SignAnswer.objects.create(
        job=job,
        sign=sign,
        answer=answer.strip(),
        level=None if seen is None else seen.index(max(seen)),
        after_mend=after_mend,
        chances_before=(
            None if seen is None or after_mend else chances_of(causes, case_of(job, causes), sign)
        ),
        at=at,
        by=by,
    )
    diary.write(
        job,
        by=by,
        at=at,
        what="looked",
        text=f"{asked.asks} {answer.strip()}",
        old={"answer": before.answer} if before else None,
        new={"sign": sign, "answer": row.answer},
    )
    return row


@transaction.atomic
def take_back_answer(row: SignAnswer, *, by: str, at: datetime | None = None) -> None:
    """Strike out an answer: as if the sign had not been asked. It stays in the diary."""
    old = {"sign": row.sign, "answer": row.answer}
    take_back(SignAnswer, row.pk, what="took back an answer", old=old, by=by, at=at)
