"""From the job book to the content of a paper."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import partial

from pegwood.book.models import Finding as BookFinding
from pegwood.book.models import Job
from pegwood.book.workshop import workshop
from pegwood.papers.content import Care, Condition, Finding, PaperContent, Receipt
from pegwood.papers.desk import Desk, RefusedPaper, camera_of, head_of, lines_of, owner_of
from pegwood.papers.gather_certificate import certificate
from pegwood.papers.gather_money import bill, price
from pegwood.papers.gather_record import record
from pegwood.papers.gather_trays import trays

RECEIPT_PHOTOS = 6
FINDING_PHOTOS = 4


def content_of(
    job: Job, kind: str, *, by: str, at: datetime, number: str, of: str = ""
) -> tuple[PaperContent, dict[str, bytes]]:
    """
    What is to stand on a paper, and the pictures it needs.

    Parameters
    ----------
    job : Job
    kind : str
        One of `KINDS`.
    by : str
        Who makes it.
    at : datetime
        The moment that stands on it, with its time zone.
    number : str
        The paper's own.
    of : str
        Number of a bill or credit note; the latest if empty.

    Returns
    -------
    content : Receipt, Condition, Certificate, Price, Bill, Care, Trays or Record
    pictures : dict of str to bytes
        Under their SHA-256.

    Raises
    ------
    Refused
        When the book does not hold what the paper needs, or a file of it is gone.
    BadContent
        When what it holds cannot stand on a paper.
    """
    makers: dict[str, Callable[[Job, Desk], PaperContent]] = {
        "receipt": _receipt,
        "condition": _condition,
        "certificate": certificate,
        "price": price,
        "bill": partial(bill, of=of),
        "care": _care,
        "trays": trays,
        "record": record,
    }
    desk = Desk(shop=workshop(), at=at, by=by, number=number)
    return makers[kind](job, desk), desk.pictures


def _receipt(job: Job, desk: Desk) -> Receipt:
    earliest = list(job.photos.filter(finding=None).select_related("file")[:RECEIPT_PHOTOS])
    return Receipt(
        head=head_of(job, desk),
        owner=owner_of(job),
        camera=camera_of(job, desk),
        accessories=lines_of(job.accessories),
        story=job.story,
        photos=desk.photos(earliest),
        promised_on=job.promised_on.isoformat() if job.promised_on else None,
        terms=lines_of(desk.shop.terms),
        comeback_of=str(job.comeback_of.number) if job.comeback_of else "",
    )


def _findings(job: Job) -> list[BookFinding]:
    return list(job.findings.prefetch_related("photos__file"))


def _condition(job: Job, desk: Desk) -> Condition:
    findings = _findings(job)
    if not findings:
        raise RefusedPaper(
            "No finding is written down yet. Look the camera over first, and note what you see."
        )
    general = list(job.photos.filter(finding=None).select_related("file")[:RECEIPT_PHOTOS])
    return Condition(
        head=head_of(job, desk),
        owner=owner_of(job),
        camera=camera_of(job, desk),
        story=job.story,
        findings=tuple(
            Finding(
                part=finding.part,
                condition=finding.condition,
                grade=finding.grade,
                place=finding.place,
                note=finding.note,
                outlook=finding.outlook,  # type: ignore[arg-type]
                photos=desk.photos(list(finding.photos.all())[:FINDING_PHOTOS]),
            )
            for finding in findings
        ),
        photos=desk.photos(general),
        looked_over_by=", ".join(dict.fromkeys(finding.by for finding in findings)),
        looked_over_on=desk.day(max(finding.at for finding in findings)),
    )


def _care(job: Job, desk: Desk) -> Care:
    work = list(job.work.all())
    if not work:
        raise RefusedPaper("No work is written down yet. Write what was done, then print the slip.")
    staying = [finding for finding in _findings(job) if finding.outlook == BookFinding.Outlook.CAN_STAY]
    until = job.guarantee_until
    months = 0 if until or job.is_over else job.guarantee_months
    return Care(
        head=head_of(job, desk),
        owner=owner_of(job),
        camera=camera_of(job, desk),
        done=tuple(f"{piece.part}: {piece.done}" if piece.part else piece.done for piece in work),
        left_alone=tuple(str(finding) for finding in staying),
        guarantee_until=until.isoformat() if until else None,
        guarantee_months=months or None,
    )
