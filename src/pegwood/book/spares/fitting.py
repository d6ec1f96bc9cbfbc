"""What fits what: spares for a part of a camera, and the workshop's own table of what fits besides."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.families import construction_of
from pegwood.book.models import FitsAlso, Spare
from pegwood.book.models.spares import MARKS, PAST_USE
from pegwood.book.refusal import Refused
from pegwood.book.spares.worded import worded
from pegwood.trade.names import plain

LONGEST = {"maker": 80, "model": 80, "to_maker": 80, "to_model": 80, "note": 240, "source": 240}


@dataclass(frozen=True, kw_only=True)
class Fitting:
    """
    A row of the table: a part of one camera that fits another.

    Families by slug, parts by their ids in them; make and model empty where it holds for all of that kind.
    """

    family: str
    part: str
    to_family: str
    to_part: str
    source: str
    mark: str = "practice"
    maker: str = ""
    model: str = ""
    to_maker: str = ""
    to_model: str = ""
    both_ways: bool = True
    note: str = ""


@dataclass(frozen=True)
class Fits:
    """
    A spare for a part, and how sure it is that it fits.

    Attributes
    ----------
    spare : Spare
        With `lies`, `held` and `free`.
    how : str
        In words: "from the same make and model".
    sure : int
        0 for the same make and model, 1 by the table, 2 for one to be tried.
    """

    spare: Any
    how: str
    sure: int


@transaction.atomic
def say_fits(row: Fitting, *, by: str, at: datetime | None = None) -> FitsAlso:
    """
    Enter that a part fits another camera too.

    Raises
    ------
    Refused
        If nobody is named who says so, a part is none of its kind of camera, or both are the same.
    """
    at = at or timezone.now()
    told = worded(row, LONGEST)
    if not told["source"]:
        raise Refused("Who says that it fits? Write it: 'tried it on job 41', or the title and page.")
    if row.mark not in dict(MARKS):
        raise Refused(f"The mark is {row.mark!r}. Expected one of: {', '.join(dict(MARKS))}.")
    names = []
    for family, part in ((row.family, row.part), (row.to_family, row.to_part)):
        construction = construction_of(family)
        if construction is None or part not in construction.parts:
            raise Refused(f"{part!r} is no part of such a camera. Choose it from the list.")
        names.append(f"{construction.parts[part].name} ({construction.name})")
    here = (row.family, row.part, plain(row.maker), plain(row.model))
    if here == (row.to_family, row.to_part, plain(row.to_maker), plain(row.to_model)):
        raise Refused("That is the same part of the same camera.")
    made = FitsAlso.objects.create(
        **told,
        family=row.family,
        part=row.part,
        to_family=row.to_family,
        to_part=row.to_part,
        both_ways=row.both_ways,
        mark=row.mark,
        at=at,
        by=by,
    )
    text = f"{names[0]}: fits {names[1]}"
    diary.write(
        None, by=by, at=at, what="said what fits", text=text, new={"source": made.source, "mark": made.mark}
    )
    return made


@transaction.atomic
def strike_out_fit(row: FitsAlso, reason: str, *, by: str, at: datetime | None = None) -> None:
    """Take back that a part fits; the row stays in the book."""
    row = FitsAlso.everything.select_for_update().get(pk=row.pk)
    if row.struck_out:
        return
    row.struck_out = True
    row.save()
    text = reason.strip() or f"{row.part}: {row.to_part}"
    diary.write(None, by=by, at=at or timezone.now(), what="took back that it fits", text=text[:500])


def spares_for(
    family: str, part: str, name: str = "", *, maker: str = "", model: str = ""
) -> tuple[Fits, ...]:
    """
    What lies on the shelf for a part of a camera, what surely fits first; nothing past use.

    Parameters
    ----------
    family, part : str
        The kind of camera, and the part by its id; where that is empty, spares of that name.
    maker, model : str
        Of the camera.
    """
    return fitting(on_the_shelf(), rows(), family, part, name, maker=maker, model=model)


def on_the_shelf() -> list[Any]:
    """All spares of which there is one, and that are of use, with `lies`, `held` and `free`."""
    some = Spare.objects.counted().filter(lies__gt=0)
    return list(some.filter(Q(grade__isnull=True) | Q(grade__lt=PAST_USE)))


def rows() -> list[FitsAlso]:
    """The table of what fits."""
    return list(FitsAlso.objects.all())


def fitting(
    spares: Iterable[Any],
    table: Iterable[FitsAlso],
    family: str,
    part: str,
    name: str = "",
    *,
    maker: str = "",
    model: str = "",
) -> tuple[Fits, ...]:
    """As `spares_for`, among spares and rows that were read already."""
    table = tuple(table)
    found = []
    for spare in spares:
        if part and spare.part == part and spare.family == family:
            same = bool(maker or model) and (plain(maker), plain(model)) == (
                plain(spare.maker),
                plain(spare.model),
            )
            how = "from the same make and model" if same else "of the same kind of camera: try it"
            found.append(Fits(spare, how, 0 if same else 2))
        elif part and (row := _by_table(spare, table, family, part, maker, model)):
            found.append(Fits(spare, f"fits by the table: {row.source} ({row.mark})", 1))
        elif not part and name and plain(spare.name) == plain(name) and spare.family in ("", family):
            found.append(Fits(spare, "of that name: try it", 2))
    return tuple(
        sorted(found, key=lambda one: (one.sure, one.spare.free <= 0, _grade(one.spare), one.spare.pk))
    )


def _grade(spare: Any) -> int:
    return PAST_USE if spare.grade is None else int(spare.grade)


def _by_table(
    spare: Any, table: Iterable[FitsAlso], family: str, part: str, maker: str, model: str
) -> FitsAlso | None:
    has = (spare.family, spare.part, spare.maker, spare.model)
    wants = (family, part, maker, model)
    for row in table:
        one = (row.family, row.part, row.maker, row.model)
        other = (row.to_family, row.to_part, row.to_maker, row.to_model)
        if (_is(has, one) and _is(wants, other)) or (row.both_ways and _is(has, other) and _is(wants, one)):
            return row
    return None


def _is(camera: tuple[str, str, str, str], told: tuple[str, str, str, str]) -> bool:
    """Whether a row speaks of that part of that camera: what it leaves open holds for all."""
    return camera[:2] == told[:2] and all(
        not says or plain(says) == plain(has) for has, says in zip(camera[2:], told[2:], strict=True)
    )
