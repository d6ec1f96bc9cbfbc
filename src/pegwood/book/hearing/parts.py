"""The parts that may be spoken of, as the ear needs them."""

from __future__ import annotations

import re

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.part_names import NotOnePart, find_part
from pegwood.book.families import construction_of, family
from pegwood.hearing import NamedPart


def named_parts(slug: str) -> tuple[NamedPart, ...]:
    """
    The parts of a family with all their names; of one that nobody described, those offered for a finding.

    Parameters
    ----------
    slug : str
        The family's.
    """
    construction = construction_of(slug)
    if construction is not None:
        return tuple(
            NamedPart(id=part.id, name=part.name, also=part.also) for part in construction.parts.values()
        )
    return tuple(
        NamedPart(id=re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-"), name=name)
        for name in family(slug).parts
    )


def part_called(slug: str, said: str) -> NamedPart | None:
    """The one part of a family that answers to a name; None where none does, or several do."""
    construction: Construction | None = construction_of(slug)
    if construction is None:
        wanted = said.strip().casefold()
        return next((one for one in named_parts(slug) if wanted in (one.name.casefold(), one.id)), None)
    try:
        part = find_part(construction, said)
    except NotOnePart:
        return None
    return NamedPart(id=part.id, name=part.name, also=part.also)
