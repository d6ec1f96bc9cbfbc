"""Looking a camera over: findings and photographs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import BinaryIO

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary, search
from pegwood.book.files import pictures
from pegwood.book.files.store import clean_name, keep, verified_path
from pegwood.book.models import Finding, Job, Photo, StoredFile, TakenOff
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.trade_tables import materials_named, materials_written

FINDING_FIELDS = ("part", "condition", "grade", "place", "note", "outlook", "made_of")
LONGEST = {"part": 120, "condition": 240, "place": 120, "note": 4000, "made_of": 240}


@dataclass(frozen=True, kw_only=True)
class FindingDetails:
    """
    What was seen.

    Attributes
    ----------
    part, condition : str
        Of what, and how it is ("shutter blades", "oil film").
    grade : int, optional
        0 as new, 1 slight, 2 plain to see, 3 marked, 4 heavy, 5 past use.
    place, note : str
        Where on the part; anything more.
    outlook : str
        ``"mend"``, ``"can stay"`` or empty.
    made_of : str
        What the part is made of, by any names the trade's tables know: "brass, nickel plate". Empty: as such
        parts usually are.
    """

    part: str
    condition: str
    grade: int | None = None
    place: str = ""
    note: str = ""
    outlook: str = ""
    made_of: str = ""


@transaction.atomic
def note_finding(
    job: Job,
    details: FindingDetails,
    *,
    by: str,
    at: datetime | None = None,
    taken_off: TakenOff | None = None,
) -> Finding:
    """
    Write down something seen, perhaps at a step of the strip-down.

    Raises
    ------
    Refused
        If the part or its condition is missing, the grade is not 0 to 5, no table knows the material, or the
        job is over.
    """
    at = at or timezone.now()
    _check(details)
    job = locked_open(job)
    finding = Finding.objects.create(job=job, at=at, by=by, taken_off=taken_off, **_stripped(details))
    search.index_job(job)
    diary.write(
        job,
        by=by,
        at=at,
        what="found",
        text=str(finding),
        new={"finding": finding.pk, **diary.values(finding, FINDING_FIELDS)},
    )
    return finding


@transaction.atomic
def amend_finding(
    finding: Finding, details: FindingDetails, *, by: str, at: datetime | None = None
) -> Finding:
    """Correct a finding; the diary keeps how it stood before."""
    finding = Finding.objects.select_for_update().select_related("job").get(pk=finding.pk)
    _check(details)
    locked_open(finding.job)
    before = diary.values(finding, FINDING_FIELDS)
    for name, value in _stripped(details).items():
        setattr(finding, name, value)
    old, new = diary.changes(before, diary.values(finding, FINDING_FIELDS))
    if new:
        finding.save()
        search.index_job(finding.job)
        diary.write(
            finding.job,
            by=by,
            at=at or timezone.now(),
            what="amended a finding",
            text=str(finding),
            old={"finding": finding.pk, **old},
            new={"finding": finding.pk, **new},
        )
    return finding


@transaction.atomic
def strike_out(finding: Finding, reason: str, *, by: str, at: datetime | None = None) -> None:
    """Take a mistaken finding off the card. It stays in the diary, with the reason."""
    finding = Finding.everything.select_for_update().select_related("job").get(pk=finding.pk)
    if finding.struck_out:
        return
    finding.struck_out = True
    finding.save()
    search.index_job(finding.job)
    diary.write(
        finding.job,
        by=by,
        at=at or timezone.now(),
        what="struck out a finding",
        text=reason.strip(),
        old={"finding": finding.pk, **diary.values(finding, FINDING_FIELDS)},
    )


def keep_photo(content: BinaryIO, name: str, *, at: datetime | None = None) -> StoredFile:
    """
    Put a photograph into the store, before it is known which job it belongs to.

    Raises
    ------
    Refused
        If it is not a whole JPEG, PNG or HEIC photograph of a sensible size.
    """
    shown = clean_name(name) or "The picture"
    picture = pictures.inspect(content, shown)
    return keep(content, name=shown, media_type=picture.media_type, at_most=pictures.LARGEST_FILE, at=at)


def add_photo(
    job: Job,
    content: BinaryIO | StoredFile,
    *,
    by: str,
    name: str = "",
    finding: Finding | None = None,
    step: TakenOff | None = None,
    caption: str = "",
    at: datetime | None = None,
) -> Photo:
    """
    Add a photograph to a job, perhaps to one of its findings or to a step of its strip-down.

    The same one twice is added once.

    Raises
    ------
    Refused
        As `keep_photo`, or if the finding or the step is another job's.
    """
    at = at or timezone.now()
    if finding is not None and finding.job_id != job.pk:
        raise Refused("That finding belongs to another job.")
    if step is not None and step.job_id != job.pk:
        raise Refused("That step belongs to another job.")
    # Outside the transaction: a large file must not hold the book's write lock.
    file = content if isinstance(content, StoredFile) else keep_photo(content, name, at=at)
    about = {"finding": finding, "taken_off": step}
    return _enter_photo(job, file, about, caption.strip(), by, at)


@transaction.atomic
def _enter_photo(
    job: Job,
    file: StoredFile,
    about: Mapping[str, Finding | TakenOff | None],
    caption: str,
    by: str,
    at: datetime,
) -> Photo:
    job = locked_open(job)
    if already := job.photos.filter(file=file, **about).first():
        return already
    with verified_path(file).open("rb") as content:
        width, height = pictures.upright_size(content, file.name)
    photo = Photo.objects.create(
        job=job,
        **about,
        file=file,
        caption=caption,
        width=width,
        height=height,
        at=at,
        by=by,
    )
    diary.write(
        job,
        by=by,
        at=at,
        what="added a photograph",
        text=caption,
        new={"photo": photo.pk, "sha256": file.sha256, **{n: one and one.pk for n, one in about.items()}},
    )
    return photo


@transaction.atomic
def strike_out_photo(photo: Photo, reason: str, *, by: str, at: datetime | None = None) -> None:
    """Take a photograph off the card (wrong camera, thumb in front). The file and the diary keep it."""
    photo = Photo.everything.select_for_update().select_related("job").get(pk=photo.pk)
    if photo.struck_out:
        return
    photo.struck_out = True
    photo.save()
    diary.write(
        photo.job,
        by=by,
        at=at or timezone.now(),
        what="struck out a photograph",
        text=reason.strip(),
        old={"photo": photo.pk, "sha256": photo.file_id, "caption": photo.caption},
    )


@transaction.atomic
def caption_photo(photo: Photo, caption: str, *, by: str, at: datetime | None = None) -> Photo:
    """
    Say what a photograph shows; the diary keeps what was said before.

    Raises
    ------
    Refused
        If the caption is too long to stand under a photograph.
    """
    photo = Photo.objects.select_for_update().select_related("job").get(pk=photo.pk)
    caption = caption.strip()
    longest = Photo._meta.get_field("caption").max_length or 0
    if len(caption) > longest:
        raise Refused(f"The caption is longer than {longest} characters. Make it a finding or a remark.")
    if caption != photo.caption:
        old, photo.caption = photo.caption, caption
        photo.save()
        diary.write(
            photo.job,
            by=by,
            at=at or timezone.now(),
            what="captioned a photograph",
            text=caption,
            old={"photo": photo.pk, "caption": old},
            new={"photo": photo.pk, "caption": caption},
        )
    return photo


def _check(details: FindingDetails) -> None:
    if not details.part.strip():
        raise Refused("Which part? Name it, such as 'shutter blades'.")
    if not details.condition.strip():
        raise Refused(f"How is the {details.part.strip()}? Say its condition, such as 'oil film'.")
    if details.grade is not None and details.grade not in range(6):
        raise Refused(f"The grade is {details.grade}. Expected 0 (as new) to 5 (past use), or none.")
    if details.outlook not in Finding.Outlook.values:
        raise Refused(f"The outlook is {details.outlook!r}. Expected 'mend', 'can stay' or nothing.")
    for name, longest in LONGEST.items():
        if len(getattr(details, name).strip()) > longest:
            raise Refused(f"The {name} is longer than {longest} characters. Make it shorter.")


def _stripped(details: FindingDetails) -> dict[str, object]:
    stripped = {n: v.strip() if isinstance(v, str) else v for n, v in vars(details).items()}
    return {**stripped, "made_of": materials_written(materials_named(details.made_of))}
