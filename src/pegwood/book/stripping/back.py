"""The way back: one part after another goes in again, and what was kept of it with it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from pegwood.anatomy.rebuilding import forgotten_under, shim_at
from pegwood.book import diary
from pegwood.book.families import construction_of
from pegwood.book.models import Job, Kept, TakenOff
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.stripping.kept import SHIM_U_MM, described
from pegwood.book.stripping.pockets import pocket_name
from pegwood.book.stripping.record import as_log, steps_of
from pegwood.book.stripping.way_in import begun, seconds_of

LONGEST_REASON = 240
#: How many things a refusal names.
MOST_TOLD = 4


@transaction.atomic
def log_back(
    row: TakenOff,
    *,
    by: str,
    at: datetime | None = None,
    left: Mapping[int, int] | None = None,
    shims_mm: Mapping[int, float] | None = None,
    anyway: bool = False,
) -> TakenOff:
    """
    Write down that a part is in the camera again, and what was kept of it with it.

    Parameters
    ----------
    left : mapping of int to int, optional
        Of what was kept, by its key in the book, how many stay out for now.
    shims_mm : mapping of int to float, optional
        Of shims and washers, by their key in the book, what was measured in the hand just now, [mm].
    anyway : bool
        Whether it went in although the log says that something else must be in first, or that a shim is
        another place's.

    Raises
    ------
    Refused
        If it is back already, was never there, is being cleaned or waited for, or closes over something that
        is still out; if a shim is that of another place; if more stays out than came off; or if the job is
        over.
    """
    at = at or timezone.now()
    job = locked_open(row.job)
    row = _held(row)
    if row.is_back:
        raise Refused(f"{row.name} is back already.")
    if row.met == TakenOff.Met.NEVER:
        raise Refused(f"{row.name} was never fitted to this one, so it does not go back.")
    if row.awaits:
        raise Refused(f"{row.name}: {row.get_awaits_display()}. Say first that it is at hand again.")
    kept = list(row.kept.all())
    stays = {one.pk: (left or {}).get(one.pk, 0) for one in kept}
    for one in kept:
        if not 0 <= stays[one.pk] <= one.count:
            raise Refused(f"{stays[one.pk]} of {described(one)} cannot stay out: {one.count} came off.")
    strip_down = begun(job)
    if not anyway:
        _refuse_closing_over(job, row, strip_down.family, stays)
        _refuse_swapped(job, shims_mm or {})
    for one in kept:
        one.back = one.count - stays[one.pk]
        one.save(update_fields=["back"])
    row.back_at, row.back_by = at, by
    row.back_seconds = seconds_of(strip_down, at)
    row.save(update_fields=["back_at", "back_by", "back_seconds"])
    if strip_down.clock_from is not None:
        strip_down.clock_from = at
        strip_down.save(update_fields=["clock_from"])
    out = [f"{stays[one.pk]} of {described(one)}" for one in kept if stays[one.pk]]
    diary.write(
        job,
        by=by,
        at=at,
        what="put back",
        text=row.name,
        new={
            "step": row.number,
            "family_part": row.part,
            "still_out": out,
            "shims_in_hand": [f"{mm:g} mm" for mm in (shims_mm or {}).values()],
            **({"all_the_same": True} if anyway else {}),
        },
    )
    return row


def take_out_again(job: Job, row: TakenOff, *, by: str, at: datetime) -> TakenOff:
    """Undo `log_back`; the caller holds the job."""
    row.back_at, row.back_by, row.back_seconds = None, "", None
    row.save(update_fields=["back_at", "back_by", "back_seconds"])
    row.kept.update(back=0)
    diary.write(job, by=by, at=at, what="took out again", text=row.name, new={"step": row.number})
    return row


@transaction.atomic
def let_part_wait(
    row: TakenOff, awaits: str, *, by: str, note: str = "", at: datetime | None = None
) -> TakenOff:
    """
    Say that a part is away: cleaned, mended, or waited for; or, with nothing in `awaits`, at hand again.

    Raises
    ------
    Refused
        If it is back in the camera, cannot wait for that, or the job is over.
    """
    job = locked_open(row.job)
    row = _held(row)
    if awaits not in TakenOff.Awaits.values:
        raise Refused(f"A part waits for one of: {', '.join(filter(None, TakenOff.Awaits.values))}.")
    if row.is_back:
        raise Refused(f"{row.name} is back in the camera. Take it off again first.")
    note = _reason(note, "note")
    if (awaits, note) != (row.awaits, row.awaits_note):
        before = row.get_awaits_display()
        row.awaits, row.awaits_note = awaits, note
        row.save(update_fields=["awaits", "awaits_note"])
        diary.write(
            job,
            by=by,
            at=at or timezone.now(),
            what="let a part wait" if awaits else "had a part at hand again",
            text=f"{row.name}{': ' if note else ''}{note}",
            old={"is": before},
            new={"is": row.get_awaits_display()},
        )
    return row


@transaction.atomic
def explain(thing: TakenOff | Kept, why: str, *, by: str, at: datetime | None = None) -> None:
    """
    Say why a part, or something kept, need not go back: "head sheared, a new one fitted".

    With no word it belongs into the camera again.

    Raises
    ------
    Refused
        If the reason is too long or the job is over.
    """
    row = thing if isinstance(thing, TakenOff) else thing.taken_off
    job = locked_open(row.job)
    why = _reason(why, "reason")
    model = type(thing)
    held = model._default_manager.select_for_update().get(pk=thing.pk)
    if held.explained == why:
        return
    old, held.explained = held.explained, why
    held.save(update_fields=["explained"])
    diary.write(
        job,
        by=by,
        at=at or timezone.now(),
        what="explained what stays out" if why else "took an explanation back",
        text=f"{held if isinstance(held, TakenOff) else described(held)}{': ' if why else ''}{why}",
        old={"explained": old},
        new={"explained": why, "step": row.number},
    )


@transaction.atomic
def lies_there(kept: Kept, how_many: int, *, by: str, at: datetime | None = None) -> Kept:
    """
    Say how many of something still lie in their pocket, whatever was believed to be back.

    Raises
    ------
    Refused
        If there are not so many, or the job is over.
    """
    job = locked_open(kept.taken_off.job)
    kept = Kept.objects.select_for_update().select_related("taken_off").get(pk=kept.pk)
    if not 0 <= how_many <= kept.count:
        raise Refused(f"{how_many} of {described(kept)} cannot lie there: {kept.count} came off.")
    before, kept.back = kept.back, kept.count - how_many
    if before != kept.back:
        kept.save(update_fields=["back"])
        diary.write(
            job,
            by=by,
            at=at or timezone.now(),
            what="looked into a pocket",
            text=f"{pocket_name(kept.tray, kept.pocket)}: {described(kept)}",
            old={"back": before},
            new={"back": kept.back, "step": kept.taken_off.number},
        )
    return kept


def _refuse_closing_over(job: Job, row: TakenOff, family: str, stays: Mapping[int, int]) -> None:
    """
    Refuse to close over something that is still out.

    Raises
    ------
    Refused
        With all that belongs under the part and is not there.
    """
    out = forgotten_under(as_log(steps_of(job)), str(row.pk), construction_of(family))
    goes_in = {str(key) for key, left in stays.items() if not left}
    lacks = [one.says for one in out if not (one.kept and one.kept.id in goes_in)]
    if lacks:
        more = f" And {len(lacks) - MOST_TOLD} more." if len(lacks) > MOST_TOLD else ""
        raise Refused(
            f"{' '.join(lacks[:MOST_TOLD])}{more} Put that in first, or say that it goes in all the same."
        )


def _refuse_swapped(job: Job, shims_mm: Mapping[int, float]) -> None:
    """
    Refuse a shim that is not the one that lay at its place.

    Raises
    ------
    Refused
        With both figures, and whose it is as far as that can be told.
    """
    for key, measured in shims_mm.items():
        try:
            here = shim_at(as_log(steps_of(job)), str(key), measured, SHIM_U_MM)
        except ValueError as why:
            raise Refused(str(why)) from None
        if here.verdict == "does not fit":
            raise Refused(f"{here.says} Put the right one in, or say that it goes in all the same.")


def _held(row: TakenOff) -> TakenOff:
    return TakenOff.objects.select_for_update().get(pk=row.pk)


def _reason(text: str, what: str) -> str:
    if len(text.strip()) > LONGEST_REASON:
        raise Refused(f"The {what} is longer than {LONGEST_REASON} characters. Make it shorter.")
    return text.strip()
