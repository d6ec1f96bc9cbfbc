"""Kinds of camera and how they are put together, the workshop's own among them."""

from __future__ import annotations

from django.conf import settings

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.families import Family
from pegwood.anatomy.families import families as with_own
from pegwood.anatomy.families import family as among
from pegwood.anatomy.own_families import Known, constructions_in
from pegwood.book.trade_tables import tables


def known() -> Known:
    """All constructions; a file of the workshop's own that is broken is left aside, and that is told."""
    return constructions_in(settings.WORKSHOP.root, tables()[0])


def construction_of(family: str) -> Construction | None:
    """How cameras of that family are put together; None where nobody wrote that down."""
    return known().constructions.get(family)


def construction_learned(family: str) -> Construction | None:
    """
    As `construction_of`, with the minutes of this bench's own jobs: for a plan.

    The same object as long as neither the family's file nor a timed step of it changed.
    """
    # The kinds of camera are asked for while the book's models are being made: what asks the book waits.
    from pegwood.book.stripping.learned import learned_family

    construction = construction_of(family)
    return None if construction is None else learned_family(construction).construction


def families() -> dict[str, Family]:
    """The kinds of camera to choose from, by slug."""
    return with_own(known().families)


def family(slug: str) -> Family:
    """The kind of that slug; an unknown one is ``other``, so that an old job stays readable."""
    return among(slug, known().families)
