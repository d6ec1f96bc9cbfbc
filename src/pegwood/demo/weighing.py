"""What is wrong with cameras of the demo: told, looked at, decided and mended through the use cases."""

from __future__ import annotations

from datetime import datetime, timedelta

from pegwood.book.models import Job
from pegwood.book.weighing.answering import answer_sign
from pegwood.book.weighing.mending import log_mend
from pegwood.book.weighing.ruling import rule
from pegwood.book.weighing.telling import tell
from pegwood.demo.world import WeighingEntry

#: One press after the other.
PRESSED = timedelta(seconds=20)


def look_at(job: Job, entry: WeighingEntry, *, by: str, at: datetime) -> None:
    """
    Tell the story and make the looks.

    Raises
    ------
    Refused
        If the camera's family has no such look or answer.
    """
    tell(job, entry.told, entry.denied, by=by, at=at)
    for look in entry.looks:
        at += PRESSED
        answer_sign(job, look.sign, look.answer, by=by, at=at)


def decide(job: Job, entry: WeighingEntry, *, by: str, at: datetime) -> None:
    """
    Find faults, rule others out, and mend.

    Raises
    ------
    Refused
        If the camera's family knows no such fault or mend.
    """
    for fault, there in (*((one, True) for one in entry.found), *((one, False) for one in entry.ruled_out)):
        at += PRESSED
        rule(job, fault, there, by=by, at=at)
    for mend in entry.mends:
        at += PRESSED
        log_mend(job, mend.fault, mend.mend, minutes=mend.minutes, worked=mend.worked, by=by, at=at)
