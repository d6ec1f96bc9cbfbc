"""Putting on the shelf: a new spare, more of one, what is known and what was measured of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime
from types import SimpleNamespace
from typing import Any

from django.db import transaction
from django.utils import timezone

from pegwood.anatomy.part_names import NotOnePart, find_part
from pegwood.book import diary
from pegwood.book.families import construction_of, families
from pegwood.book.models import Donor, PartWorth, Spare, SpareMeasure, SpareMove
from pegwood.book.models.bench import GRADES
from pegwood.book.refusal import Refused
from pegwood.book.spares.moves import checked_count, locked_spare, moved
from pegwood.book.spares.worded import worded
from pegwood.pricing.money import Money

FIELDS = (
    *("part", "name", "family", "maker", "model", "grade", "place", "note"),
    *("cost_minor", "currency", "good_from"),
)
LONGEST = {"name": 120, "maker": 80, "model": 80, "place": 120, "note": 500}
LONGEST_MEASURE = {"what": 60, "unit": 20, "note": 240}


@dataclass(frozen=True, kw_only=True)
class SpareDetails:
    """
    A spare.

    Attributes
    ----------
    name : str
        As it is called.
    family : str
        The kind of camera it is of, by slug; empty for a part of no kind, such as a screw.
    part : str
        Its id in the family; found by its name where that is clear.
    maker, model : str
        What camera it is of.
    grade : int, optional
        0, as new, to 5, past use.
    place : str
        Where it lies.
    cost : Money, optional
        Of one.
    good_from : float, optional
        The least of what is measured of it at which it is of use, in that unit.
    """

    name: str
    family: str = ""
    part: str = ""
    maker: str = ""
    model: str = ""
    grade: int | None = None
    place: str = ""
    note: str = ""
    cost: Money | None = None
    good_from: float | None = None


@transaction.atomic
def put_on_shelf(
    details: SpareDetails, count: int = 1, *, by: str, donor: Donor | None = None, at: datetime | None = None
) -> Spare:
    """
    Put a spare on the shelf that was not there before.

    Raises
    ------
    Refused
        If it has no name, its kind of camera or part is not known, or a figure cannot be.
    """
    at = at or timezone.now()
    checked_count(count)
    spare = Spare.objects.create(**_fields(details), donor=donor, at=at, by=by)
    known = {name: value for name, value in diary.values(spare, FIELDS).items() if value not in ("", None)}
    moved(spare, SpareMove.Kind.PUT, lies=count, by=by, at=at, new=known)
    return spare


@transaction.atomic
def put_more(spare: Spare, count: int, *, by: str, reason: str = "", at: datetime | None = None) -> SpareMove:
    """Put more of the same on the shelf."""
    checked_count(count)
    spare = locked_spare(spare)
    return moved(spare, SpareMove.Kind.PUT, lies=count, reason=reason, by=by, at=at or timezone.now())


@transaction.atomic
def amend_spare(spare: Spare, details: SpareDetails, *, by: str, at: datetime | None = None) -> Spare:
    """Correct what is known of a spare, or say where it lies now; the diary keeps how it stood before."""
    spare = locked_spare(spare)
    before = diary.values(spare, FIELDS)
    for name, value in _fields(details).items():
        setattr(spare, name, value)
    old, new = diary.changes(before, diary.values(spare, FIELDS))
    if new:
        spare.save()
        diary.write(
            None, by=by, at=at or timezone.now(), what="amended a spare", text=spare.name, old=old, new=new
        )
    return spare


@transaction.atomic
def measure_spare(
    spare: Spare,
    what: str,
    value: float,
    u: float,
    unit: str,
    *,
    by: str,
    on: date | None = None,
    note: str = "",
    at: datetime | None = None,
) -> SpareMeasure:
    """
    Write down what was measured of a spare: a cell's output, a spring's rate.

    Parameters
    ----------
    what, unit : str
        What was measured, and in what.
    value, u : float
        With its standard uncertainty, k = 1.
    on : date, optional
        Today if None.

    Raises
    ------
    Refused
        If something is missing or cannot be; an uncertainty of nothing cannot be.
    """
    at = at or timezone.now()
    spare = locked_spare(spare)
    told = worded(SimpleNamespace(what=what, unit=unit, note=note), LONGEST_MEASURE)
    if not told["what"] or not told["unit"]:
        raise Refused("What was measured, and in what unit? Such as: output, in µA.")
    if not (math.isfinite(value) and math.isfinite(u)):
        raise Refused("A reading is a plain number, and so is its uncertainty.")
    if not u > 0:
        raise Refused(
            "How far may the reading be off? Give its uncertainty, above 0: half of what you would bet on."
        )
    on = on or timezone.localdate(at)
    if on > timezone.localdate(at):
        raise Refused(f"{on} is still to come. Give the day it was measured on.")
    row = SpareMeasure.objects.create(spare=spare, value=value, u=u, on=on, at=at, by=by, **told)
    diary.write(
        None,
        by=by,
        at=at,
        what="measured a spare",
        text=f"{spare.name}: {row}",
        new={"spare": spare.pk, "measured_on": on},
    )
    return row


@transaction.atomic
def strike_out_measure(row: SpareMeasure, reason: str, *, by: str, at: datetime | None = None) -> None:
    """Take back a reading of a spare that was wrong; it stays in the book."""
    row = SpareMeasure.everything.select_for_update().select_related("spare").get(pk=row.pk)
    if row.struck_out:
        return
    row.struck_out = True
    row.save()
    diary.write(
        None,
        by=by,
        at=at or timezone.now(),
        what="struck out a reading of a spare",
        text=reason.strip() or f"{row.spare.name}: {row}",
        old={"spare": row.spare.pk, "reading": str(row)},
    )


@transaction.atomic
def say_worth(family: str, part: str, worth: Money, *, by: str, at: datetime | None = None) -> PartWorth:
    """
    Say what having a part is worth when a job needs it: what the job would bring less, or cost more, without.

    Raises
    ------
    Refused
        If the family has no such part, or the worth is nothing.
    """
    at = at or timezone.now()
    construction = construction_of(family)
    if construction is None or part not in construction.parts:
        raise Refused(f"{part!r} is no part of such a camera. Choose it from the list.")
    if worth.minor <= 0:
        raise Refused("What is having one worth to you when a job needs it? Write a sum above nothing.")
    before = PartWorth.objects.filter(family=family, part=part).first()
    old = diary.values(before, ("worth_minor", "currency")) if before else None
    row, _ = PartWorth.objects.update_or_create(
        family=family,
        part=part,
        defaults={"worth_minor": worth.minor, "currency": worth.currency, "at": at, "by": by},
    )
    new = {"family_part": part, "family": family, "worth_minor": worth.minor, "currency": worth.currency}
    name = construction.parts[part].name
    diary.write(None, by=by, at=at, what="said what a part is worth", text=name, old=old, new=new)
    return row


def part_of(family: str, name: str, part: str = "") -> str:
    """
    The part's id in its family; empty where the family knows none of that name, or several.

    Raises
    ------
    Refused
        If the kind of camera is not known, or has no part of that id.
    """
    if not family:
        return ""
    if family not in families():
        raise Refused(f"There is no kind of camera {family!r}. Choose it from the list.")
    construction = construction_of(family)
    if part:
        if construction is None or part not in construction.parts:
            raise Refused(f"{part!r} is no part of such a camera. Choose it from the list.")
        return part
    if construction is None:
        return ""
    try:
        return find_part(construction, name).id
    except NotOnePart:
        return ""


def _fields(details: SpareDetails) -> dict[str, Any]:
    told = worded(details, LONGEST)
    if not told["name"]:
        raise Refused("What is it? Name the part, such as 'selenium cell'.")
    if details.grade is not None and details.grade not in GRADES:
        raise Refused(f"The grade is {details.grade}. Expected 0 (as new) to 5 (past use).")
    if details.cost is not None and details.cost.minor < 0:
        raise Refused("A cost below nothing cannot be. Write what one cost, or leave it open.")
    if details.good_from is not None and not (math.isfinite(details.good_from) and details.good_from > 0):
        raise Refused("The least reading that is of use is above 0, or left open.")
    return {
        **told,
        "family": details.family,
        "part": part_of(details.family, told["name"], details.part),
        "grade": details.grade,
        "cost_minor": details.cost.minor if details.cost else None,
        "currency": details.cost.currency if details.cost else "",
        "good_from": details.good_from,
    }
