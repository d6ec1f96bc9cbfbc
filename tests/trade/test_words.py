"""Plain words taken apart: longest name first, figures with units, and no word passed over in silence."""

import pytest

from pegwood.trade.asking._words import Figure, Thing, take_apart
from pegwood.trade.names import UnknownWord


def things(**kinds):
    """A vocabulary from kind to names."""
    found = {}
    for kind, names in kinds.items():
        for name in names:
            found[name] = (*found.get(name, ()), Thing(kind, name.replace(" ", "-"), name))
    return found


KNOWN = things(
    material=["brass", "steel", "blued steel", "shellac", "nickel plate", "balsam doublet"],
    agent=["naphtha", "metal polish"],
    glue=["shellac"],
    environment=["salt"],
    thread=["m2x0.4", "1/4 20"],
    lubricant=["vg 10"],
)
UNITS = ("mm", "c", "°c", "uf", "v")


def read(text):
    return take_apart(text, KNOWN, {"glue": "glue", "screw": "thread"}, UNITS)


@pytest.mark.parametrize(
    ("text", "kind", "keys"),
    [
        ("Brass + steel, salt", "material", ("brass", "steel")),
        ("blued steel & brass", "material", ("blued-steel", "brass")),
        ("naphtha on shellac, nickel-plate", "material", ("shellac", "nickel-plate")),
        ("may shellacs go with naphtha?", "glue", ("shellac",)),
        ("1/4-20", "thread", ("1/4-20",)),
        ("M2x0.4 in brass", "thread", ("m2x0.4",)),
        ("balsam doublets", "material", ("balsam-doublet",)),
    ],
)
def test_the_longest_name_is_taken_first_in_any_spelling(text, kind, keys):
    assert read(text).of(kind) == keys


@pytest.mark.parametrize(
    ("text", "figures"),
    [
        ("1.7 0.35", [(1.7, ""), (0.35, "")]),
        ("1.7x0.35", [(1.7, ""), (0.35, "")]),
        ("1.7 × .35 mm", [(1.7, ""), (0.35, "mm")]),
        ("vg 10 at -10 °C", [(-10.0, "°c")]),
        ("VG-10 -10c", [(-10.0, "c")]),
        ("330uF 300 V", [(330.0, "uf"), (300.0, "v")]),
    ],
)
def test_figures_keep_their_sign_and_unit(text, figures):
    assert read(text).figures == tuple(Figure(*one) for one in figures)


def test_a_word_that_announces_its_question_is_told_apart():
    assert read("glue brass steel").topic == "glue"
    assert read("screw 1.7 0.35").topic == "thread"


@pytest.mark.parametrize(
    ("text", "word", "near"), [("brass + stel", "stel", "steel"), ("naptha", "naptha", "naphtha")]
)
def test_an_unknown_word_is_refused_with_the_nearest_names(text, word, near):
    with pytest.raises(UnknownWord) as refused:
        read(text)
    assert refused.value.word == word
    assert refused.value.nearest[0] == near


@pytest.mark.parametrize("text", ["brass not steel", "never naphtha", "naphtha without brass", "5 furlongs"])
def test_a_word_that_could_turn_the_question_round_is_never_passed_over(text):
    with pytest.raises(ValueError, match=r"turns the question round|no word that the tables know"):
        read(text)
