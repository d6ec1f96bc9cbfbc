"""
Doing what was told by voice: each command through the use case that a press goes through, and back again.

What was done is named by a short token, so that the page that told it can take it back; nothing else is kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from pegwood.anatomy.bench_log import Written
from pegwood.anatomy.comes_away import comes_away_with
from pegwood.anatomy.parts import Part, Way
from pegwood.book.arriving import remark
from pegwood.book.looking import FindingDetails, note_finding, strike_out
from pegwood.book.models import Finding, Job, Kept, TakenOff
from pegwood.book.refusal import Refused
from pegwood.book.stripping.kept import MEASURES, KeptDetails
from pegwood.book.stripping.off import OffDetails, amend_step, log_off
from pegwood.book.stripping.pockets import next_pocket, pocket_name
from pegwood.book.stripping.undo import undo as undo_step
from pegwood.book.stripping.way_in import begun, strip_down_of
from pegwood.hearing.spoken import Command

#: Commands that change nothing in the book: the page does them.
FOR_THE_PAGE = frozenset({"read back", "photograph", "stop listening", "undo"})
WHY_BACK = "taken back by voice"
_MM_PER_M = 1000.0


@dataclass(frozen=True, kw_only=True)
class Obeyed:
    """
    What was done.

    Attributes
    ----------
    says : str
        One line, to be shown and read back.
    token : str
        Names it, for `take_back`; empty where nothing can be taken back.
    """

    says: str
    token: str = ""


@dataclass(frozen=True, kw_only=True)
class NextStep:
    """The part that the way in has off next, and how; None where no way in is under way."""

    part: Part
    way: Way


@transaction.atomic
def obey(
    job: Job, command: Command, *, by: str, upcoming: NextStep | None = None, at: datetime | None = None
) -> Obeyed:
    """
    Do what was told.

    Parameters
    ----------
    job : Job
    command : Command
        One that was sure enough.
    by : str
        Who spoke.
    upcoming : NextStep, optional
        For "next".

    Raises
    ------
    Refused
        If it cannot be done as the job stands; one line says why.
    """
    if command.kind in FOR_THE_PAGE:
        raise Refused(f"'{command.kind}' is for the page, not for the book.")
    doing: dict[str, Callable[[], Obeyed]] = {
        "finding": lambda: _find(job, command, by=by, at=at),
        "work": lambda: _plan(job, command, by=by, at=at),
        "pocket": lambda: _lay(job, command, by=by, at=at),
        "shim": lambda: _shim(job, command, by=by, at=at),
        "turns": lambda: _count(job, command, by=by, at=at),
        "next": lambda: _next(job, upcoming, by=by, at=at),
    }
    return doing[command.kind]()


def _find(job: Job, command: Command, *, by: str, at: datetime | None) -> Obeyed:
    assert command.part is not None
    step = TakenOff.objects.filter(job=job, part=command.part.id, back_at=None).first()
    details = FindingDetails(
        part=command.part.name,
        condition=command.condition,
        grade=command.grade,
        place=command.place,
        note=f"Needs: {command.work}." if command.work else "",
    )
    found = note_finding(job, details, by=by, at=at, taken_off=step)
    needs = f"; needs {command.work}" if command.work else ""
    return Obeyed(says=f"Noted: {found}{needs}", token=f"finding:{found.pk}")


def _plan(job: Job, command: Command, *, by: str, at: datetime | None) -> Obeyed:
    assert command.part is not None
    entry = remark(job, f"To do: {command.work}, {command.part.name}.", by=by, at=at)
    return Obeyed(says=f"Into the diary: {entry.text}", token=f"remark:{entry.pk}")


def _lay(job: Job, command: Command, *, by: str, at: datetime | None) -> Obeyed:
    step = _last_off(job)
    if step is None:
        raise Refused("Nothing is off: a pocket is told after the part came off.")
    was = (step.tray, step.pocket)
    details = _as_it_stands(step, pocket=(command.tray or 0, command.pocket or 0))
    amend_step(step, details, by=by, at=at)
    lies = pocket_name(command.tray, command.pocket)
    return Obeyed(says=f"{step.name}: {lies}", token=f"pocket:{step.pk}:{was[0] or 0}:{was[1] or 0}")


def _shim(job: Job, command: Command, *, by: str, at: datetime | None) -> Obeyed:
    if command.thickness_m is None:
        raise Refused("A shim is told with its thickness, such as 'shim lens board two tenths'.")
    thickness_mm = round(command.thickness_m * _MM_PER_M, 4)
    steps = TakenOff.objects.filter(job=job, back_at=None, met=TakenOff.Met.THERE)
    step = steps.filter(part=command.part.id).last() if command.part else _last_off(job)
    if step is not None:
        before = set(step.kept.values_list("pk", flat=True))
        more = KeptDetails(kind=Kept.Kind.SHIM, thickness_mm=thickness_mm, what="as told by voice")
        amend_step(step, _as_it_stands(step, kept=(more,)), by=by, at=at)
        (new,) = set(step.kept.values_list("pk", flat=True)) - before
        return Obeyed(says=f"{step.name}: a shim of {thickness_mm:g} mm", token=f"shim:{step.pk}:{new}")
    if command.part is None:
        raise Refused("Nothing is off: say whose shim it is, such as 'shim lens board two tenths'.")
    found = note_finding(
        job,
        FindingDetails(
            part=command.part.name,
            condition="shim",
            note=f"{thickness_mm:g} mm as told by voice; what it was measured with was not told.",
        ),
        by=by,
        at=at,
    )
    return Obeyed(says=f"Noted: {found}, {thickness_mm:g} mm", token=f"finding:{found.pk}")


def _count(job: Job, command: Command, *, by: str, at: datetime | None) -> Obeyed:
    turns = f"{command.turns:g} turns"
    step = _last_off(job)
    if step is None:
        entry = remark(job, f"Counted: {turns}.", by=by, at=at)
        return Obeyed(says=f"Into the diary: {entry.text}", token=f"remark:{entry.pk}")
    note = Written(kind="count turns", says=turns)
    step = amend_step(step, _as_it_stands(step, notes=(note,)), by=by, at=at)
    return Obeyed(says=f"{step.name}: {turns}", token=f"turns:{step.pk}:{len(step.notes)}")


def _next(job: Job, upcoming: NextStep | None, *, by: str, at: datetime | None) -> Obeyed:
    if upcoming is None:
        raise Refused("No way in is under way: say on the strip-down's page what is to be reached.")
    part, way = upcoming.part, upcoming.way
    names = ("kind", "what", "count", "thread", "head", "length_mm", "place", "side")
    kept = [
        KeptDetails(**{name: getattr(one, name) for name in names}, as_family=True)
        for one in comes_away_with(part)
    ]
    details = OffDetails(
        name=part.name,
        part=part.id,
        way=way.name,
        side=way.side,
        tool=way.tool,
        kept=tuple(kept),
        pocket=next_pocket(job, strip_down_of(job)),
    )
    step = log_off(job, details, by=by, at=at)
    return Obeyed(says=f"{step.name} is off: {pocket_name(step.tray, step.pocket)}", token=f"step:{step.pk}")


@transaction.atomic
def take_back(job: Job, token: str, *, by: str, at: datetime | None = None) -> Obeyed:
    """
    Take back what a token names.

    Raises
    ------
    Refused
        If it names nothing of this job, or something that was changed since.
    """
    kind, _, rest = token.partition(":")
    numbers = [int(one) for one in rest.split(":") if one.isascii() and one.isdecimal() and len(one) <= 9]
    if len(numbers) != {"finding": 1, "remark": 1, "step": 1, "shim": 2, "turns": 2, "pocket": 3}.get(kind):
        raise Refused("There is nothing told here that could be taken back.")
    first = numbers[0]
    if kind == "finding":
        found = Finding.objects.filter(job=job, pk=first).first()
        if found is None:
            raise Refused("That finding is not on the card any more.")
        strike_out(found, WHY_BACK, by=by, at=at)
        return Obeyed(says=f"Taken back: {found}")
    if kind == "remark":
        entry = job.diary.filter(pk=first, what="remarked").first()
        if entry is None:
            raise Refused("There is no such remark in this job's diary.")
        remark(job, f"Taken back: {entry.text}", by=by, at=at)  # the diary is added to, never rewritten
        return Obeyed(says=f"Taken back: {entry.text}")
    step = TakenOff.objects.filter(job=job, pk=first).first()
    if step is None:
        raise Refused("That step is not in the strip-down any more.")
    if kind == "step":
        if TakenOff.objects.filter(job=job).last() != step or step.is_back:
            raise Refused(
                f"Something was done after {step.name}: take that back first, on the strip-down's page."
            )
        return Obeyed(says=f"Taken back: {undo_step(job, by=by, at=at).name} is on again")
    _amended_back(kind, numbers, step, by=by, at=at)
    return Obeyed(says=f"Taken back, at {step.name}")


def _amended_back(kind: str, numbers: list[int], step: TakenOff, *, by: str, at: datetime | None) -> None:
    if kind == "pocket":
        pocket = (numbers[1], numbers[2]) if numbers[1] else None
        amend_step(step, _as_it_stands(step, pocket=pocket), by=by, at=at)
    elif kind == "shim":
        amend_step(step, _as_it_stands(step, less=numbers[1]), by=by, at=at)
    else:
        details = _as_it_stands(step)
        at_note = numbers[1] - 1
        if not 0 <= at_note < len(details.notes) or details.notes[at_note].kind != "count turns":
            raise Refused("That note is not there any more.")
        notes = (*details.notes[:at_note], *details.notes[at_note + 1 :])
        amend_step(step, OffDetails(**{**vars(details), "notes": notes}), by=by, at=at)


def _last_off(job: Job) -> TakenOff | None:
    """The part that came off last and is still off."""
    begun(job)
    return TakenOff.objects.filter(job=job, back_at=None, met=TakenOff.Met.THERE).last()


_SAME = object()


def _as_it_stands(
    step: TakenOff,
    *,
    pocket: tuple[int, int] | object | None = _SAME,
    kept: tuple[KeptDetails, ...] = (),
    notes: tuple[Written, ...] = (),
    less: int = 0,
) -> OffDetails:
    """A step as it is in the book, with another pocket, more or less of what was kept, more notes."""
    now = (step.tray, step.pocket) if step.tray and step.pocket else None
    there = [
        KeptDetails(
            **{name: getattr(one, name) for name in (*MEASURES, "thickness_u_mm")},
            # What lies beside the part goes with it; what has a pocket of its own keeps it.
            pocket=(one.tray, one.pocket)
            if one.tray and one.pocket and (one.tray, one.pocket) != now
            else None,
            row=one.pk,
        )
        for one in step.kept.all()
        if one.pk != less
    ]
    return OffDetails(
        name=step.name,
        part=step.part,
        way=step.way,
        side=step.side,
        tool=step.tool,
        met=step.met,
        held_to=tuple(step.held_to),
        hidden_under=tuple(step.hidden_under),
        notes=(*(Written(kind=one["kind"], says=one["says"]) for one in step.notes), *notes),
        kept=(*there, *kept),
        pocket=now if pocket is _SAME else pocket,  # type: ignore[arg-type]
    )
