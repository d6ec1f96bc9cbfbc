"""Logging off: one part after another comes away, with what was kept of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, get_args

from django.db import transaction
from django.utils import timezone

from pegwood.anatomy.bench_log import Written
from pegwood.anatomy.parts import NoteKind
from pegwood.book import diary
from pegwood.book.looking import FindingDetails, note_finding
from pegwood.book.models import Job, Kept, StripDown, TakenOff
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.stripping.kept import KeptDetails, check_kept, described, keep
from pegwood.book.stripping.pockets import Pocket, checked, pocket_name
from pegwood.book.stripping.way_in import LONGEST_STEP_S, begun, seconds_of
from pegwood.trade.names import plain

LONGEST = {"name": 120, "way": 120, "side": 20, "tool": 40}


@dataclass(frozen=True, kw_only=True)
class OffDetails:
    """
    A step of a strip-down.

    Attributes
    ----------
    name : str
        The part as it is told.
    part, way : str
        In the family, as far as it knows them.
    side, tool : str
        From where, with what.
    met : str
        "there", "missing" or "never fitted".
    held_to, hidden_under : tuple of str
        As in the log, for a camera that no family describes.
    notes : tuple of Written
        What was written down before it moved.
    kept : tuple of KeptDetails
        Screws, shims, springs.
    pocket : (int, int), optional
        Tray and pocket; none for beside the trays.
    condition, grade, place
        What is to be seen on it, as a finding; no finding without a condition.
    earlier_hand : tuple of str
        What tells that somebody was in there before; a finding too.
    minutes : float, optional
        As told by hand, [min]; the clock's otherwise.
    """

    name: str
    part: str = ""
    way: str = ""
    side: str = ""
    tool: str = ""
    met: str = "there"
    held_to: tuple[str, ...] = ()
    hidden_under: tuple[str, ...] = ()
    notes: tuple[Written, ...] = ()
    kept: tuple[KeptDetails, ...] = ()
    pocket: Pocket | None = None
    condition: str = ""
    grade: int | None = None
    place: str = ""
    earlier_hand: tuple[str, ...] = ()
    minutes: float | None = None


@transaction.atomic
def log_off(job: Job, details: OffDetails, *, by: str, at: datetime | None = None) -> TakenOff:
    """
    Write down that a part came off, that it is missing, or that this one never had it.

    Raises
    ------
    Refused
        If the part has no name or is off already, a pocket or a measure cannot be, or the job is over.
    """
    at = at or timezone.now()
    job = locked_open(job)
    strip_down = begun(job)
    _check(job, strip_down, details)
    numbers = TakenOff.objects.filter(job=job).values_list("number", flat=True)
    row = TakenOff.objects.create(
        job=job,
        number=max(numbers, default=0) + 1,
        seconds=details.minutes * 60 if details.minutes else seconds_of(strip_down, at),
        awaits=_awaits(details.met),
        at=at,
        by=by,
        **_fields(details),
    )
    kept = [keep(row, one) for one in details.kept] if details.met == TakenOff.Met.THERE else []
    if strip_down.clock_from is not None:
        strip_down.clock_from = at
        strip_down.save(update_fields=["clock_from"])
    diary.write(
        job,
        by=by,
        at=at,
        what={"there": "took off", "missing": "found missing"}.get(row.met, "never fitted"),
        text=row.name,
        new=step_as_plain(row, kept),
    )
    _note_findings(job, row, details, by=by, at=at)
    return row


@transaction.atomic
def amend_step(row: TakenOff, details: OffDetails, *, by: str, at: datetime | None = None) -> TakenOff:
    """
    Correct a step: its words, its pocket, what was kept. What was seen is a finding, and corrected there.

    Raises
    ------
    Refused
        As `log_off`; or if more of something is back than came off now.
    """
    at = at or timezone.now()
    job = locked_open(row.job)
    row = TakenOff.objects.select_for_update().get(pk=row.pk)
    strip_down = begun(job)
    _check(job, strip_down, details, instead_of=row)
    before = step_as_plain(row, list(row.kept.all()))
    if details.met != row.met:
        row.awaits, row.awaits_note = _awaits(details.met), ""
    for name, value in _fields(details).items():
        setattr(row, name, value)
    if details.minutes is not None:
        row.seconds = details.minutes * 60
    row.save()
    stays = {one.row for one in details.kept if one.row is not None}
    row.kept.exclude(pk__in=stays).delete()  # the diary keeps what it was
    kept = [keep(row, one) for one in details.kept]
    old, new = diary.changes(before, step_as_plain(row, kept))
    if new:
        diary.write(job, by=by, at=at, what="amended a step", text=row.name, old=old, new=new)
    _note_findings(job, row, details, by=by, at=at)
    return row


def _awaits(met: str) -> str:
    """What is missing waits for a spare."""
    return TakenOff.Awaits.SPARE if met == TakenOff.Met.MISSING else TakenOff.Awaits.NOTHING


def _fields(details: OffDetails) -> dict[str, Any]:
    is_there = details.met == TakenOff.Met.THERE
    tray, pocket = details.pocket if details.pocket and is_there else (None, None)
    return {
        "part": details.part,
        "name": details.name.strip(),
        "way": details.way.strip(),
        "side": details.side.strip(),
        "tool": details.tool.strip(),
        "met": details.met,
        "held_to": list(details.held_to),
        "hidden_under": list(details.hidden_under),
        "notes": [
            {"kind": note.kind, "says": note.says.strip()} for note in details.notes if note.says.strip()
        ],
        "tray": tray,
        "pocket": pocket,
    }


def _note_findings(job: Job, row: TakenOff, details: OffDetails, *, by: str, at: datetime) -> None:
    """What was seen on the part is a finding like any other, so that nobody writes it down twice."""
    seen = [(details.condition, details.grade, details.place)] if details.condition.strip() else []
    seen += [(f"{one}: an earlier hand", None, "") for one in details.earlier_hand]
    if details.met == TakenOff.Met.MISSING and not details.condition.strip():
        seen.append(("missing", None, ""))
    for condition, grade, place in seen:
        finding = FindingDetails(part=row.name, condition=condition, grade=grade, place=place)
        note_finding(job, finding, by=by, at=at, taken_off=row)


def _check(
    job: Job, strip_down: StripDown, details: OffDetails, *, instead_of: TakenOff | None = None
) -> None:
    if not details.name.strip():
        raise Refused("Which part came off? Name it, such as 'top cover'.")
    for name, longest in LONGEST.items():
        if len(getattr(details, name).strip()) > longest:
            raise Refused(f"The {name} is longer than {longest} characters. Make it shorter.")
    if details.met not in TakenOff.Met.values:
        raise Refused(f"A part is one of: {', '.join(TakenOff.Met.values)}; not {details.met!r}.")
    others = TakenOff.objects.filter(job=job)
    if instead_of is not None:
        others = others.exclude(pk=instead_of.pk)
    if details.part and (row := others.filter(part=details.part, back_at=None).first()):
        raise Refused(f"{row.name} is off already: it was step {row.number}.")
    same = plain(details.name)
    if not details.part and (row := next((one for one in others if _is_out_as(one, same)), None)):
        raise Refused(f"{row.name} is off already: it was step {row.number}. Call another one otherwise.")
    if details.minutes is not None and not 0 < details.minutes <= LONGEST_STEP_S / 60:
        raise Refused(f"{details.minutes:g} minutes cannot be. Expected above 0, up to 240.")
    if strange := [note.kind for note in details.notes if note.kind not in get_args(NoteKind)]:
        raise Refused(f"A note is one of: {', '.join(get_args(NoteKind))}; not {strange[0]!r}.")
    if details.pocket:
        checked(details.pocket, strip_down)
    for one in details.kept:
        check_kept(one, strip_down)


def _is_out_as(row: TakenOff, name: str) -> bool:
    return not row.is_back and plain(row.name) == name


def step_as_plain(row: TakenOff, kept: list[Kept]) -> Mapping[str, Any]:
    """A step as the diary keeps it."""
    return {
        "step": row.number,
        "family_part": row.part,
        "way": row.way,
        "minutes": None if row.seconds is None else round(row.seconds / 60, 1),
        "pocket": pocket_name(row.tray, row.pocket),
        "notes": [f"{note['kind']}: {note['says']}" for note in row.notes],
        "kept": [described(one) for one in kept],
    }
