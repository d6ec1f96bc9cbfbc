"""What may be done about corrosion on a part: nothing that one of its materials must never meet."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.trade.agents import verdict
from pegwood.trade.answers import as_json
from pegwood.trade.grounds import Ground
from pegwood.trade.materials import MATERIALS
from pegwood.trade.metals import CORROSION
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from pegwood.trade.treatments import tell_treatments, treatments
from trade.walk_json import unsourced

REFERENCE = Reference()
KEYS = list(REFERENCE.rows(MATERIALS))
LOOKS = list(dict.fromkeys(row.name for row in REFERENCE.rows(CORROSION).values()))
SAID = (Ground("as the finding says", "practice"),)


def first_agents(proposals):
    return {one.agents[0].key for one in proposals if one.agents}


@pytest.mark.parametrize(
    ("materials", "seen", "open_to", "closed_to"),
    [
        # bluing is iron oxide: whatever dissolves rust strips it (facts, section 3, note c, memory)
        (["steel", "blued-steel"], "red rust", {"naphtha"}, {"citric-acid", "edta", "tannic-converter"}),
        (["steel"], "red rust at the hinge", {"naphtha", "edta", "citric-acid", "tannic-converter"}, set()),
        # never acid on the zinc die-cast next to a leaked cell (section 3, battery leakage, practice)
        (["nickel-plate"], "alkaline battery leak", {"vinegar"}, set()),
        (["nickel-plate", "zinc-die-cast"], "alkaline battery leak", set(), {"vinegar"}),
        # green soaps of old grease: acetone, ethanol or denatured alcohol (section 2, seen)
        (["brass"], "green wax", {"acetone", "ethanol"}, set()),
        (["brass", "celluloid"], "green wax", set(), {"acetone", "ethanol"}),
    ],
)
def test_the_parts_materials_decide_what_is_open(materials, seen, open_to, closed_to):
    found = treatments(REFERENCE, materials, seen)
    assert open_to <= first_agents(found.open)
    assert closed_to <= first_agents(found.closed)
    assert not closed_to & first_agents(found.open)


@given(st.lists(st.sampled_from(KEYS), min_size=1, max_size=4), st.sampled_from(LOOKS))
def test_nothing_is_proposed_that_a_material_must_never_meet(materials, seen):
    found = treatments(REFERENCE, materials, seen)
    for one in found.open:
        for agent in one.agents:
            for material in materials:
                assert verdict(REFERENCE, agent.key, material).verdict in ("safe", "with care")
    for one in found.closed:
        assert one.why


@given(st.lists(st.sampled_from(KEYS), min_size=1, max_size=3), st.sampled_from(KEYS), st.sampled_from(LOOKS))
def test_another_material_never_opens_a_way_that_was_closed(materials, more, seen):
    before = treatments(REFERENCE, materials, seen)
    after = treatments(REFERENCE, [*materials, more], seen)
    known = {one.key for one in before.products}
    opened = {(one.product.key, one.what) for one in after.open if one.product.key in known}
    assert opened <= {(one.product.key, one.what) for one in before.open}


def test_how_it_is_put_on_counts_as_much_as_the_agent():
    # balsam: wipe faces only, never soak (facts, section 3, note h)
    found = treatments(REFERENCE, ["brass", "balsam"], "gummed")
    assert {one.treatment.method for one in found.open if one.agents[0].key == "naphtha"} == {"swab"}
    assert {one.treatment.method for one in found.closed if one.agents[0].key == "naphtha"} == {"soak"}


def test_a_flammable_liquid_in_the_tank_is_closed_even_if_an_own_row_proposes_it(tmp_path):
    # never into the tank itself (facts, section 4, manual of an ultrasonic tank, 7.1, seen)
    (tmp_path / "corrosion.toml").write_text(
        """\
source = "my bench"
mark = "practice"

[[row]]
key = "bench-gum"
name = "bench gum"
bases = ["brass"]
look = "brown gum"
tell = "sticks"
reversible = "yes"
undone = "all of it"
next = "Oil it."

[[row.treatments]]
does = "floats it off"
treat_with = ["naphtha"]
method = "ultrasonic-bath"
minutes = { low = 1, likely = 2, high = 3 }
waiting_h = { low = 0, likely = 0, high = 0 }
chance = "often works"
source = "my bench"
mark = "practice"
""",
        "utf-8",
    )
    found = treatments(Reference(tmp_path), ["brass"], "bench gum")
    tank = [one for one in (*found.open, *found.closed) if one.treatment.method == "ultrasonic-bath"]
    assert [one.verdict for one in tank] == ["never"]


def test_words_of_no_corrosion_propose_nothing():
    found = treatments(REFERENCE, ["brass", "steel"], "bent at the second hole")
    assert (found.products, found.open, found.closed) == ((), (), ())
    with pytest.raises(ValueError, match="nothing here reads as corrosion"):
        tell_treatments(REFERENCE, found, SAID)


def test_a_material_that_nobody_knows_is_refused():
    with pytest.raises(UnknownWord, match="moonstone"):
        treatments(REFERENCE, ["moonstone"], "rust")


def test_what_is_told_has_minutes_waiting_cautions_and_sources():
    found = treatments(REFERENCE, ["cadmium-plate", "steel"], "red rust")
    told = tell_treatments(REFERENCE, found, SAID)
    data = as_json(told)
    assert unsourced(data) == []
    assert any("cancer" in line.says for line in told.cautions)  # cadmium, IARC group 1
    assert all("minutes" in line.says for line in told.sections[0].lines)
    assert all(
        one["bench_s"]["low"] <= one["bench_s"]["likely"] <= one["bench_s"]["high"]
        for one in data["treatments"]
    )
