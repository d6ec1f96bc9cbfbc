"""
Scales and choices: the same probabilities as scikit-learn's logistic regression (its `predict_proba`), from
which they are learned; and what a file of weights must hold.
"""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from sklearn.linear_model import LogisticRegression

from pegwood.hearing import Line, NamedPart, hear, vocabulary
from pegwood.hearing.weighing import BadWeights, weights_of
from pegwood.hearing.weighing.about import About
from pegwood.hearing.weighing.choosing import chosen
from pegwood.hearing.weighing.claims import Claim, Cue
from pegwood.hearing.weighing.weights import Choice, Scale, read_weights, rivals

from .fitting import Laid, Row
from .teaching import CueNumbers, digest, said_by_people, written
from .test_hearing import PARTS

RNG = np.random.default_rng(4)
SIGNS = [f"sign {at}" for at in range(12)]
SHOWN = RNG.random((200, len(SIGNS))) < 0.3
STATES = np.where(SHOWN[:, 0], "bent", np.where(SHOWN[:, 1] & SHOWN[:, 2], "worn", "none"))
ROWS = [
    Row([sign for sign, there in zip(SIGNS, row, strict=True) if there], bool(row[0]), str(at % 7), 1.0)
    for at, row in enumerate(SHOWN)
]


def test_a_scale_weighs_as_the_library_it_was_learned_with():
    scale = Laid.of(ROWS).scale([bool(one) for one in SHOWN[:, 3] | SHOWN[:, 4]], 1.0)
    library = LogisticRegression(C=1.0, solver="liblinear").fit(SHOWN, SHOWN[:, 3] | SHOWN[:, 4])
    wanted = library.predict_proba(SHOWN)[:, 1]
    found = [scale.probability(scale.sum(row.signs)) for row in ROWS]
    assert (
        np.abs(np.array(found) - wanted).max() < 0.02
    )  # weights are kept to three places, and none below 0.05


def test_a_choice_weighs_as_the_library_it_was_learned_with():
    choice = Laid.of(ROWS).choice(list(STATES), 1.0, least=0.0)
    library = LogisticRegression(C=1.0).fit(SHOWN, STATES)
    wanted = library.predict_proba(SHOWN)
    for row, shares in zip(ROWS, wanted, strict=True):
        found = choice.probabilities(row.signs)
        assert sum(found.values()) == pytest.approx(1.0)
        assert list(found.values()) == pytest.approx(shares, abs=0.01)
    assert np.abs(choice.shares([row.signs for row in ROWS]) - wanted).max() < 0.01


def test_of_cues_that_tell_one_thing_or_nothing_a_scale_of_rivals_is_the_librarys_logistic_regression():
    """With one row a cue, conditional logistic regression is the plain one."""
    true = SHOWN[:, 3] | SHOWN[:, 4]
    scale = Laid.of(ROWS).rivals([bool(one) for one in true], list(range(len(ROWS))), 1.0)
    library = LogisticRegression(C=1.0, solver="newton-cholesky").fit(SHOWN, true)
    wanted = library.predict_proba(SHOWN)[:, 1]
    found = [rivals([scale.level + scale.sum(row.signs)])[0] for row in ROWS]
    assert np.abs(np.array(found) - wanted).max() < 0.02


def test_a_choice_between_a_row_and_itself_shares_the_probability_that_one_row_has_alone():
    """The other end of conditional logistic regression: rivals that are alike share what one would have."""
    rows = [row for row in ROWS for _ in range(2)]
    cues = [at // 2 for at in range(len(rows))]
    true = [row.true for row in rows]
    scale = Laid.of(rows).rivals(true, cues, 1.0)
    library = LogisticRegression(C=1.0, solver="newton-cholesky").fit(SHOWN, SHOWN[:, 0])
    wanted = library.predict_proba(SHOWN)[:, 1]
    found = [sum(rivals([scale.level + scale.sum(row.signs)] * 2)) for row in ROWS]
    assert np.abs(np.array(found) - wanted).max() < 0.02


def test_rivals_leave_room_for_none_of_them():
    assert rivals([]) == []
    assert rivals([0.0, 0.0, 0.0]) == pytest.approx([0.25] * 3)
    assert rivals([800.0, 0.0]) == pytest.approx([1.0, 0.0])


def test_rivals_that_differ_by_what_they_are_alone_are_as_likely_as_they_are_often():
    """With a constant for each rival the likeliest weights give back the counts: a closed form."""
    told = ["one"] * 50 + ["other"] * 30 + ["none"] * 20
    rows = [
        Row([f"is {name}"], name == right, str(at % 7), 1.0)
        for at, right in enumerate(told)
        for name in ("one", "other")
    ]
    cues = [at for at in range(len(told)) for _ in range(2)]
    scale = Laid.of(rows).rivals([row.true for row in rows], cues, 1e4)
    found = rivals([scale.level + scale.sum([f"is {name}"]) for name in ("one", "other")])
    assert found == pytest.approx([0.5, 0.3], abs=0.01)  # a weight below 0.05 is left out


def test_among_the_parts_of_a_family_one_is_what_it_is_about_whatever_else_there_is():
    choice = Choice({"a.pawl": 0.0, "b.bellows": 0.0, "a.spring": 0.0}, {"click": {"a.pawl": 2.0}})
    parts = [NamedPart(id=one, name=one) for one in ("a.spring", "a.unheard-of", "a.pawl")]
    clicks, silent = About(choice, parts).chances([["click"], []])
    assert clicks.of == pytest.approx({2: 0.8808, 0: 0.1192}, abs=1e-4)  # 1 / (1 + exp(-2))
    assert clicks.likeliest == (2, 0)
    assert silent.of == pytest.approx({0: 0.5, 2: 0.5})
    others = [NamedPart(id=f"c.{at}", name="unheard of") for at in range(9)]
    assert About(choice, [*parts, *others]).chances([["click"]])[0].likeliest == ()
    assert About(Choice({}, {}), parts).chances([["click"]])[0].likeliest == ()


def test_a_sign_of_one_narration_alone_is_not_learned():
    rows = [*ROWS, Row(["seen once"], True, "0", 1.0), Row(["seen once"], True, "0", 1.0)]
    assert "seen once" not in Laid.of(rows).shown


def test_the_words_of_a_cue_that_nobody_said_are_not_kept():
    scale = Scale(0.1, {"said clean": 1.0, "said cleen": 2.0, "said new seal": 3.0, "how named": 4.0})
    kept = said_by_people(scale, {"clean", "new", "seal"})
    assert kept == Scale(0.1, {"said clean": 1.0, "said new seal": 3.0, "how named": 4.0})


def test_of_a_name_that_may_be_two_parts_as_well_none_is_chosen():
    cue = Cue(0, 1)
    one, other = (Claim(cue, part, "bent", "open", open=2) for part in (0, 1))
    assert chosen([(0.5, one), (0.45, other)], 0.25) == []
    assert chosen([(0.6, one), (0.1, other)], 0.25) == [(0.6, one)]
    assert chosen([(0.2, one)], 0.25) == []


def test_parts_named_together_are_as_likely_as_all_of_them():
    cue = Cue(0, 1)
    one, other, third = (Claim(cue, part, "bent", "together") for part in (0, 1, 2))
    assert chosen([(0.3, one), (0.3, other), (0.05, third)], 0.5) == [(0.6, one), (0.6, other)]


def test_weights_are_written_as_they_are_read():
    weights = weights_of("en")
    assert weights is not None
    assert read_weights(written(weights), "again") == weights


def test_weights_are_learned_from_the_labelled_talk_as_it_stands():
    weights = weights_of("en")
    assert weights is not None
    assert weights.learned_from == digest(), "labels were changed since: run tools/teach-hearing"


def test_each_cue_is_numbered_anew_though_those_before_are_gone():
    numbers = CueNumbers()
    # a cue that is made when the one before is gone may have its very id
    assert [numbers.of(Cue(at, at + 1)) for at in range(50)] == list(range(50))
    kept = Cue(0, 1)
    assert [numbers.of(kept) for _ in range(3)] == [50] * 3


@pytest.mark.parametrize(
    ("change", "about"),
    [
        (lambda table: table.pop("meant"), "expected remark"),
        (lambda table: table.update(learned_from=1), "learned_from: expected a text"),
        (lambda table: table.update(meant_from=2.0), "meant_from: expected a number between 0 and 1"),
        (lambda table: table.update(denied={"level": 0.0}), "denied: expected level and signs"),
    ],
)
def test_a_file_of_weights_that_is_not_whole_is_refused_in_one_line(change, about):
    weights = weights_of("en")
    assert weights is not None
    table = json.loads(written(weights))
    change(table)
    with pytest.raises(BadWeights, match=about) as refused:
        read_weights(json.dumps(table), "xx.weights.json")
    assert str(refused.value).startswith("xx.weights.json: ")
    assert "\n" not in str(refused.value)


def test_a_language_without_weights_is_heard_by_its_rules_alone():
    lines = [Line(words="the left strut is bent")]
    alone = hear(lines, PARTS, replace(vocabulary(), language="xx"))
    assert [(one.part.id, one.condition) for one in alone.findings] == [("door.left", "bent")]


def test_an_empty_choice_and_scale_say_nothing():
    assert Choice({}, {}).probabilities(["sign"]) == {}
    assert Scale(0.0, {}).probability(0.0) == 0.5


@pytest.mark.parametrize(
    "said",
    [
        "these always crack at the edge but on this one the left strut is cracked",
        "nine out of ten of these have a rusty pawl, but here the left strut is cracked",
    ],
)
def test_what_is_told_of_this_camera_beside_a_remark_is_kept(said):
    told = hear([Line(words=said)], PARTS, vocabulary())
    assert [(one.part.id, one.condition) for one in told.findings] == [("door.left", "cracked")]
    assert len(told.remarks) == 1


def test_work_on_this_camera_beside_a_remark_is_kept():
    said = "nine out of ten of these have a rusty pawl, but here i've straightened the left strut"
    told = hear([Line(words=said)], PARTS, vocabulary())
    assert [(one.part.id, one.work, one.done) for one in told.work] == [("door.left", "straighten", True)]
    assert len(told.remarks) == 1
