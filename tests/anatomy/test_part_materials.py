"""What parts are usually made of: every part that a family names, materials that the trade knows."""

import pytest

from pegwood.anatomy.families import families
from pegwood.anatomy.part_materials import part_materials, usual_materials
from pegwood.trade.materials import MATERIALS
from pegwood.trade.reference import Reference

#: Too general to be made of anything.
UNTELLING = {"shutter", "film transport", "back"}


@pytest.mark.parametrize("family", families().values(), ids=lambda family: family.slug)
def test_every_part_of_a_family_has_its_usual_materials(family):
    assert [part for part in family.parts if part not in UNTELLING and usual_materials(part) is None] == []


def test_parts_are_made_of_what_the_trade_knows():
    known = Reference().rows(MATERIALS)
    assert [key for row in part_materials().values() for key in row.materials if key not in known] == []


@pytest.mark.parametrize(
    ("written", "sort"),
    [
        ("Shutter blades", "shutter blades"),
        ("left rangefinder mirror", "mirror"),
        ("lower bellows corners, inside", "bellows"),
        ("lens mount, upper screws", "lens mount"),  # not "lens", which it holds as well
        ("gizmo", None),
        ("blocks", None),
    ],
)
def test_a_part_is_known_by_the_name_it_holds(written, sort):
    found = usual_materials(written)
    assert (found and found.name) == sort
