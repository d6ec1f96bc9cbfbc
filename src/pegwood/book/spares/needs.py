"""Which spares a job needs: by what is likely wrong with its camera, and by what waits for one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Sum

from pegwood.anatomy.construction import Construction
from pegwood.book.models import FitsAlso, Job, SpareMove, TakenOff
from pegwood.book.spares.fitting import Fits, fitting, on_the_shelf, rows
from pegwood.book.weighing.about import causes_of, construction_for
from pegwood.book.weighing.case import case_of
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.needed import parts_needed

#: What is less likely is not worth a line on a card, [1].
SHOWN_FROM = 0.05


@dataclass(frozen=True, kw_only=True)
class PartNeed:
    """
    A part that a job's camera may need new.

    Attributes
    ----------
    part : str
        By id in the family; empty where no family describes it.
    name : str
    chance : float
        How likely, [1]; 1 where a part waits for a spare.
    waits : bool
        Whether it is off and waits for a spare.
    by : tuple of (str, float)
        Names of the faults whose mends take it, and how likely each does, [1].
    """

    part: str
    name: str
    chance: float
    waits: bool = False
    by: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Supplied:
    """
    A part that is needed, and what there is for it.

    Attributes
    ----------
    need : PartNeed
    fits : tuple of Fits
        What lies on the shelf for it.
    held : tuple of Fits
        What of that is reserved for this job.
    """

    need: PartNeed
    fits: tuple[Fits, ...]
    held: tuple[Fits, ...]

    @property
    def best(self) -> Fits | None:
        """What to take: what is reserved already, else what surely fits and is free."""
        return next(iter(self.held), None) or next((one for one in self.fits if one.spare.free > 0), None)


def needs_of(job: Job, least: float = SHOWN_FROM) -> tuple[PartNeed, ...]:
    """
    Parts that a job's camera will need, the surest first; those that it had new already are left out.

    Parameters
    ----------
    least : float
        What is less likely is left out, [1].
    """
    construction = construction_for(job)
    causes = None if construction is None else causes_of(construction)
    return needed(job, construction, causes, least)


def needed(
    job: Job, construction: Construction | None, causes: FamilyCauses | None, least: float
) -> tuple[PartNeed, ...]:
    """As `needs_of`, of a family that was read already."""
    found: dict[str, PartNeed] = {}
    if construction is not None and causes is not None:
        fitted = has_new(job)
        for one in parts_needed(causes, case_of(job, causes), least):
            if one.part in construction.parts and one.part not in fitted:
                by = tuple((causes.faults[fault].name, chance) for fault, chance in one.by)
                found[one.part] = PartNeed(
                    part=one.part, name=construction.parts[one.part].name, chance=one.chance, by=by
                )
    for row in TakenOff.objects.filter(job=job, awaits=TakenOff.Awaits.SPARE, back_at=None):
        if row.is_out:
            by = found[row.part].by if row.part in found else ()
            found[row.part or row.name] = PartNeed(
                part=row.part, name=row.name, chance=1.0, waits=True, by=by
            )
    return tuple(sorted(found.values(), key=lambda one: (-one.chance, one.name)))


def supplied(job: Job, needs: Iterable[PartNeed]) -> tuple[Supplied, ...]:
    """What the shelf has for each."""
    held = held_by(job)
    spares, table = on_the_shelf(), rows()
    return tuple(_supplied(job, one, spares, table, held) for one in needs)


def held_by(job: Job) -> dict[int, int]:
    """How many of each spare, by its key, are reserved for a job."""
    moves = SpareMove.objects.filter(job=job).values_list("spare").annotate(sum=Sum("held"))
    return dict(moves.filter(sum__gt=0))


def _supplied(
    job: Job, need: PartNeed, spares: list[Any], table: list[FitsAlso], held: Mapping[int, int]
) -> Supplied:
    camera = job.camera
    family = camera.family
    fits = fitting(spares, table, family, need.part, need.name, maker=camera.maker, model=camera.model)
    return Supplied(need=need, fits=fits, held=tuple(one for one in fits if one.spare.pk in held))


def has_new(job: Job) -> set[str]:
    """Parts of the job's camera for which a spare was used and not given back."""
    moves = SpareMove.objects.filter(job=job).values_list("for_part", "spare__part").annotate(sum=Sum("lies"))
    return {for_part or part for for_part, part, lies in moves if lies < 0}
