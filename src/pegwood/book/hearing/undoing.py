"""What a decision put on the card is taken off again; the diary keeps both."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from pegwood.book import diary
from pegwood.book.benchwork import strike_out_work
from pegwood.book.hearing.teaching import unteach
from pegwood.book.hearing.wording import told_of
from pegwood.book.looking import strike_out
from pegwood.book.models import Job, SaidProposal
from pegwood.book.weighing.answering import take_back_answer

WHY = "taken back: heard at the bench"


def take_back_all(job: Job, proposals: Iterable[SaidProposal], *, by: str, at: datetime) -> None:
    """
    Open proposals again, in the caller's transaction.

    Findings, work and answers that they became are struck out, and words they taught untaught.
    """
    for one in proposals:
        for answer in one.sign_answers.all():
            take_back_answer(answer, by=by, at=at)
        one.sign_answers.clear()
        if one.finding is not None:
            strike_out(one.finding, WHY, by=by, at=at)
        if one.work is not None:
            strike_out_work(one.work, WHY, by=by, at=at)
        if one.state == SaidProposal.State.DROPPED or one.remark is not None:
            diary.write(
                job,
                by=by,
                at=at,
                what="took back a decision",
                text=told_of(one).in_short,
                old={"proposal": one.pk, "state": one.state},
            )
        for word in one.taught.filter(struck_out=False):
            unteach(word, by=by, at=at)
        one.state, one.act, one.reason, one.mended = SaidProposal.State.OPEN, None, "", None
        one.finding = one.work = one.remark = None
        one.decided_at, one.decided_by = None, ""
        one.save()
