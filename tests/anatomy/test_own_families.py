"""Families and mechanisms of a workshop's own: read beside those that came; a broken one harms no other."""

from __future__ import annotations

import pytest

from pegwood.anatomy import families, family
from pegwood.anatomy.construction import constructions, read_construction
from pegwood.anatomy.mechanism import mechanisms, read_mechanism
from pegwood.anatomy.own_families import constructions_in
from pegwood.anatomy.planning import choose
from pegwood.trade.reference import Reference
from pegwood.trade.typed_toml import TableError

REFERENCE = Reference()
HEAD = """\
id = "half-frame"
name = "Half-frame compact"
source = "our own bench"
mark = "practice"
shutter = "leaf"
picked = ["lens", "covering"]
"""
PARTS = """
[[part]]
id = "covering"
name = "covering"
[[part.ways]]
side = "front"
tool = "blunt blade"
minutes = { low = 5, likely = 10, high = 30 }

[[part]]
id = "front-plate"
name = "front plate"
materials = ["brass"]
joins = [{ kind = "screw", count = 3, thread = "M1.7x0.35", under = "covering" }]
[[part.ways]]
side = "front"
tool = "screwdriver"
minutes = { low = 1, likely = 3, high = 9 }
after = ["covering"]
"""
OWN_MECHANISM = """\
id = "clapper"
name = "clapper"
source = "our own bench"
mark = "practice"

[[part]]
id = "spring"
name = "spring"
[[part.ways]]
side = "top"
tool = "tweezers"
minutes = { low = 1, likely = 2, high = 4 }
"""
NEEDS = 'needs = ["cover"]\n'
NEEDS_A_COVER = 'after = ["$cover"]\n'
USE_WITH_COVER = """
[[use]]
mechanism = "clapper"
called = "clapper"
bind = [{ need = "cover", part = "covering" }]
"""
USES_IT = HEAD + '[[use]]\nmechanism = "clapper"\ncalled = "clapper"\n'


def read(text, own=True):
    return read_construction(text, "half-frame.toml", mechanisms(), REFERENCE, own=own)


def written(folder, name, text):
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


def test_a_family_may_hold_parts_of_its_own_and_no_mechanism():
    found = read(HEAD + PARTS)
    assert list(found.parts) == ["covering", "front-plate"]
    assert found.parts["covering"].materials == ()  # nobody has looked yet
    assert (found.parts["covering"].source, found.ground.own) == ("our own bench", True)
    assert choose(found.strip_down(), ["front-plate"]).cost == 10 + 3


def test_own_parts_and_those_of_a_mechanism_speak_of_each_other():
    clapper = read_mechanism(NEEDS + OWN_MECHANISM + NEEDS_A_COVER, "clapper.toml", REFERENCE, own=True)
    text = HEAD + PARTS.replace('["covering"]\n', '["covering", "clapper.spring"]\n') + USE_WITH_COVER
    found = read_construction(text, "half-frame.toml", {"clapper": clapper}, REFERENCE, own=True)
    assert found.parts["front-plate"].ways[0].after == ("covering", "clapper.spring")
    assert found.parts["clapper.spring"].ways[0].after == ("covering",)
    with pytest.raises(TableError, match=r"part 2, ways 1, after: 'clapper\.string' is the id of no part"):
        read_construction(
            text.replace("clapper.spring", "clapper.string"),
            "half-frame.toml",
            {"clapper": clapper},
            own=True,
        )


@pytest.mark.parametrize(
    ("wrong", "by", "says"),
    [
        ('["brass"]', '["bras"]', r"line 19: part 2, materials: 'bras' is no material\. Nearest: brass"),
        ('after = ["covering"]', 'after = ["front-plate"]', r"line 25: .*cannot be in its own way"),
        ("likely = 3, high = 9", "likely = 3, high = 2", r"line 24: part 2, ways 1, minutes: .*low, likely"),
        ('id = "front-plate"', 'id = "covering"', r"line 17: part 2, id: 'covering' is the id of two parts"),
        ('id = "front-plate"', 'id = "front.plate"', r"line 17: .*has a dot"),
        ("M1.7x0.35", "M99", r"line 20: .*'M99' is no thread"),
        (
            "minutes = { low = 5",
            'after = ["front-plate"]\nminutes = { low = 5',
            r"line 8: part 1: .*covering after front plate after covering",
        ),
        ('shutter = "leaf"', 'shutter = "rotary"', r"line 5: shutter: 'rotary'\. Expected one of"),
        ('id = "half-frame"', 'id = "Half frame"', r"Expected lower case and dashes"),
    ],
)
def test_a_slip_in_a_familys_own_parts_is_told_with_file_line_and_words(wrong, by, says):
    text = HEAD + PARTS
    assert wrong in text
    with pytest.raises(TableError, match=rf"^half-frame\.toml, .*{says}"):
        read(text.replace(wrong, by, 1))


def test_a_family_without_any_part_is_refused():
    with pytest.raises(TableError, match=r"at least one mechanism, under .*, or one part"):
        read(HEAD)


def test_only_a_workshops_own_file_may_leave_materials_open():
    with pytest.raises(TableError, match=r"line 8: part 1: 'covering' needs at least one material"):
        read(HEAD + PARTS, own=False)


def test_a_family_stands_among_the_kinds_to_choose_with_the_parts_it_offers():
    mine = read(HEAD + PARTS).family()
    assert (mine.slug, mine.shutter, mine.parts) == ("half-frame", "leaf", ("lens", "covering"))
    known = families([mine])
    assert list(known) == [*(one for one in families() if one != "other"), "half-frame", "other"]
    assert family("half-frame", [mine]) is mine
    assert family("half-frame").slug == "other"  # not asked with the workshop's own
    plain = read((HEAD + PARTS).replace('picked = ["lens", "covering"]\n', "")).family()
    assert plain.parts == ("covering", "front plate")


def test_a_workshops_families_stand_beside_those_that_came_and_replace_by_id(tmp_path):
    written(tmp_path, "families/half.toml", HEAD + PARTS)
    written(tmp_path, "families/box.toml", (HEAD + PARTS).replace('"half-frame"', '"box"'))
    known = constructions_in(tmp_path)
    assert known.constructions.keys() == constructions().keys() | {"half-frame"}
    assert [one.id for one in known.own] == ["box", "half-frame"]
    assert known.replaced == ("families/box.toml: your own 'box' stands in place of the one that came.",)
    assert known.slips == ()
    assert families(known.families)["box"].name == "Half-frame compact"
    assert list(families(known.families)) == [*list(families())[:-1], "half-frame", "other"]


def test_one_broken_file_is_left_aside_with_its_slip_and_the_rest_stay(tmp_path):
    written(tmp_path, "families/a.toml", HEAD + PARTS)
    written(tmp_path, "families/b.toml", (HEAD + PARTS).replace('["brass"]', '["bras"]'))
    written(tmp_path, "families/c.toml", "id = = 3")
    written(tmp_path, "families/d.toml", HEAD + PARTS)
    (tmp_path / "families/e.toml").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "families/f.toml").symlink_to(tmp_path / "nowhere")
    known = constructions_in(tmp_path)
    assert [one.id for one in known.own] == ["half-frame"]
    assert len(known.slips) == 5
    assert not any("\n" in slip for slip in known.slips)
    assert known.slips[0].startswith("families/b.toml, line 19: part 2, materials: 'bras' is no material")
    assert known.slips[1].startswith("families/c.toml")
    assert "'half-frame' is the family in families/a.toml too" in known.slips[2]
    assert "no text in UTF-8" in known.slips[3]
    assert "cannot be read" in known.slips[4]


def test_a_workshops_mechanism_serves_its_own_families(tmp_path):
    written(tmp_path, "families/half.toml", USES_IT)
    assert "'clapper' is no mechanism" in constructions_in(tmp_path).slips[0]
    written(tmp_path, "mechanisms/clapper.toml", OWN_MECHANISM)
    known = constructions_in(tmp_path)
    assert known.slips == ()
    assert list(known.constructions["half-frame"].parts) == ["clapper.spring"]
    written(
        tmp_path, "mechanisms/counter.toml", OWN_MECHANISM.replace('id = "clapper"', 'id = "film-counter"')
    )
    told = constructions_in(tmp_path).replaced
    assert told == (
        "mechanisms/counter.toml: your own families use this 'film-counter', not the mechanism that came.",
    )


def test_files_are_read_anew_only_when_one_has_changed(tmp_path):
    path = written(tmp_path, "families/half.toml", HEAD + PARTS)
    first = constructions_in(tmp_path)
    assert constructions_in(tmp_path) is first
    path.write_text((HEAD + PARTS).replace("Half-frame compact", "Half-frame"), "utf-8")
    assert constructions_in(tmp_path).constructions["half-frame"].name == "Half-frame"
    path.unlink()
    assert constructions_in(tmp_path).own == ()
    assert constructions_in(None).constructions.keys() == constructions().keys()
