"""Whole assemblies: what is open, the smallest set to take off, by trying all, and how it is told."""

import json
import random
from itertools import combinations

import pytest

from pegwood.trade.agents import Route, Tables, routes, tell_agent, tell_material, tell_routes
from pegwood.trade.answers import as_json
from pegwood.trade.reference import Reference
from trade.walk_json import unsourced

REFERENCE = Reference()
READ = Tables(REFERENCE)
WAYS_FOR_SURE = {"air-puffer", "dry-brush", "vacuum"}


def name(route: Route) -> tuple[str, str]:
    return route.method.key, route.agent.key if route.agent else ""


def open_ways(parts) -> set[tuple[str, str]]:
    return {name(route) for route in routes(REFERENCE, parts) if route.open}


def assemblies(seed, how_many, most):
    rng = random.Random(seed)
    keys = list(READ.materials)
    return [rng.sample(keys, rng.randint(1, most)) for _ in range(how_many)]


# --- what is open ---------------------------------------------------------------------------------


def test_adding_a_part_never_opens_a_way():
    rng = random.Random(4)
    for assembly in assemblies(5, 40, 6):
        more = [*assembly, rng.choice([key for key in READ.materials if key not in assembly])]
        assert open_ways(more) <= open_ways(assembly)


def test_the_smallest_set_to_take_off_is_what_trying_every_set_finds():
    for assembly in assemblies(6, 12, 5):
        parts = [(key, key) for key in assembly]
        left = {
            off: open_ways([part for part in parts if part[0] not in off])
            for size in range(len(parts))
            for off in combinations(assembly, size)
        }
        for route in routes(REFERENCE, parts):
            smallest = min((len(off) for off, ways in left.items() if name(route) in ways), default=None)
            if route.open or route.can_open:
                assert smallest == len(route.take_off)
                assert name(route) in left[tuple(one for one in assembly if one in route.take_off)]
            else:
                assert smallest is None


def test_an_open_way_holds_nothing_that_is_never_or_not_known_anywhere_on_it():
    for assembly in assemblies(7, 25, 5):
        for route in routes(REFERENCE, assembly):
            spoken = [
                row.verdict if (row := table.get((key, material))) else "not known"
                for step in route.steps
                for material in assembly
                for table, key in (
                    (READ.methods_on, step.method.key),
                    *([(READ.matrix, step.agent.key)] if step.agent else []),
                )
            ]
            stopped = {"never", "not known"} & set(spoken)
            assert not (route.open and stopped)
            assert route.open or stopped or route.never


def test_what_nobody_knows_opens_nothing(tmp_path):
    (tmp_path / "materials.toml").write_text(
        'source = "mine"\nmark = "practice"\n[[row]]\nkey = "mystery"\nname = "mystery"\nkind = "plastic"\n',
        "utf-8",
    )
    found = routes(Reference(tmp_path), ["brass", "mystery"])
    assert not any(route.open for route in found)
    assert all("mystery" in route.take_off for route in found)
    assert {route.verdict for route in found if not route.never} <= {"not known", "never"}


def test_no_way_ends_in_heat_while_something_flammable_is_wet():
    for route in routes(REFERENCE, ["brass"]):
        last = [step.agent for step in route.steps if step.agent]
        if last and last[-1].flammable and route.open:
            assert route.steps[-1].method.key == "air-dry"


def test_a_flammable_agent_is_closed_in_the_tank_whatever_is_taken_off():
    found = {name(route): route for route in routes(REFERENCE, ["brass"])}
    for (method, agent), route in found.items():
        if method == "ultrasonic-bath" and READ.agents[agent].flammable:
            assert route.never
            assert not route.can_open
    assert found["ultrasonic-jar", "naphtha"].verdict == "with care"
    assert ("ultrasonic-bath", "naphtha") in found


def test_every_way_that_the_tables_offer_is_open_on_something():
    """A way that a slip in `put_on`, `rinse` or `dry` closes for all materials would be offered in vain."""
    offered = {(method, agent.key) for agent in READ.agents.values() for method in agent.put_on} | {
        (method, "") for method in WAYS_FOR_SURE
    }
    somewhere = set().union(*(open_ways([key]) for key in READ.materials))
    assert somewhere == offered


def test_steel_is_not_left_to_dry_from_water():
    """Any water on bare steel needs a dry-off within minutes, by an alcohol rinse (the facts' note b)."""
    soak = next(r for r in routes(REFERENCE, ["steel"]) if name(r) == ("soak", "detergent"))
    assert [step.agent.key for step in soak.steps if step.agent] == ["detergent", "water", "propan-2-ol"]
    soak = next(r for r in routes(REFERENCE, ["brass"]) if name(r) == ("soak", "detergent"))
    assert [step.agent.key for step in soak.steps if step.agent] == ["detergent", "water"]


# --- what must come off ---------------------------------------------------------------------------

NEVER_BATHED = ["selenium-cell", "silvered-mirror", "balsam", "curtain-cloth", "leather", "velvet", "coil"]


@pytest.mark.parametrize("material", NEVER_BATHED)
def test_what_is_ruined_in_a_bath_comes_off_before_it(material):
    """Issue 4: a selenium cell, a silvered mirror, a cemented doublet, cloth come off before a bath."""
    for route in routes(REFERENCE, [("plate", "brass"), ("that", material)]):
        if route.method.kind == "bath":
            assert "that" in route.take_off
    bath = next(
        r for r in routes(REFERENCE, [("plate", "brass"), ("that", material)]) if r.method.kind == "bath"
    )
    assert bath.take_off == ("that",)


def test_the_gentlest_comes_first():
    found = [route for route in routes(REFERENCE, ["brass", "aluminium"]) if route.open]
    ranks = [(route.verdict == "with care", route.method.gentle) for route in found]
    assert ranks == sorted(ranks)
    assert found[0].method.key == "air-puffer"


def test_only_what_lifts_the_dirt_is_offered():
    found = routes(REFERENCE, ["steel"], "rust")
    assert {route.agent.key for route in found} == {
        "citric-acid",
        "edta",
        "metal-polish",
        "oxalic-acid",
        "phosphoric-acid",
        "tannic-converter",
    }
    with pytest.raises(
        ValueError, match=r"'rusty' is no dirt that the tables know\. Expected one of: dust, oil"
    ):
        routes(REFERENCE, ["steel"], "rusty")


def test_a_part_of_two_materials_comes_off_as_one():
    found = routes(REFERENCE, [("plate", "brass"), ("lens", "coated lens"), ("lens", "balsam")])
    assert next(route for route in found if name(route) == ("soak", "detergent")).take_off == ("lens",)


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ([], "no part is named"),
        ([("", "brass")], "the part has no name"),
        (["brass", "shelac"], "Nearest: shellac"),
        (["lens"], "Say which"),
    ],
)
def test_parts_that_cannot_be_are_refused_in_a_line(parts, says):
    with pytest.raises(ValueError, match=says):
        routes(REFERENCE, parts)


# --- telling --------------------------------------------------------------------------------------

ANSWERS = {
    "agent": lambda: tell_agent(REFERENCE, "naphtha", ["shellac", "nickel-plate"]),
    "agent by": lambda: tell_agent(REFERENCE, "naphtha", ["brass"], "ultrasonic bath"),
    "agent on all": lambda: tell_agent(REFERENCE, "acetone"),
    "material": lambda: tell_material(REFERENCE, "shellac"),
    "material that bears nothing": lambda: tell_material(REFERENCE, "selenium cell"),
    "assembly": lambda: tell_routes(REFERENCE, ["brass", "balsam", "selenium-cell"]),
    "assembly with dirt": lambda: tell_routes(
        REFERENCE, [("plate", "steel"), ("fill", "paint-fill")], "rust"
    ),
}


@pytest.mark.parametrize("which", ANSWERS)
def test_nothing_is_told_without_its_source(which):
    told = as_json(ANSWERS[which]())
    assert list(unsourced(told)) == []
    json.dumps(told)


def test_the_answer_for_some_materials_leads_with_the_worst():
    answer = tell_agent(REFERENCE, "acetone", ["brass", "celluloid"])
    assert answer.headline.verdict == "never"
    assert answer.headline.says == "Brass safe; celluloid never."
    assert any("Flammable" in one.says for one in answer.cautions)


def test_a_material_that_bears_no_liquid_says_so_in_one_line():
    answer = tell_material(REFERENCE, "selenium cell")
    assert answer.headline.verdict == "never"
    assert answer.headline.says.startswith("Nothing liquid, ever")


def test_every_material_and_every_agent_can_be_told():
    for key in READ.materials:
        assert tell_material(REFERENCE, key).headline.says
    for key in READ.agents:
        assert tell_agent(REFERENCE, key).headline.says


def test_a_not_known_pair_is_told_as_not_known():
    answer = tell_agent(REFERENCE, "EDTA", ["circuit board"])
    assert answer.headline.verdict == "not known"
    assert "no row" in answer.headline.grounds[0].source


def test_an_assembly_leads_with_what_to_take_off():
    answer = tell_routes(REFERENCE, ["brass", "balsam", "selenium-cell"])
    assert answer.headline.says.startswith(
        "No bath as it stands. Take off the Canada-balsam doublet and selenium cell first: then soak in"
    )
    titles = [section.title for section in answer.sections]
    assert "Take off first, and more opens" in titles
    assert "What closes the others" in titles


def test_an_assembly_on_which_nothing_lifts_the_dirt_says_so():
    answer = tell_routes(REFERENCE, ["selenium-cell"], "rust")
    assert answer.headline.says == "No bath, whatever is taken off. Nothing in the tables is open for it."
