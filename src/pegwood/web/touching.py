"""What may touch a part that was found wanting: what it is made of, and what may be done about it."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.anatomy.part_materials import usual_materials
from pegwood.anatomy.part_names import NotOnePart, find_part
from pegwood.anatomy.parts import Part
from pegwood.book.families import construction_of
from pegwood.book.models import Finding
from pegwood.book.trade_tables import tables
from pegwood.trade.grounds import Ground, Grounds
from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.metals import corrosion_on
from pegwood.trade.treatments import Treatments, tell_treatments, treatments
from pegwood.web.pages.trade import Shown, shown

OF_FAMILY = "So it is in most cameras of this kind: look at the one in hand."
SAID = Ground("as the finding says", "practice")


@dataclass(frozen=True)
class MadeOf:
    """
    What a part is made of.

    Attributes
    ----------
    materials : tuple of Material
        All of them.
    note : str
        Where that is only what such parts usually are made of: what to look at. Empty where the finding says.
    grounds : tuple of Ground
        How it is known.
    looks_like : str
        The corrosion or decay that the finding's condition reads as; empty for none.
    """

    materials: tuple[Material, ...]
    note: str
    grounds: Grounds
    looks_like: str

    @property
    def is_usual(self) -> bool:
        """Whether nobody has said what this one is made of."""
        return bool(self.note)


@dataclass(frozen=True)
class Touching:
    """What may be done about a finding; `done` are the words under which each way is written down as work."""

    made_of: MadeOf
    told: Shown | None
    done: tuple[str, ...]

    @property
    def clean(self) -> str:
        """The question how a part of these materials may be cleaned."""
        return f"clean {', '.join(one.name for one in self.made_of.materials)}"


def made_of(finding: Finding) -> MadeOf | None:
    """What the part of a finding is made of; None where no finding and no table says it."""
    reference = tables()[0]
    rows = reference.rows(MATERIALS)
    grounds: Grounds
    if finding.made_of:
        keys, note, grounds = finding.made_of.split(", "), "", (SAID,)
    elif part := _of_family(finding):
        keys, note = list(part.materials), OF_FAMILY
        grounds = (Ground(part.source, part.mark or "practice"),)
    elif usual := usual_materials(finding.part):
        keys, note, grounds = list(usual.materials), usual.note, usual.grounds
    else:
        return None
    materials = tuple(rows[key] for key in keys if key in rows)
    if not materials:  # a row of an own table that is gone, or that has a slip in it
        return None
    like = corrosion_on(reference, [one.key for one in materials], finding.condition)
    return MadeOf(materials, note, grounds, like[0].name if like else "")


def _of_family(finding: Finding) -> Part | None:
    """The part of the camera's family that a finding speaks of, if one and only one is called so."""
    construction = construction_of(finding.job.camera.family)
    if construction is None:
        return None
    try:
        part = find_part(construction, finding.part)
    except NotOnePart:
        return None
    return part if part.materials and part.source else None


def touching(finding: Finding) -> Touching | None:
    """What may touch the part of a finding, and what may be done about its condition."""
    made = made_of(finding)
    if made is None:
        return None
    reference = tables()[0]
    found = treatments(reference, [one.key for one in made.materials], finding.condition)
    told = shown(tell_treatments(reference, found, made.grounds)) if found.products else None
    return Touching(made, told, _done(found))


def _done(found: Treatments) -> tuple[str, ...]:
    return tuple(f"treated {one.product.name}: {one.what}" for one in found.open)
