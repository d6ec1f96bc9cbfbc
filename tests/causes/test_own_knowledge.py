"""What a workshop knows of faults by itself: read onto what came; a broken file harms no other."""

from __future__ import annotations

import pytest

from pegwood.anatomy.own_families import constructions_in
from pegwood.causes.family_net import family_causes
from pegwood.causes.known import FOLDER, knowledge
from pegwood.causes.own_knowledge import check_knowledge, knowledge_in

HEAD = 'mechanism = "film-counter"\nsource = "our own bench"\nmark = "practice"\n'
FAULT = """
[[fault]]
id = "wheel-split"
name = "counter wheel split"
part = "counter-dial"
prior = 0.02
[[fault.mends]]
name = "turned anew"
minutes = { low = 30, likely = 60, high = 120 }
success = 0.9
breaks = [{ fault = "dial-misplaced", chance = 0.05 }]
"""
SIGN = """
[[sign]]
id = "crack-seen"
asks = "Loupe on the counter wheel: a crack?"
by = "eye"
minutes = 0.5
leak = [0.99, 0.01]
shown_by = [{ fault = "wheel-split", shows = [0.1, 0.9] }, { fault = "dial-loose", shows = [0.9, 0.1] }]
"""
LIKELIER = """
[[fault]]
id = "hair-off"
name = "return spring off"
part = "counter-hair-spring"
prior = 0.3
"""
CLAPPER = """\
id = "clapper"
name = "clapper"
source = "our own bench"
mark = "practice"
[[part]]
id = "spring"
name = "spring"
"""
OF_CLAPPER = """\
mechanism = "clapper"
source = "our own bench"
mark = "practice"
[[fault]]
id = "weak"
name = "spring weak"
part = "spring"
prior = 0.2
[[sign]]
id = "slow"
asks = "Does it clap slowly?"
by = "ear"
minutes = 1
leak = [0.95, 0.05]
shown_by = [{ fault = "weak", shows = [0.3, 0.7] }]
"""


def written(folder, name, text):
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


def read(folder):
    return knowledge_in(folder, constructions_in(folder))


def test_with_no_folder_and_with_an_empty_one_there_is_what_came(tmp_path):
    assert knowledge_in(None, constructions_in(None)).knowledge == knowledge()
    assert read(tmp_path).knowledge == knowledge()
    assert (read(tmp_path).slips, read(tmp_path).replaced) == ((), ())


def test_what_is_new_is_added_and_may_speak_of_faults_that_came(tmp_path):
    written(tmp_path, "knowledge/counter.toml", HEAD + FAULT + SIGN)
    found = read(tmp_path)
    assert (found.slips, found.replaced) == ((), ())
    came, now = knowledge()["film-counter"], found.knowledge["film-counter"]
    assert now.fault[:-1] == came.fault
    assert (now.fault[-1].id, now.fault[-1].source, now.fault[-1].mark) == (
        "wheel-split",
        "our own bench",
        "practice",
    )
    assert now.sign[-1].shown_by[1].fault == "dial-loose"
    assert now.source == came.source, "what came says where it is from as before"
    causes = family_causes(constructions_in(None).constructions["reflex-35-cloth"], found.knowledge)
    assert causes.faults["counter.wheel-split"].source == "our own bench"
    assert causes.signs["counter.crack-seen"].source == "our own bench"


def test_what_has_an_id_that_came_stands_in_its_place(tmp_path):
    written(tmp_path, "knowledge/counter.toml", HEAD + LIKELIER)
    found = read(tmp_path)
    assert found.replaced == (
        "knowledge/counter.toml: your own fault 'hair-off' stands in place of the one that came.",
    )
    now = {one.id: one for one in found.knowledge["film-counter"].fault}
    assert now["hair-off"].prior == 0.3
    assert [*now] == [one.id for one in knowledge()["film-counter"].fault]
    assert found.knowledge["film-counter"].sign == knowledge()["film-counter"].sign
    assert {one: known for one, known in found.knowledge.items() if one != "film-counter"} == {
        one: known for one, known in knowledge().items() if one != "film-counter"
    }


def test_a_file_may_stand_in_place_of_all_that_came(tmp_path):
    whole = (HEAD + "instead = true\n" + FAULT + SIGN).replace("dial-misplaced", "wheel-split")
    path = written(tmp_path, "knowledge/counter.toml", whole)
    assert "line 23: sign 1, shown_by: 'dial-loose' is no fault here" in read(tmp_path).slips[0]
    path.write_text(whole.replace(', { fault = "dial-loose", shows = [0.9, 0.1] }', ""), "utf-8")
    found = read(tmp_path)
    assert found.slips == ()
    assert found.replaced == ("knowledge/counter.toml: stands in place of all that came for 'film-counter'.",)
    assert [one.id for one in found.knowledge["film-counter"].fault] == ["wheel-split"]


def test_a_mechanism_of_its_own_is_known_where_the_workshop_has_it(tmp_path):
    written(tmp_path, "knowledge/clapper.toml", OF_CLAPPER)
    assert "'clapper' is no mechanism here" in read(tmp_path).slips[0]
    written(tmp_path, "mechanisms/clapper.toml", CLAPPER)
    found = read(tmp_path)
    assert found.slips == ()
    assert found.knowledge.keys() == knowledge().keys() | {"clapper"}


def test_one_broken_file_is_left_aside_with_its_slip_and_the_rest_stay(tmp_path):
    written(tmp_path, "knowledge/a.toml", HEAD + FAULT)
    written(tmp_path, "knowledge/b.toml", HEAD.replace("film-counter", "self-timer") + FAULT)
    written(tmp_path, "knowledge/c.toml", "mechanism = = 3")
    written(tmp_path, "knowledge/d.toml", HEAD + LIKELIER)
    written(tmp_path, "knowledge/e.toml", HEAD)
    written(tmp_path, "knowledge/f.toml", HEAD + FAULT.replace("wheel-split", "Wheel split"))
    (tmp_path / "knowledge/g.toml").write_bytes(b"\xff\xfe\x00")
    found = read(tmp_path)
    assert found.knowledge["film-counter"].fault[-1].id == "wheel-split"
    assert found.knowledge["self-timer"] is knowledge()["self-timer"]
    assert not any("\n" in slip for slip in found.slips)
    b, c, d, e, f, g = found.slips
    assert b.startswith("knowledge/b.toml, line 8: fault 1, part: 'counter-dial' is no part here. Nearest: ")
    assert c.startswith("knowledge/c.toml")
    assert "what you know of 'film-counter' is in knowledge/a.toml already" in d
    assert e == "knowledge/e.toml, line 1: there is no fault and no sign in it."
    assert f.startswith("knowledge/f.toml, line 6: fault 1, id: 'Wheel split' is no id")
    assert "no text in UTF-8" in g


def test_files_are_read_anew_only_when_something_has_changed(tmp_path):
    path = written(tmp_path, "knowledge/counter.toml", HEAD + FAULT)
    first = read(tmp_path)
    assert read(tmp_path) is first
    path.write_text(HEAD + FAULT + SIGN, "utf-8")
    assert read(tmp_path).knowledge["film-counter"].sign[-1].id == "crack-seen"
    before = read(tmp_path)
    written(tmp_path, "mechanisms/clapper.toml", CLAPPER)
    assert read(tmp_path) is not before


def test_a_check_tells_what_cannot_be_read_and_what_makes_little_sense(tmp_path):
    whole = written(tmp_path, "counter.toml", HEAD + FAULT + SIGN)
    doubtful = written(
        tmp_path,
        "doubtful.toml",
        HEAD + LIKELIER + FAULT + SIGN.replace("[0.99, 0.01]", "[0.05, 0.95]"),
    )
    broken = written(tmp_path, "broken.toml", HEAD + FAULT.replace("0.02", "2"))
    known = constructions_in(None)
    fine, odd, wrong = check_knowledge(whole, doubtful, broken, known=known)
    assert (fine.slip, fine.doubts) == ("", ())
    assert [one.id for one in fine.found.fault] == ["wheel-split"]
    assert wrong.found is None
    assert "broken.toml, line 5: fault 1: the prior is 2." in wrong.slip
    assert odd.slip == ""
    says = " ".join(odd.doubts)
    assert "doubtful.toml, line 5: fault 1: nothing mends 'hair-off'." in says
    assert "no sign speaks clearly for 'wheel-split'" in says
    assert "'yes' to 'crack-seen' comes rather from nothing than from its faults" in says
    assert len(odd.doubts) == 3


def test_a_check_doubts_two_kinds_of_thing_on_one_scale(tmp_path):
    two = SIGN.replace("minutes = 0.5", 'minutes = 0.5\nanswers = ["no", "split", "loose"]')
    two = two.replace("[0.99, 0.01]", "[0.98, 0.01, 0.01]").replace("[0.1, 0.9]", "[0.1, 0.85, 0.05]")
    path = written(tmp_path, "two.toml", HEAD + FAULT + two.replace("[0.9, 0.1]", "[0.1, 0.05, 0.85]"))
    (found,) = check_knowledge(path, known=constructions_in(None))
    assert found.slip == ""
    assert "'split' and 'loose' to 'crack-seen' seem two kinds of thing" in found.doubts[0]


@pytest.mark.parametrize("name", ["film-counter", "covering"])
def test_what_came_passes_its_own_check(name):
    (found,) = check_knowledge(FOLDER / f"{name}.toml", known=constructions_in(None))
    assert (found.slip, [one for one in found.doubts if "two kinds" not in one]) == ("", [])
