"""The faults and signs of a job's camera."""

from __future__ import annotations

from pegwood.anatomy.construction import Construction
from pegwood.book.families import construction_learned
from pegwood.book.models import Job
from pegwood.book.refusal import Refused
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.book.weighing.learnt import learnt_of
from pegwood.causes.family_net import FamilyCauses

NO_FAMILY = "Nobody has written down how such cameras are put together, so nothing can be weighed."


def construction_for(job: Job) -> Construction | None:
    """How the job's camera is put together, with this bench's minutes; None where nobody wrote it down."""
    return construction_learned(strip_down_of(job).family)


def causes_for(job: Job) -> FamilyCauses | None:
    """Faults and signs of the job's camera; None where nobody wrote down how it is put together."""
    construction = construction_for(job)
    return None if construction is None else causes_of(construction)


def causes_of(construction: Construction) -> FamilyCauses:
    """
    Faults and signs of a family, with the workshop's own knowledge and what its closed jobs taught.

    The same object as long as none of that changes.
    """
    return learnt_of(construction).causes


def the_causes(job: Job) -> FamilyCauses:
    """
    As `causes_for`, where there must be some.

    Raises
    ------
    Refused
        If nobody wrote down how such cameras are put together.
    """
    causes = causes_for(job)
    if causes is None:
        raise Refused(NO_FAMILY)
    return causes
