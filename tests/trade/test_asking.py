"""Plain words find who answers; every name in every table is answered, nothing is told without its source."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.trade import threads
from pegwood.trade.agents import AGENTS, METHODS
from pegwood.trade.answers import Answer, as_json
from pegwood.trade.asking import EXAMPLES, ask
from pegwood.trade.asking._vocabulary import FILES, vocabulary
from pegwood.trade.cells import CELLS
from pegwood.trade.films import FILMS
from pegwood.trade.glues import GLUES
from pegwood.trade.lubricants import LUBRICANTS, PLACES
from pegwood.trade.materials import MATERIALS
from pegwood.trade.metals import CORROSION, ENVIRONMENTS
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference
from pegwood.trade.safety import HAZARDS, SUBSTANCES
from trade.walk_json import unsourced

REFERENCE = Reference()
NAMES = vocabulary(REFERENCE)
#: What a name by itself may be refused for: it means several things, or asks nothing yet.
BACK = re.compile(r"Say which|hold no use|no place at a bench|which two metals are together there")


def one_line(error: ValueError) -> bool:
    return "\n" not in str(error) and len(str(error)) < 400


@pytest.mark.parametrize(
    ("question", "subject", "says"),
    [
        ("brass + steel, salt", "couple", "steel suffers"),
        ("naphtha on shellac, nickel plate", "agent", "each of them"),
        ("will acetone lift shellac?", "agent", ""),
        ("1.7 0.35", "thread", "M1.7x0.35"),
        ("1.7x0.35 mm", "thread", "M1.7x0.35"),
        ("2.84 40 tpi", "thread", "#4-40"),
        ("screw 2.48 0.45 60°", "thread", "M2.6x0.45"),
        ("torque M2x0.4 in brass", "torque", "0.087"),
        ("2BA", "torque", "N·m"),
        ("clean brass, balsam, selenium cell", "clean", "Take off"),
        ("may brass go in the ultrasonic bath", "agent", ""),
        ("ultrasonic bath", "method", "Never"),
        ("naphtha ultrasonic", "agent", "Never"),
        ("green wax on brass", "corrosion", "Green wax"),
        ("fungus on lens", "corrosion", "Fungus"),
        ("rust 0.3 %", "rust", "Grade 2"),
        ("bleach + vinegar", "mixture", "Chlorine"),
        ("acetone + peroxide", "mixture", "peroxides"),
        ("naphtha safety", "substance", "Flash point"),
        ("mineral oil VG 32 winter", "cold", "as thick at -10 °C"),
        ("mineral oil VG 32 at 0 °C", "lubricant", "0 °C"),
        ("helicoid", "place", "NLGI 2"),
        ("shutter blades", "place", "No oil"),
        ("glue leather aluminium", "join", "Leather"),
        ("glue shellac", "glue", "hellac"),
        ("spring 0.3 3.3 10", "spring", "N/mm"),
        ("shim 0.37", "shim", "2 leaves"),
        ("330 uF 330 V", "capacitor", "17.97 J"),
        ("fit brass aluminium 50 mm 60 c", "fit", "closes"),
        ("MR9", "cell", "1.35 V"),
        ("120", "film", "61 mm"),
        ("film 120", "film", "61 mm"),
        ("f/5.6 1/60", "exposure", "EV"),
        ("ev 12", "exposure value", ""),
        ("radium", "hazard", "Radium"),
        ("oil for shutter blades", "place", "No oil"),
        ("iris oil", "place", "No oil"),
        ("grease for helicoid", "place", "NLGI 2"),
        ("leather", "material", ""),
        ("steam on brass", "agent", "warm air at once"),
        ("white powder on battery contacts", "corrosion", "crystals come off"),
        ("white crystals in the battery compartment", "corrosion", "crystals come off"),
    ],
)
def test_plain_words_find_who_answers(question, subject, says):
    told = ask(REFERENCE, question)
    assert told.subject == subject
    assert says in told.headline.says


@pytest.mark.parametrize("question", EXAMPLES)
def test_the_page_offers_only_what_is_answered(question):
    assert isinstance(ask(REFERENCE, question), Answer)


def test_the_names_are_those_of_the_tables_themselves():
    tables = {
        "material": MATERIALS,
        "agent": AGENTS,
        "method": METHODS,
        "environment": ENVIRONMENTS,
        "corrosion": CORROSION,
        "substance": SUBSTANCES,
        "hazard": HAZARDS,
        "lubricant": LUBRICANTS,
        "place": PLACES,
        "glue": GLUES,
        "cell": CELLS,
        "film": FILMS,
    }
    assert {kind: (table.stem,) for kind, table in tables.items()} | {
        "thread": tuple(table.stem for table in threads.SIZES)
    } == FILES


def test_every_name_is_answered_or_asked_back_and_no_figure_lacks_its_source():
    unanswered, bare = [], []
    for name in NAMES:
        try:
            told = ask(REFERENCE, name)
        except ValueError as reason:
            if not (BACK.search(str(reason)) and one_line(reason)):
                unanswered.append((name, str(reason)))
        else:
            bare += [(name, place) for place in unsourced(as_json(told))]
    assert unanswered == []
    assert bare == []


def test_the_walker_finds_a_figure_without_its_source():
    good = {"candidates": [{"p": 0.5, "source": "a", "mark": "seen"}], "says": {"says": "x", "sources": []}}
    assert unsourced(good) == ["answer.says"]
    assert unsourced({"depth": {"depth_m": [0.1, 0.2]}}) == ["answer.depth"]
    assert unsourced({"depth_m": 0.1}) == ["answer"]
    assert unsourced({"depth": {"depth_m": 0.1, "source": "a", "mark": "sure"}}) == ["answer.depth"]


@pytest.mark.parametrize(
    ("question", "says"),
    [
        # laboratory incompatibility lists: ammonia, or any acid, with bleach; whatever else the agent holds
        ("metal polish + bleach", "Chloramines"),
        ("peroxide ammonia + bleach", "Chloramines"),
        ("rust converter + bleach", "Chlorine"),
    ],
)
def test_of_an_agent_that_holds_several_things_the_worst_is_told(question, says):
    told = ask(REFERENCE, question)
    assert told.headline.verdict == "never"
    assert told.headline.says.startswith(says)


@pytest.mark.parametrize("question", ["phosphoric acid 85 % on steel", "helicoid at -10", "brass 0.3"])
def test_no_figure_is_passed_over_in_silence(question):
    with pytest.raises(ValueError, match="nothing here takes the figure"):
        ask(REFERENCE, question)


def test_the_metal_of_a_spring_is_not_passed_over():
    # handbook moduli: 302 stainless 10.0, music wire 12.0 million psi; the rate goes with them
    steel, stainless = (ask(REFERENCE, f"spring 0.5 5 8{metal}").data for metal in ("", " stainless"))
    rates = [found["spring"]["rate_n_per_m"] for found in (stainless, steel)]
    assert rates[0] / rates[1] == pytest.approx(10.0 / 12.0, rel=0.005)
    with pytest.raises(ValueError, match="no spring wire"):
        ask(REFERENCE, "spring 0.5 5 8 aluminium")


def test_of_two_cells_it_is_asked_back_which_the_camera_was_made_for():
    with pytest.raises(ValueError, match="made for"):
        ask(REFERENCE, "LR44 for MR9")


def said_to(question: str) -> str:
    """The refusal; or, of an answer, the places in it that lack their source."""
    try:
        told = ask(REFERENCE, question)
    except ValueError as reason:
        return str(reason)
    return "; ".join(unsourced(as_json(told)))


@given(
    st.lists(st.sampled_from(list(NAMES)), min_size=2, max_size=4),
    st.sampled_from([" + ", ", ", " on ", " "]),
)
def test_any_names_together_are_answered_or_refused_in_one_line(names, between):
    said = said_to(between.join(names))
    assert not said.startswith("answer")
    assert "\n" not in said


@given(st.text(alphabet=st.characters(exclude_categories=["C", "Z"]), max_size=60))
def test_whatever_is_typed_is_answered_or_refused_in_one_line(text):
    assert "\n" not in said_to(text)


@pytest.mark.parametrize(
    ("question", "nearest"),
    [("brass + stel", "steel"), ("naptha on brass", "naphtha"), ("acetone on celulloid", "celluloid")],
)
def test_a_misspelt_word_is_refused_with_the_three_nearest(question, nearest):
    with pytest.raises(UnknownWord) as refused:
        ask(REFERENCE, question)
    assert nearest in refused.value.nearest
    assert len(refused.value.nearest) <= 3


@pytest.mark.parametrize("question", ["clean plate=brass", "purple wax on brass", "brass without steel"])
def test_a_word_that_nobody_knows_is_never_passed_over(question):
    with pytest.raises(ValueError, match=r"plate=brass|purple|without"):
        ask(REFERENCE, question)


@pytest.mark.parametrize(
    ("question", "says"),
    [
        ("ipa on plastic", "they differ"),
        ("vinegar on battery contacts", "several metals"),
        ("1.7", "outside diameter and its pitch"),
        ("screw", "outside diameter and its pitch"),
        ("naphtha helicoid", "on a material"),
    ],
)
def test_what_is_lacking_is_said(question, says):
    with pytest.raises(ValueError, match=says):
        ask(REFERENCE, question)


def test_a_material_that_can_hurt_says_so_first():
    told = ask(REFERENCE, "cadmium plate")
    assert any("cancer" in line.says for line in told.cautions)


def test_an_agent_on_something_shows_how_it_burns_with_its_symbol():
    told = ask(REFERENCE, "acetone on shellac")
    safety = next(section for section in told.sections if section.title.startswith("Safety"))
    assert "GHS02" in {line.pictogram for line in safety.lines}  # flammable liquid, UN GHS annex 3
    assert any("-20 °C" in line.says for line in safety.lines)  # flash point of acetone, IEC 60079-20-1
