"""Mechanisms and the families made of them: read whole, or refused with file, line and words."""

from __future__ import annotations

import pytest

from pegwood.anatomy.construction import constructions, read_construction
from pegwood.anatomy.families import families
from pegwood.anatomy.mechanism import mechanisms, read_mechanism
from pegwood.anatomy.planning import choose, in_order
from pegwood.trade.reference import Reference
from pegwood.trade.typed_toml import TableError

REFERENCE = Reference()
LENS = """\
id = "lens"
name = "lens"
source = "the bench"
mark = "practice"
needs = ["front"]

[[part]]
id = "ring"
name = "ring"
materials = ["brass"]
[[part.ways]]
side = "front"
tool = "spanner"
minutes = { low = 1, likely = 2, high = 5 }
after = ["$front"]

[[part]]
id = "cell"
name = "cell"
materials = ["glass"]
joins = [{ kind = "ring", to = "ring", under = "$front" }]
[[part.ways]]
side = "front"
tool = "fingers"
minutes = { low = 1, likely = 3, high = 9 }
after = ["ring"]
risks = [{ what = "it drops", chance = 0.1, minutes = 60 }]
"""
BODY = """\
id = "body"
name = "body"
source = "the bench"
mark = "practice"

[[part]]
id = "body"
name = "body"
materials = ["aluminium"]

[[part]]
id = "cover"
name = "cover"
materials = ["leather"]
[[part.ways]]
side = "front"
tool = "blunt blade"
minutes = { low = 5, likely = 10, high = 30 }
"""
FAMILY = """\
id = "simple"
name = "simple camera"
source = "the bench"
mark = "practice"

[[use]]
mechanism = "body"
called = "body"

[[use]]
mechanism = "lens"
called = "lens"
bind = [{ need = "front", part = "body.cover" }]
"""
KNOWN = {text: read_mechanism(text, "x.toml", REFERENCE) for text in (LENS, BODY)}
BOTH = {one.id: one for one in KNOWN.values()}


def family(text=FAMILY):
    return read_construction(text, "simple.toml", BOTH)


def test_a_family_has_the_parts_of_its_mechanisms_under_its_own_names():
    simple = family()
    assert list(simple.parts) == ["body.body", "body.cover", "lens.ring", "lens.cell"]
    cell = simple.parts["lens.cell"]
    assert (cell.joins[0].to, cell.joins[0].under) == ("lens.ring", "body.cover")
    assert simple.parts["lens.ring"].ways[0].after == ("body.cover",)
    assert (cell.source, cell.mark) == ("the bench", "practice")


def test_the_way_to_a_part_costs_its_minutes_and_what_goes_wrong_on_average():
    found = choose(family().strip_down(), ["lens.cell"])
    assert set(found.ways) == {"body.cover", "lens.ring", "lens.cell"}
    assert found.cost == pytest.approx(10 + 2 + 3 + 0.1 * 60)  # usual minutes, and a tenth of an hour


def test_what_a_family_lacks_is_in_nobodys_way():
    bare = family(
        FAMILY.replace('part = "body.cover"', 'part = ""').replace('called = "body"', 'called = "body"')
    )
    assert bare.parts["lens.ring"].ways[0].after == ()
    assert bare.parts["lens.cell"].joins[0].under == ""


@pytest.mark.parametrize(
    ("wrong", "by", "says"),
    [
        (
            'materials = ["brass"]',
            'materials = ["bras"]',
            r"line 10: part 1, materials: 'bras' is no material\. Nearest: brass",
        ),
        ('after = ["ring"]', 'after = ["cell"]', r"part 2, ways 1, after: 'cell' cannot be in its own way"),
        ('after = ["ring"]', 'after = ["wring"]', r"'wring' is the id of no part here\. Nearest: ring"),
        ('after = ["$front"]', 'after = ["$back"]', r"'\$back' is not among 'needs': front"),
        ("likely = 3, high = 9", "likely = 3, high = 2", r"expected low, likely, high in this order"),
        ('id = "cell"', 'id = "ring"', r"line 18: part 2, id: 'ring' is the id of two parts"),
        ('id = "cell"', 'id = "lens.cell"', r"has a dot"),
        ("chance = 0.1", "chance = 1.5", r"the chance is 1.5\. Expected between 0 and 1"),
        ('tool = "fingers"', 'tool = "crowbar"', r"'crowbar'\. Expected one of"),
        ('kind = "ring", to', 'kind = "ring", thread = "M99", to', r"'M99' is no thread"),
    ],
)
def test_a_slip_in_a_mechanism_is_told_with_its_place(wrong, by, says):
    assert wrong in LENS
    with pytest.raises(TableError, match=says):
        read_mechanism(LENS.replace(wrong, by), "lens.toml", REFERENCE)


@pytest.mark.parametrize(
    ("wrong", "by", "says"),
    [
        ('mechanism = "lens"', 'mechanism = "lense"', r"'lense' is no mechanism\. Nearest: lens"),
        ('part = "body.cover"', 'part = "body.lid"', r"'body\.lid' is no part of this family"),
        ('need = "front"', 'need = "back"', r"'lens' speaks of 'front': bind it"),
        (
            'mark = "practice"\n\n[[use]]',
            'mark = "practice"\n\n[[also]]\npart = "lens.iris"\nafter = []\n\n[[use]]',
            r"lens\.iris",
        ),
    ],
)
def test_a_slip_in_a_family_is_told_with_its_place(wrong, by, says):
    assert wrong in FAMILY
    text = FAMILY.replace(wrong, by)
    with pytest.raises(TableError, match=says):
        family(text)


def test_parts_that_wait_for_each_other_are_named_one_by_one():
    ring = FAMILY + '\n[[also]]\npart = "body.cover"\nafter = ["lens.cell"]\n'
    with pytest.raises(TableError, match=r"cover \(body\.cover\) after cell \(lens\.cell\) after ring"):
        family(ring)


HEAD = 'id = "{0}"\nname = "{0}"\nsource = "a test"\nmark = "practice"\n'
BY_HAND = 'side = "top"\ntool = "fingers"\nminutes = { low = 1, likely = 1, high = 1 }\n'
LOOSE = '[[part]]\nid = "{0}"\nname = "{0}"\nmaterials = ["brass"]\n[[part.ways]]\n'


@pytest.mark.parametrize("mechanism", mechanisms().values(), ids=lambda one: one.id)
def test_every_mechanism_that_comes_along_can_be_taken_apart(mechanism):
    outside = "".join(LOOSE.format(need) + BY_HAND for need in {"body", *mechanism.needs})
    around = read_mechanism(HEAD.format("around") + outside, "around.toml", REFERENCE)
    bind = ", ".join(f'{{ need = "{one}", part = "around.{one}" }}' for one in mechanism.needs)
    text = (
        HEAD.format("one")
        + '[[use]]\nmechanism = "around"\ncalled = "around"\n'
        + f'[[use]]\nmechanism = "{mechanism.id}"\ncalled = "it"\nbind = [{bind}]\n'
    )
    whole = read_construction(text, "one.toml", {"around": around, mechanism.id: mechanism})
    assert {part.id for part in whole.parts.values() if part.ways} <= whole.strip_down().removable


@pytest.mark.parametrize("construction", constructions().values(), ids=lambda one: one.id)
def test_a_familys_camera_can_be_taken_apart_to_the_last_part(construction, monkeypatch):
    # any order will do here, that the best is found is held elsewhere
    monkeypatch.setattr("pegwood.anatomy.planning.order.MOST_STATES", 0)
    monkeypatch.setattr("pegwood.anatomy.planning.order.BEAM", 5)
    assert construction.id in families()
    strip_down = construction.strip_down()
    fixed = {part.id for part in construction.parts.values() if not part.ways}
    assert strip_down.removable | fixed == construction.parts.keys()
    everything = choose(strip_down, sorted(strip_down.removable))
    assert everything.is_optimal
    order = in_order(everything.ways)
    for n, part in enumerate(order.parts):
        assert everything.ways[part].after <= set(order.parts[:n])
