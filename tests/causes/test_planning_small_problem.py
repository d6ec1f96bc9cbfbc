"""
Few actions, solved exactly: against the worked numbers of the facts (decisions, 1.4), and against going
through every order, or every rule of what to do next, without any code in common.
"""

from __future__ import annotations

import itertools
import random

import pytest

from causes.small_problem import (
    Action,
    Chance,
    Choice,
    Place,
    Question,
    SmallProblem,
    best_strategy,
    greedy_sequence,
    one_cut_set,
    rolled_back,
)

EXACT = {"abs": 1e-9}


def perfect(name, cost, *causes, place=""):
    return Action(id=name, cost=cost, fixes=dict.fromkeys(causes, 1.0), place=place)


OVERLAPPING = SmallProblem(
    causes={"1": 0.20, "2": 0.25, "3": 0.40, "4": 0.15},
    actions=(perfect("A1", 1, "1", "2"), perfect("A2", 1, "2", "3"), perfect("A3", 1, "3", "4")),
)


def test_greedy_is_not_the_best_where_actions_overlap():
    assert greedy_sequence(OVERLAPPING) == (["A2", "A1", "A3"], pytest.approx(1.50, **EXACT))
    found = best_strategy(OVERLAPPING)
    assert (found.sequence(), found.cost) == (["A3", "A1"], pytest.approx(1.45, **EXACT))


CAUSES = {"a": 0.5, "b": 0.25, "c": 0.25}
WHICH = {"b": {"a": 0.5, "b": 1.0}, "c": {"a": 0.5, "c": 1.0}}


def test_the_published_strategy_with_a_question_costs_two():
    # Lin 2014, figure 2: A1; if it does not help the question; then the right one of A2 and A3
    asked = Chance(((0.5, 1.0), (0.5, 1.0)))
    after_a1 = Choice({"ask": (1.0, asked)})
    assert rolled_back(Choice({"A1": (1.0, Chance(((0.5, 0.0), (0.5, after_a1))))}))[0] == pytest.approx(
        2.0, abs=1e-12
    )


def test_a_question_is_asked_where_it_pays_and_not_where_it_does_not():
    actions = tuple(perfect(f"fix {one}", 1, one) for one in CAUSES)
    question = Question(id="which", cost=1, says=WHICH)
    same = best_strategy(SmallProblem(causes=CAUSES, actions=actions, questions=(question,)))
    assert (same.sequence(), same.cost) == (["fix a", "fix b", "fix c"], pytest.approx(1.75, **EXACT))
    dear = (actions[0], perfect("fix b", 10, "b"), perfect("fix c", 10, "c"))
    found = best_strategy(SmallProblem(causes=CAUSES, actions=dear, questions=(question,)))
    # 1 + 1/2 (1 + 10): the question spares the wrong one of both
    assert (found.does, found.then[""].does) == ("fix a", "which")
    assert found.cost == pytest.approx(6.5, **EXACT)
    assert {answer: then.does for answer, then in found.then[""].then.items()} == {"b": "fix b", "c": "fix c"}


def test_cut_sets():
    down = {"1": 0.03, "2": 0.045, "3": 0.065, "4": 0.035, "5": 0.05}
    cuts = [frozenset(pair) for pair in ("12", "23", "34", "45")]
    chances = one_cut_set(down, cuts)

    def fixes(component):
        return {str(n): float(component in cut) for n, cut in enumerate(cuts)}

    causes = {str(n): chances[cut] for n, cut in enumerate(cuts)}
    # the paper prints .529, .624, .486 and 1.47; its data give what the note recomputed
    efficient = [sum(causes[c] * f for c, f in fixes(one).items()) for one in "234"]
    assert efficient == pytest.approx([0.5195, 0.6240, 0.4805], abs=5e-5)
    assert efficient == pytest.approx([0.529, 0.624, 0.486], abs=0.02)
    problem = SmallProblem(
        causes=causes, actions=tuple(Action(id=f"A{one}", cost=1, fixes=fixes(one)) for one in "12345")
    )
    found = best_strategy(problem)
    assert found.sequence() == ["A2", "A4"]
    assert found.cost == pytest.approx(1.47, abs=0.02)
    order, cost = greedy_sequence(problem)  # A3, A4, then A1 or A2, which are worth the same then
    assert (order[:2], cost) == (["A3", "A4"], pytest.approx(1.53, abs=0.02))


A_AND_K = (
    perfect("a", 14, "a"),
    *(perfect(one, 5, one, place="inside") for one in ("k1", "k2", "k3")),
)
A_AND_K_CAUSES = {"a": 0.30, "k1": 0.25, "k2": 0.25, "k3": 0.20}


def test_what_is_opened_once_is_opened_first():
    found = best_strategy(
        SmallProblem(causes=A_AND_K_CAUSES, actions=A_AND_K, places={"inside": Place(open=12)})
    )
    assert (found.sequence(), found.cost) == (["k1", "k2", "k3", "a"], pytest.approx(27.45, **EXACT))


def test_what_must_be_closed_to_try_is_done_all_together():
    found = best_strategy(
        SmallProblem(causes=A_AND_K_CAUSES, actions=A_AND_K, places={"inside": Place(open=12, close=8)})
    )
    assert found.sequence() == ["a", "k1", "k2", "k3", "close"]
    assert found.cost == pytest.approx(38.5, **EXACT)


def test_going_to_and_fro_is_spared():
    found = best_strategy(
        SmallProblem(
            causes={"x1": 0.30, "y1": 0.28, "x2": 0.22, "y2": 0.20},
            actions=tuple(perfect(one, 5, one, place=one[0]) for one in ("x1", "y1", "x2", "y2")),
            moving=6,
        )
    )
    assert (found.sequence(), found.cost) == (["x1", "x2", "y1", "y2"], pytest.approx(14.78, **EXACT))


def test_service_is_called_as_the_exact_subset_has_it():
    p, look = (0.10, 0.60, 0.30), (3, 17, 2)  # looks of the counterexample in 1.2
    problem = SmallProblem(
        causes={str(n): one for n, one in enumerate(p, 1)},
        actions=tuple(perfect(str(n), one, str(n)) for n, one in enumerate(look, 1)),
        service=100,
    )
    every = []
    for k in range(4):
        for order in itertools.permutations(range(3), k):
            left, cost = 1.0, 0.0
            for n in order:
                cost += left * look[n]
                left -= p[n]
            every.append(cost + left * 100)
    assert best_strategy(problem).cost == pytest.approx(min(every), **EXACT)


def brute(belief, cost_of, fixes, says, done=frozenset()):
    """The least expected cost by trying every next step, on the chances as they are; shares no code."""
    if not belief:
        return 0.0
    best = float("inf")
    for name, cost in cost_of.items():
        if name in done:
            continue
        if name in says:
            after = 0.0
            for of in says[name].values():
                joint = {cause: p * of.get(cause, 0.0) for cause, p in belief.items() if of.get(cause)}
                if total := sum(joint.values()):
                    then = {cause: p / total for cause, p in joint.items()}
                    after += total * brute(then, cost_of, fixes, says, done | {name})
        else:
            joint = {
                c: p * (1 - fixes[name].get(c, 0.0)) for c, p in belief.items() if fixes[name].get(c, 0.0) < 1
            }
            total = sum(joint.values())
            after = 0.0
            if total > 1e-12:
                then = {cause: p / total for cause, p in joint.items()}
                after = total * brute(then, cost_of, fixes, says, done | {name})
        best = min(best, cost + after)
    return best


def drawn(rng):
    """A device of four causes, four actions that overlap, the last sure for all, and a question."""
    causes = {one: rng.random() for one in "wxyz"}
    total = sum(causes.values())
    causes = {one: p / total for one, p in causes.items()}
    fixes = {f"A{n}": {c: rng.choice([0.6, 0.9, 1.0]) for c in rng.sample("wxyz", 2)} for n in range(3)}
    fixes["all"] = dict.fromkeys("wxyz", 1.0)
    cost = {name: rng.uniform(1, 9) for name in fixes} | {
        "all": rng.uniform(9, 25),
        "ask": rng.uniform(0.1, 2),
    }
    yes = {c: rng.choice([0.05, 0.5, 0.95]) for c in "wxyz"}
    says = {"ask": {"yes": yes, "no": {c: 1 - p for c, p in yes.items()}}}
    return causes, cost, fixes, says


def test_the_best_strategy_is_the_best_of_all():
    rng = random.Random(3)
    asked = 0
    for _ in range(40):
        causes, cost, fixes, says = drawn(rng)
        problem = SmallProblem(
            causes=causes,
            actions=tuple(Action(id=name, cost=cost[name], fixes=of) for name, of in fixes.items()),
            questions=(Question(id="ask", cost=cost["ask"], says=says["ask"]),),
        )
        found = best_strategy(problem)
        assert found.cost == pytest.approx(brute(causes, cost, fixes, says), rel=1e-9)
        asked += "ask" in found.sequence()
    assert asked > 3  # the questions matter


def test_neighbours_of_the_best_sequence_stand_in_the_order_of_their_efficiency():
    # SACSO, proposition 1: necessary for the best, though not enough
    rng = random.Random(4)
    for _ in range(40):
        causes, cost, fixes, _ = drawn(rng)
        actions = tuple(Action(id=name, cost=cost[name], fixes=of) for name, of in fixes.items())
        order = best_strategy(SmallProblem(causes=causes, actions=actions)).sequence()
        left = dict(causes)
        for one, other in itertools.pairwise(order):
            rate = {n: sum(left[c] * fixes[n].get(c, 0) for c in left) / cost[n] for n in (one, other)}
            assert rate[one] >= rate[other] - 1e-9
            left = {c: p * (1 - fixes[one].get(c, 0.0)) for c, p in left.items()}


def test_greedy_stays_within_four_times_the_best():
    # Lin 2014, theorem 1
    rng = random.Random(5)
    worst = 1.0
    for _ in range(60):
        causes, cost, fixes, _ = drawn(rng)
        problem = SmallProblem(
            causes=causes,
            actions=tuple(Action(id=name, cost=cost[name], fixes=of) for name, of in fixes.items()),
        )
        ratio = greedy_sequence(problem)[1] / best_strategy(problem).cost
        worst = max(worst, ratio)
        assert 1 - 1e-9 <= ratio <= 4
    assert worst > 1.01  # it is not always the best, or this shows nothing


def test_a_cause_that_nothing_puts_right_is_told():
    stuck = SmallProblem(causes={"a": 0.5, "b": 0.5}, actions=(perfect("fix a", 1, "a"),))
    with pytest.raises(ValueError, match="not every cause can be put right"):
        best_strategy(stuck)


def test_chances_that_do_not_come_to_one_are_told():
    with pytest.raises(ValueError, match="come to 1"):
        SmallProblem(causes={"a": 0.5}, actions=())
