"""
Troubleshooting of few actions, solved exactly: what to do or ask next, whatever the answers.

One of several causes is there. An action may put right several of them, each more or less surely; it may lie
in a place that is opened once, or that must be closed again before anybody sees whether the device works;
going from one place to another may cost something. A question tells causes apart and repairs nothing. Every
state (what was done, answered, lies open) is worked out once, an AND/OR search with memory. Exact where
greedy rules are not: dependent actions (NP-hard in general: Jensen and others 2001), questions, costs that
depend on what came before (Vomlelova 2003).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

#: So many actions and questions together are gone through.
MOST_SOLVED = 12
NOTHING = 1e-12


@dataclass(frozen=True, kw_only=True)
class Action:
    """
    Something that may put the device right.

    Attributes
    ----------
    id : str
    cost : float
    fixes : mapping of str to float
        By cause: how surely, [1].
    place : str
        Where it is done; empty for outside.
    """

    id: str
    cost: float
    fixes: Mapping[str, float]
    place: str = ""


@dataclass(frozen=True, kw_only=True)
class Question:
    """Something that tells causes apart: by answer, by cause, how often it is given, [1]."""

    id: str
    cost: float
    says: Mapping[str, Mapping[str, float]]
    place: str = ""


@dataclass(frozen=True, kw_only=True)
class Place:
    """What it costs to open, and, where it must be closed before the device can be tried, to close."""

    open: float = 0.0
    close: float | None = None


@dataclass(frozen=True, kw_only=True)
class SmallProblem:
    """
    A device with one cause.

    Attributes
    ----------
    causes : mapping of str to float
        Chance of each, [1]; 1 together.
    actions : tuple of Action
    questions : tuple of Question
    places : mapping of str to Place
        What is not there is open.
    moving : float
        What it costs to do something at another place than the last.
    service : float, optional
        What it costs to give it out of hand, at any time.

    Raises
    ------
    ValueError
        If chances cannot be, or there is too much to be gone through.
    """

    causes: Mapping[str, float]
    actions: tuple[Action, ...]
    questions: tuple[Question, ...] = ()
    places: Mapping[str, Place] = field(default_factory=dict)
    moving: float = 0.0
    service: float | None = None

    def __post_init__(self) -> None:
        if abs(math.fsum(self.causes.values()) - 1) > 1e-9 or min(self.causes.values()) < 0:
            raise ValueError("the chances of the causes must be 0 or more and come to 1 together.")
        if (count := len(self.actions) + len(self.questions)) > MOST_SOLVED:
            raise ValueError(
                f"{count} actions and questions are too many to go through. Expected up to {MOST_SOLVED}."
            )


@dataclass(frozen=True)
class Strategy:
    """
    What to do next, and what then.

    Attributes
    ----------
    does : str
        An action's or question's id; ``"close"`` to try the device, ``"service"``, or empty: nothing is left.
    cost : float
        Expected from here on.
    then : mapping of str to Strategy
        By answer; of an action under ``""``, if the device still does not work.
    """

    does: str
    cost: float
    then: Mapping[str, Strategy] = field(default_factory=dict)

    def sequence(self) -> list[str]:
        """What is done one after the other as long as nothing helps; ends at a question."""
        found, at = [], self
        while at.does:
            found.append(at.does)
            if set(at.then) != {""}:
                break
            at = at.then[""]
        return found


@dataclass(frozen=True)
class _State:
    """Where one is: what was done and asked, the causes' weights, what was put right unseen, what is open."""

    done: frozenset[str]
    weights: tuple[float, ...]
    unseen: float
    opened: frozenset[str]
    here: str | None

    @property
    def mass(self) -> float:
        return math.fsum(self.weights) + self.unseen


def best_strategy(problem: SmallProblem) -> Strategy:
    """
    The strategy of least expected cost.

    Raises
    ------
    ValueError
        If a cause is left that nothing puts right, and there is no service.
    """
    solver = _Solver(problem)
    start = _State(frozenset(), tuple(problem.causes.values()), 0.0, frozenset(), None)
    found = solver.best(start)
    if math.isinf(found.cost):
        raise ValueError("not every cause can be put right. Give an action for each, or a cost of service.")
    return found


def greedy_sequence(problem: SmallProblem) -> tuple[list[str], float]:
    """
    Actions by their efficiency, chance of putting it right for each unit of cost, brought up to date after
    each (SACSO): within a factor of four of the best for one cause, fixed costs and no questions (Lin 2014).
    """
    left, ahead = dict(problem.causes), list(problem.actions)
    order: list[str] = []
    cost = 0.0
    while ahead and (mass := math.fsum(left.values())) > NOTHING:
        best = max(ahead, key=lambda one: math.fsum(left[c] * f for c, f in one.fixes.items()) / one.cost)
        cost += mass * best.cost
        left = {cause: weight * (1 - best.fixes.get(cause, 0.0)) for cause, weight in left.items()}
        order.append(best.id)
        ahead.remove(best)
    if (mass := math.fsum(left.values())) > NOTHING:
        cost += mass * (math.inf if problem.service is None else problem.service)
    return order, cost


class _Solver:
    """Costs are of the states' weights as they are, which do not come to one: nothing is divided."""

    def __init__(self, problem: SmallProblem) -> None:
        self.problem = problem
        self.causes = list(problem.causes)
        self.kept: dict[_State, Strategy] = {}

    def best(self, state: _State) -> Strategy:
        """The cheapest from a state; its cost is of the state's weight."""
        if math.fsum(state.weights) <= NOTHING and state.unseen <= NOTHING:
            return Strategy("", 0.0)
        if (kept := self.kept.get(state)) is None:
            kept = min(self._options(state), key=lambda one: one.cost, default=Strategy("", math.inf))
            self.kept[state] = kept
        return kept

    def _options(self, state: _State) -> Iterable[Strategy]:
        problem = self.problem
        untried = any(self._closes(place) for place in state.opened)
        if problem.service is not None:
            yield Strategy("service", problem.service * state.mass)
        if untried:
            yield self._tried(state)
        for action in problem.actions:
            if action.id not in state.done:
                yield self._done(state, action)
        for question in problem.questions:
            if question.id not in state.done and not untried:
                yield self._asked(state, question)

    def _closes(self, place: str) -> bool:
        return place in self.problem.places and self.problem.places[place].close is not None

    def _gone(self, state: _State, place: str) -> tuple[float, _State]:
        """What it costs to get to a place."""
        cost = self.problem.moving if state.here not in (None, place) else 0.0
        if place in self.problem.places and place not in state.opened:
            cost += self.problem.places[place].open
            state = replace(state, opened=state.opened | {place})
        return cost * state.mass, replace(state, here=place)

    def _done(self, state: _State, action: Action) -> Strategy:
        cost, then = self._gone(state, action.place)
        cost += action.cost * state.mass
        fixes = [action.fixes.get(cause, 0.0) for cause in self.causes]
        right = math.fsum(weight * by for weight, by in zip(then.weights, fixes, strict=True))
        weights = tuple(_rounded(w * (1 - by)) for w, by in zip(then.weights, fixes, strict=True))
        seen_at_once = not any(self._closes(place) for place in then.opened)
        then = replace(
            then,
            done=then.done | {action.id},
            weights=weights,
            unseen=0.0 if seen_at_once else _rounded(then.unseen + right),
        )
        after = self.best(then)
        return Strategy(action.id, cost + after.cost, {"": after})

    def _tried(self, state: _State) -> Strategy:
        """Closed, and tried whether it works."""
        closing = [place for place in state.opened if self._closes(place)]
        cost = math.fsum(self.problem.places[place].close or 0.0 for place in closing) * state.mass
        after = self.best(replace(state, unseen=0.0, opened=state.opened - set(closing)))
        return Strategy("close", cost + after.cost, {"": after})

    def _asked(self, state: _State, question: Question) -> Strategy:
        cost, then = self._gone(state, question.place)
        cost += question.cost * state.mass
        done = then.done | {question.id}
        after = {}
        for answer, says in question.says.items():
            weights = tuple(
                _rounded(w * says.get(cause, 0.0)) for cause, w in zip(self.causes, then.weights, strict=True)
            )
            after[answer] = self.best(replace(then, done=done, weights=weights))
        return Strategy(question.id, cost + math.fsum(one.cost for one in after.values()), after)


def _rounded(weight: float) -> float:
    """The same weight, whichever way it was come by, is the same state."""
    return 0.0 if weight <= NOTHING else float(f"{weight:.12g}")


def one_cut_set(down: Mapping[str, float], cut_sets: Sequence[frozenset[str]]) -> dict[frozenset[str], float]:
    """
    The chance of each minimal cut set to be the one that is down, when exactly one is.

    Parameters
    ----------
    down : mapping of str to float
        Chance of each component to be down, independently, [1].
    cut_sets : sequence of frozenset of str
        The system is down when all components of one of them are.
    """
    found = dict.fromkeys(cut_sets, 0.0)
    for state in itertools.product((False, True), repeat=len(down)):
        broken = {one for one, is_down in zip(down, state, strict=True) if is_down}
        if len(cut := [one for one in cut_sets if one <= broken]) == 1:
            found[cut[0]] += math.prod(
                p if is_down else 1 - p for p, is_down in zip(down.values(), state, strict=True)
            )
    total = math.fsum(found.values())
    return {one: chance / total for one, chance in found.items()}


@dataclass(frozen=True)
class Choice:
    """One does what costs least: by name a cost and what follows."""

    options: Mapping[str, tuple[float, Node]]


@dataclass(frozen=True)
class Chance:
    """What comes comes: a chance and what follows."""

    branches: tuple[tuple[float, Node], ...]


Node = Choice | Chance | float


def rolled_back(node: Node) -> tuple[float, tuple[str, ...]]:
    """The expected cost of a decision tree, and what is chosen first, and after it as long as it is sure."""
    if isinstance(node, Chance):
        return math.fsum(chance * rolled_back(then)[0] for chance, then in node.branches), ()
    if isinstance(node, Choice):
        found = {}
        for name, (cost, then) in node.options.items():
            after, names = rolled_back(then)
            found[name] = (cost + after, (name, *names))
        return min(found.values())
    return node, ()
