"""Agents on materials: none without an answer, none unknown taken for safe, and the facts' cells hold."""

import re
from itertools import product

import pytest

from pegwood.trade.agents import (
    AGENTS,
    MATRIX,
    METHODS,
    METHODS_ON,
    UNCLEAR,
    Tables,
    UnclearWord,
    verdict,
    worst,
)
from pegwood.trade.agents._judging import NO_ROW, judged
from pegwood.trade.grounds import Ground
from pegwood.trade.materials import MATERIALS
from pegwood.trade.names import UnknownWord, spellings
from pegwood.trade.reference import Reference, read_rows
from pegwood.trade.safety import SUBSTANCES
from pegwood.trade.typed_toml import TableError
from trade.facts_materials import AGENTS as FACTS_AGENTS
from trade.facts_materials import LETTERS, STRICTER

REFERENCE = Reference()
READ = Tables(REFERENCE)
PAIRS = list(product(READ.agents.values(), READ.materials.values()))
CELLS = [
    (agent, material, letter)
    for materials, letters in LETTERS.items()
    for material in materials.split()
    for agent, letter in zip(FACTS_AGENTS, letters, strict=True)
]
SAYS = {"S": "safe", "C": "with care", "N": "never"}
#: From the best to the worst, by what it means at the bench: what nobody knows is kept off the camera.
ORDER = ["safe", "with care", "not known", "never"]


def own(folder, **files):
    for stem, text in files.items():
        name = stem.replace("_", "-")
        (folder / f"{name}.toml").write_text(f'source = "my test"\nmark = "practice"\n{text}', "utf-8")
    return Reference(folder)


# --- against the facts ----------------------------------------------------------------------------


def test_the_facts_cells_hold_and_where_the_matrix_departs_it_is_stricter_and_says_why():
    assert len(CELLS) == 16 * 37  # 33 rows of the facts; four of them speak of two or three materials
    departing = {
        (agent, material): SAYS[letter]
        for agent, material, letter in CELLS
        if verdict(REFERENCE, agent, material).verdict != SAYS[letter]
    }
    assert departing.keys() == STRICTER.keys()
    for (agent, material), facts in departing.items():
        assert ORDER.index(verdict(REFERENCE, agent, material).verdict) > ORDER.index(facts)


@pytest.mark.parametrize("mirror", ["half-silvered mirror", "beam splitter", "front-silvered mirror"])
def test_no_liquid_ever_touches_a_silvered_mirror(mirror):
    """The facts' case 25: material "half-silvered mirror", any liquid: never; air only."""
    assert {verdict(REFERENCE, agent, mirror).verdict for agent in READ.agents} == {"never"}
    wet = [method.key for method in READ.methods.values() if method.wet]
    assert {verdict(REFERENCE, "water", mirror, method).verdict for method in wet} == {"never"}
    assert verdict(REFERENCE, "water", mirror).reasons[0].grounds[0].mark == "seen"


@pytest.mark.parametrize(
    ("agent", "material", "expected"),
    [  # what chemistry books say of solubility and attack, none of it in the facts' table
        ("butanone", "polystyrene", "never"),
        ("toluene", "ABS", "never"),
        ("household ammonia", "polycarbonate", "never"),
        ("phosphoric acid", "nylon", "never"),
        ("oxalic acid", "acetal", "never"),
        ("mineral oil", "natural rubber", "never"),
        ("lighter fluid", "natural rubber", "never"),
        ("benzine", "shutter curtain", "never"),
        ("xylol", "balsam", "never"),
        ("bleach", "stainless", "never"),
        ("methanol", "magnesium", "never"),
        ("meths", "shellac", "never"),
        ("IPA", "pcb", "with care"),
        ("vinegar", "lead", "never"),
    ],
)
def test_oddities_that_cost_cameras(agent, material, expected):
    assert verdict(REFERENCE, agent, material).verdict == expected


# --- the tables -----------------------------------------------------------------------------------


def test_the_matrix_is_total_and_what_has_no_row_is_not_known():
    for agent, material in PAIRS:
        judgement = judged(READ, agent, material)
        assert judgement.verdict in ORDER
        assert judgement.why
        assert judgement.grounds
        if (agent.key, material.key) not in READ.matrix:
            assert (judgement.verdict, judgement.grounds) == ("not known", NO_ROW)
    spoken = sum((agent.key, material.key) in READ.matrix for agent, material in PAIRS)
    assert spoken / len(PAIRS) > 0.95


def test_every_material_says_how_it_bears_every_method():
    assert {(method, material) for method in READ.methods for material in READ.materials} == set(
        READ.methods_on
    )


def test_two_rows_never_speak_for_the_same_pair():
    row = '[[row]]\nagents = ["water", "acetone"]\non = ["brass"]\nverdict = "{}"\nwhy = "so"\n'
    text = 'source = "s"\nmark = "memory"\n' + row.format("safe") + row.format("never")
    with pytest.raises(TableError, match=r"line 8: row 2: 'water on brass' stands there twice"):
        read_rows(MATRIX, text, "matrix.toml")


def test_a_row_of_ones_own_takes_the_place_of_the_pair_alone_and_says_so(tmp_path):
    reference = own(
        tmp_path,
        matrix='[[row]]\nagents = ["acetone"]\non = ["celluloid"]\nverdict = "safe"\nwhy = "It bears it."\n',
    )
    changed = verdict(reference, "acetone", "celluloid")
    assert (changed.verdict, changed.why) == ("safe", "It bears it.")
    assert changed.grounds == (Ground("my test", "practice", own=True),)
    assert verdict(reference, "butanone", "celluloid").verdict == "never"
    assert not any(ground.own for ground in verdict(reference, "butanone", "celluloid").grounds)


@pytest.mark.parametrize(
    ("files", "says"),
    [
        (
            {"matrix": '[[row]]\nagents = ["IPA"]\non = ["brass"]\nverdict = "safe"\nwhy = "so"\n'},
            "matrix.toml: 'IPA' is the key of no agent",
        ),
        (
            {"matrix": '[[row]]\nagents = ["water"]\non = ["bras"]\nverdict = "safe"\nwhy = "so"\n'},
            "matrix.toml: 'bras' is the key of no material. Nearest: brass",
        ),
        (
            {"methods_on": '[[row]]\nmethods = ["soaking"]\non = ["brass"]\nverdict = "safe"\nwhy = "so"\n'},
            "methods-on.toml: 'soaking' is the key of no method. Nearest: soak",
        ),
    ],
)
def test_a_row_that_would_never_be_found_is_refused(tmp_path, files, says):
    with pytest.raises(ValueError, match=re.escape(says)):
        verdict(own(tmp_path, **files), "water", "brass", "soak")


def test_substances_are_those_that_the_table_of_dangers_knows():
    named = {one for agent in READ.agents.values() for one in agent.substances}
    assert len(named) > 20
    assert named <= set(REFERENCE.rows(SUBSTANCES))


def test_no_two_agents_and_no_two_methods_are_equally_gentle():
    for rows in (READ.agents, READ.methods):
        places = [row.gentle for row in rows.values() if getattr(row, "kind", "") != "drying"]
        assert sorted(places) == list(range(len(places)))


# --- judging --------------------------------------------------------------------------------------


def test_a_method_never_makes_a_verdict_better():
    for agent, material in PAIRS:
        alone = ORDER.index(judged(READ, agent, material).verdict)
        for method in READ.methods.values():
            assert ORDER.index(judged(READ, agent, material, method).verdict) >= alone


def test_a_flammable_agent_in_the_open_ultrasonic_bath_is_never_and_in_the_closed_jar_never_plainly_safe():
    """An ultrasonic tank's manual, 7.1: flammable liquid never directly in the tank."""
    burning = [agent for agent in READ.agents.values() if agent.flammable]
    assert {"naphtha", "propan-2-ol", "ethanol", "acetone"} <= {agent.key for agent in burning}
    for agent, material in product(burning, READ.materials.values()):
        assert judged(READ, agent, material, READ.methods["ultrasonic-bath"]).verdict == "never"
        assert judged(READ, agent, material, READ.methods["ultrasonic-jar"]).verdict != "safe"


#: Flash points in °C, IEC 60079-20-1 (2010) by the chemicals library's data set: the facts, section 4.
FLASH_C = {
    "naphtha": -7,
    "propan-2-ol": 12,
    "ethanol": 12,
    "acetone": -20,
    "butanone": -10,
    "ethyl-acetate": -4,
    "toluene": 4,
    "xylene": 30,
    "turpentine": 35,
}


def test_what_flashes_below_60_degrees_is_flammable():
    """GHS, chapter 2.6: a liquid is flammable with a flash point of not more than 60 °C."""
    assert all(READ.agents[key].flammable for key, flash in FLASH_C.items() if flash <= 60)
    watery = [agent for agent in READ.agents.values() if agent.water_based]
    assert not any(agent.flammable for agent in watery)


def test_the_worst_of_two_verdicts_counts_and_not_known_is_worse_than_with_care():
    for one, two in product(ORDER, ORDER):
        assert worst(one, two) == ORDER[max(ORDER.index(one), ORDER.index(two))]


# --- names ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "key"),
    [
        ("Lighter fluid", "naphtha"),
        ("benzine", "naphtha"),
        ("rubbing alcohol", "propan-2-ol"),
        ("meths", "ethanol"),
        ("wood spirit", "methanol"),
        ("mineral spirits", "white-spirit"),
        ("turps substitute", "white-spirit"),
        ("turps", "turpentine"),
        ("washing-up liquid", "detergent"),
        ("MEK", "butanone"),
    ],
)
def test_an_agent_answers_to_the_names_people_use(word, key):
    assert READ.agent(word).key == key


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("benzene", "Benzine, one letter apart"),
        ("spirit", "Say which: white spirit, methylated spirit"),
        ("acetate", "Say which: ethyl acetate, acetone"),
        ("alcohol", "Say which: propan-2-ol, ethanol, methanol"),
        ("petrol", "Say which: naphtha"),
        ("Thinners", "judge it by each"),
        ("peroxide", "with ammonia"),
    ],
)
def test_a_word_that_may_mean_two_things_is_asked_back(word, says):
    with pytest.raises(UnclearWord, match=says):
        verdict(REFERENCE, word, "brass")


def test_a_lens_is_asked_back_too_since_its_coating_and_cement_decide():
    with pytest.raises(UnclearWord, match="Canada-balsam doublet"):
        verdict(REFERENCE, "acetone", "lens")


def test_an_unknown_word_is_told_with_its_nearest():
    with pytest.raises(UnknownWord, match=r"'acetonne' is no agent that the tables know\. Nearest: acetone"):
        verdict(REFERENCE, "acetonne", "brass")


def test_no_unclear_word_is_the_name_of_a_row_and_all_that_it_may_mean_is_found():
    names = {"agent": READ.agents, "material": READ.materials}
    for (of, word), row in REFERENCE.rows(UNCLEAR).items():
        assert all(word not in spellings(one) for one in names[of].values()), word
        find = READ.agent if of == "agent" else READ.material
        assert len({find(one).key for one in row.may_mean}) == len(row.may_mean), word


def test_no_name_is_an_agent_and_a_material_at_once():
    """Words of a question are told apart by it: one that is both would be judged against itself."""
    agents = {name for row in READ.agents.values() for name in spellings(row)}
    materials = {name for row in READ.materials.values() for name in spellings(row)}
    assert agents & materials == set()


def test_the_tables_are_those_of_the_reference():
    assert READ.agents is REFERENCE.rows(AGENTS)
    assert READ.methods is REFERENCE.rows(METHODS)
    assert READ.methods_on is REFERENCE.rows(METHODS_ON)
    assert READ.materials is REFERENCE.rows(MATERIALS)
