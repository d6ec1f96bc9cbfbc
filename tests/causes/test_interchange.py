"""Nets written as standard files and read back by a general-purpose library: the same chances to 1e-6."""

from __future__ import annotations

import itertools
import math
import random
from xml.etree import ElementTree

import numpy as np
import pyagrum as gum
import pytest

from causes import library
from causes.nets import NO, YES, answers, binary, drawn
from pegwood.anatomy.construction import constructions
from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.inference import FaultNet, posterior
from pegwood.causes.interchange import (
    GeneralNet,
    Variable,
    bif,
    general,
    to_bif,
    to_uai,
    to_xmlbif,
    uai,
    xmlbif,
)
from pegwood.causes.interchange.elimination import chances
from pegwood.causes.interchange.of_family import general_family
from pegwood.causes.known import knowledge
from pegwood.causes.weighing import weigh

WRITTEN = {"bif": to_bif, "bifxml": to_xmlbif, "uai": lambda net, _title: to_uai(net)[0]}


def read_back(tmp_path, text: str, ending: str) -> gum.BayesNet:
    path = tmp_path / f"net.{ending}"
    path.write_text(text, "utf-8")
    return gum.loadBN(str(path))


def asked(net: FaultNet, ending: str) -> dict[str, str]:
    """Under what name a file has each fault and sign."""
    variables = general(net, "").variables
    return {one.of: str(n) if ending == "uai" else one.name for n, one in enumerate(variables) if one.of}


def agrees(made: gum.BayesNet, net: FaultNet, evidence, names: dict[str, str]) -> None:
    soft = {names[sign]: [float(one) for one in weights] for sign, weights in evidence.items()}
    chance, found = library.chances(made, soft, [names[fault] for fault in net.priors])
    expected = posterior(net, evidence)
    assert math.log(chance) == pytest.approx(expected.log_evidence, abs=1e-4)
    for fault, here in expected.faults.items():
        assert found[names[fault]][1] == pytest.approx(here, abs=1e-6)


@pytest.fixture(scope="module")
def whole() -> list[FamilyCauses]:
    """Every family, the one with the fewest signs first."""
    found = [family_causes(one, knowledge()) for one in constructions().values()]
    return sorted(found, key=lambda one: len(one.signs))


@pytest.mark.parametrize(("ending", "which"), [("bif", -1), ("bifxml", 0), ("uai", 0)])
def test_a_whole_family_reads_back_to_the_same_chances(tmp_path, whole, ending, which):
    net = whole[which].net(["soaked-salt", "unserved-long"])
    made = read_back(tmp_path, WRITTEN[ending](net, whole[which].family), ending)
    rng = random.Random(7)
    signs = rng.sample(sorted(net.signs), 10)
    evidence = {}
    for n, sign in enumerate(signs):
        levels = len(net.signs[sign].leak)
        evidence[sign] = tuple(float(at == (levels - 1 if n < 4 else 0)) for at in range(levels))
    evidence[signs[4]] = tuple(0.2 + at for at in range(len(net.signs[signs[4]].leak)))
    agrees(made, net, evidence, asked(net, ending))


@pytest.mark.parametrize("ending", WRITTEN)
@pytest.mark.parametrize("seed", range(6))
def test_nets_with_levels_read_back_to_the_same_chances(tmp_path, ending, seed):
    rng = random.Random(seed)
    net = drawn(rng, faults=6, signs=6)
    agrees(
        read_back(tmp_path, WRITTEN[ending](net, "drawn"), ending), net, answers(rng, net), asked(net, ending)
    )


def test_a_sign_of_thirty_causes_stays_a_small_file():
    net = binary({f"f{n}": 0.1 for n in range(30)}, {"s": (0.01, {f"f{n}": 0.5 for n in range(30)})})
    assert max(one.table.size for one in general(net, "").variables) == 8  # not 2 ** 31
    assert len(to_bif(net, "wide")) < 20_000


def test_ids_are_legal_and_the_file_says_what_they_stand_for(tmp_path):
    net = binary({"shutter.a-b": 0.1, "shutter.a_b": 0.2, "9": 0.3}, {"it hangs?": (0.1, {"9": 0.5})})
    named = {one.of: one.name for one in general(net, "").variables if one.of}
    assert list(named.values()) == ["shutter_a_b", "shutter_a_b_2", "x9", "it_hangs"]
    assert list(named) == ["shutter.a-b", "shutter.a_b", "9", "it hangs?"]
    text = to_bif(net, "two\nlines")
    assert "// shutter_a_b_2 = shutter.a_b\n" in text
    assert "// it_hangs = it hangs?\n" in text
    assert text.startswith("// two lines\n")
    root = ElementTree.fromstring(to_xmlbif(net, "a & b"))
    said = {one.findtext("NAME"): one.findtext("PROPERTY") for one in root.iter("VARIABLE")}
    assert said["shutter_a_b_2"] == "id = shutter.a_b"
    assert read_back(tmp_path, to_xmlbif(net, "a & b"), "bifxml").size() == 6


def test_what_was_seen_goes_into_uais_second_file(tmp_path):
    net = binary({"A": 0.1, "B": 0.2}, {"F": (0.1, {"A": 0.5, "B": 0.6}), "G": (0.1, {"B": 0.9})})
    evidence = {"F": YES, "G": (0.3, 0.9)}
    model, seen = to_uai(net, evidence)
    made = read_back(tmp_path, model, "uai")
    count, *pairs = map(int, seen.split())
    assert count == len(pairs) / 2 == 2
    _, found = library.chances(
        made, {str(n): at for n, at in zip(pairs[::2], pairs[1::2], strict=True)}, ["0", "1"]
    )
    expected = posterior(net, evidence).faults
    assert [found["0"][1], found["1"][1]] == pytest.approx(list(expected.values()), abs=1e-6)
    assert to_uai(net)[1] == "0\n"
    with pytest.raises(ValueError, match="'H' is no sign here"):
        to_uai(net, {"H": NO})


def yes(name: str, parents: tuple[str, ...], *rows: float) -> Variable:
    """A variable of Asia: its chance of yes for each state of its parents, no first."""
    table = np.array([[1 - one, one] for one in rows]).reshape(*[2] * len(parents), 2)
    return Variable(name, name, ("no", "yes"), parents, table)


ASIA = GeneralNet(
    "Lauritzen and Spiegelhalter 1988",
    (
        yes("asia", (), 0.01),
        yes("smoke", (), 0.5),
        yes("tub", ("asia",), 0.01, 0.05),
        yes("lung", ("smoke",), 0.01, 0.1),
        yes("bronc", ("smoke",), 0.3, 0.6),
        yes("either", ("tub", "lung"), 0, 1, 1, 1),
        yes("xray", ("either",), 0.05, 0.98),
        yes("dysp", ("bronc", "either"), 0.1, 0.7, 0.8, 0.9),
    ),
)
ROWS = [
    ({}, (0.010400, 0.055000, 0.450000, 0.064828, 0.110290, 0.435971), 1),
    ({"dysp": "yes"}, (0.018845, 0.102759, 0.833967, 0.120536, 0.162098, 1), 0.43597060),
    ({"asia": "yes", "dysp": "yes"}, (0.087751, 0.099525, 0.811402, 0.182300, 0.219539, 1), 0.00450137),
    ({"xray": "yes", "dysp": "yes"}, (0.113933, 0.621253, 0.681869, 0.728725, 1, 1), 0.07067010),
    (
        {"asia": "yes", "smoke": "no", "xray": "yes", "dysp": "yes"},
        (0.632329, 0.126466, 0.458960, 0.752472, 1, 1),
        0.00029447,
    ),
    ({"xray": "yes", "dysp": "yes", "bronc": "yes"}, (0.085660, 0.576558, 1, 0.656221, 1, 1), 0.04818772),
]


@pytest.mark.parametrize(("seen", "states", "chance"), ROWS)
def test_asia(tmp_path, seen, states, chance):
    """
    The published net (decisions 2.3; seen): its causes have causes, so it is no net of faults and signs.

    What can be said of it is what the general form says, by elimination and read back from each format.
    """
    names = ("tub", "lung", "bronc", "either", "xray", "dysp")
    for name, expected in zip(names, states, strict=True):
        found = chances(ASIA, seen, name)
        assert found[0] == pytest.approx(chance, abs=1e-8)
        assert found[1][1] == pytest.approx(expected, abs=1e-6)
    for ending, text in (("bif", bif.written(ASIA)), ("bifxml", xmlbif.written(ASIA))):
        made = read_back(tmp_path, text, ending)
        _, read = library.chances(made, {one: int(it == "yes") for one, it in seen.items()}, names)
        assert [read[name][1] for name in names] == pytest.approx(states, abs=2e-6)


def test_asia_where_nothing_has_causes_but_what_is_fixed_is_a_net_of_faults_and_signs():
    """With asia and smoke known, tub, lung and bronc are faults; either is a sign of two of them."""
    net = binary({"tub": 0.05, "lung": 0.01, "bronc": 0.3}, {"either": (0.0, {"tub": 1.0, "lung": 1.0})})
    for seen, answer in (("yes", YES), ("no", NO)):
        found = posterior(net, {"either": answer}).faults
        for fault, here in found.items():
            expected = chances(ASIA, {"asia": "yes", "smoke": "no", "either": seen}, fault)[1][1]
            assert here == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("seed", range(8))
def test_elimination_on_what_is_exported_says_what_the_sweep_says(seed):
    rng = random.Random(seed)
    net = drawn(rng, faults=6, signs=5)
    made = general(net, "")
    seen = {sign: rng.randrange(len(node.leak)) for sign, node in net.signs.items()}
    hard = {s: tuple(float(n == at) for n in range(len(net.signs[s].leak))) for s, at in seen.items()}
    expected = posterior(net, hard)
    for fault, here in expected.faults.items():
        said = chances(
            made, {made.named(s).name: f"level{at}" for s, at in seen.items()}, made.named(fault).name
        )
        assert said[0] == pytest.approx(math.exp(expected.log_evidence), rel=1e-9)
        assert said[1][1] == pytest.approx(here, abs=1e-9)


def by_the_book(text: str) -> gum.BayesNet:
    """
    A UAI model as the format has it: the last of a table's variables is its own and runs fastest.

    The library's own reader sorts the parents, which only tables that take them in any order survive.
    """
    words = iter(text.split())
    assert next(words) == "BAYES"
    sizes = [int(next(words)) for _ in range(int(next(words)))]
    scopes = [[int(next(words)) for _ in range(int(next(words)))] for _ in range(int(next(words)))]
    made = gum.BayesNet()
    for n, size in enumerate(sizes):
        made.add(gum.LabelizedVariable(str(n), str(n), size))
    for *parents, own in scopes:
        for parent in parents:
            made.addArc(parent, own)
    for *parents, own in scopes:
        assert int(next(words)) == math.prod(sizes[n] for n in (*parents, own))
        for states in itertools.product(*(range(sizes[n]) for n in parents)):
            row = [float(next(words)) for _ in range(sizes[own])]
            made.cpt(own)[{str(n): at for n, at in zip(parents, states, strict=True)}] = row
    return made


@pytest.mark.parametrize(("ending", "which"), [("bif", 0), ("bifxml", 1), ("uai", 0)])
def test_a_family_with_its_story_reads_back_to_what_is_told_at_the_bench(tmp_path, whole, ending, which):
    """Also where part of the story is unknown, and a sign speaks for it."""
    causes = whole[which]
    told, denied = ["soaked-salt"], ["dropped"]
    net = general_family(causes, told, denied)
    text = {"bif": bif.written, "bifxml": xmlbif.written, "uai": uai.written}[ending](net)
    made = by_the_book(text) if ending == "uai" else read_back(tmp_path, text, ending)
    names = {one.of: str(n) if ending == "uai" else one.name for n, one in enumerate(net.variables) if one.of}
    rng = random.Random(11)
    speaking = [sign for sign, of in causes.signs.items() if of.tells_of][:2]
    evidence = {}
    for n, sign in enumerate([*speaking, *rng.sample(sorted(causes.signs.keys() - set(speaking)), 5)]):
        levels = len(causes.signs[sign].answers)
        evidence[sign] = tuple(float(at == (levels - 1 if n < 4 else 0)) for at in range(levels))
    expected = weigh(causes, Case(told=frozenset(told), denied=frozenset(denied), answers=evidence))
    soft = {names[sign]: [float(one) for one in seen] for sign, seen in evidence.items()}
    _, found = library.chances(made, soft, [names[fault] for fault in causes.faults])
    for fault, here in expected.chances.items():
        assert found[names[fault]][1] == pytest.approx(here, abs=1e-6)


def test_what_is_exported_of_a_family_with_its_story_holds_the_signs_as_likely(whole):
    causes = whole[0]
    net = general_family(causes, ["soaked-salt"], ["dropped"])
    signs = [sign for sign, of in causes.signs.items() if of.tells_of or of.off][:6]
    seen = {sign: n % len(causes.signs[sign].answers) for n, sign in enumerate(signs)}
    answers = {
        sign: tuple(float(n == at) for n in range(len(causes.signs[sign].answers)))
        for sign, at in seen.items()
    }
    case = Case(told=frozenset(["soaked-salt"]), denied=frozenset(["dropped"]), answers=answers)
    states = {net.named(sign).name: f"level{at}" for sign, at in seen.items()}
    by_elimination, _ = chances(net, states, net.named(next(iter(causes.faults))).name)
    assert by_elimination == pytest.approx(weigh(causes, case).evidence_p, rel=1e-9)
