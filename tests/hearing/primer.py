"""
Plain sentences put together by pattern, with their labels: what the scales must get right before all else.

They stand beside the labelled talk when weights are learned, and count little. They measure nothing.
"""

from __future__ import annotations

import random
import tomllib
from collections.abc import Iterator
from pathlib import Path

from hearing.narrations import Finding, Narration, Sentence, Work, parts_of

WORDS = tomllib.loads(Path(__file__).with_name("primer.toml").read_text("utf-8"))
#: Narrations of each family, and sentences of each.
NARRATIONS, SENTENCES = 8, 60
#: What the name of all of them begins with.
NAMED = "primer "

SAID = (
    "the {p} is {a}",
    "{p} {a}",
    "{p} is {a}",
    "{a} {p}",
    "the {p} looks {a}",
    "the {p}'s {a}",
    "and the {p} {a}",
)
SEEN = (
    "{n} on the {p}",
    "there's {n} on the {p}",
    "{p} has {n} on it",
    "{p}, {n}",
    "i can see {n} on the {p}",
)
SAID_NOT = ("the {p} isn't {a}", "{p} not {a}", "the {p} is not {a} at all")
SEEN_NOT = (
    "no {n} on the {p}",
    "no sign of {n} on the {p}",
    "there isn't any {n} on the {p}",
    "the {p} has no {n}",
)
GUESSED = (
    "might be the {p} that's {a}",
    "the {p} could be {a}",
    "{p} maybe {a}",
    "is the {p} {a}?",
    "i think the {p} is {a}",
)
CARRIED = ("it's {a}", "{a}", "this one is {a}", "and it's {a}", "looks {a}")
NOT_CARRIED = ("it isn't {a}", "not {a}")
TAKEN_UP = ("now the {p}", "the {p} next", "then there's the {p}", "{p}")
OF_ALL = (
    "these always have a {a} {p}",
    "nine out of ten of these have the {p} {a}",
    "on most of these the {p} is {a}",
)
NOT_OF_IT = ("if the {p} were {a} you'd feel it", "my back is {a}", "the mug is {a}")
PLANNED = (
    "i'll {w0} the {p}",
    "the {p} needs {w1}",
    "{p} wants {w1}",
    "{w0} the {p}",
    "have to {w0} the {p}",
)
DONE = ("i've {w2} the {p}", "{w2} the {p}", "the {p} has been {w2}")
#: What is said how often.
OFTEN = {
    "told": 3,
    "two": 1,
    "list": 1,
    "denied": 1,
    "denied_but": 1,
    "guessed": 1,
    "carried": 1,
    "remark": 1,
    "nothing": 1,
    "worked": 2,
}


def primer() -> tuple[Narration, ...]:
    """All of them, always the same."""
    families = (
        "folding-35-leaf-rangefinder",
        "twin-lens-reflex",
        "reflex-35-cloth",
        "folding-roll-front-cell",
        "compact-35-programmed-leaf",
    )
    return tuple(
        Narration(
            name=f"{NAMED}{family} {at}",
            family=family,
            half="dev",
            voice="by pattern",
            sentences=tuple(Maker(family, at).sentences()),
        )
        for family in families
        for at in range(NARRATIONS)
    )


class Maker:
    """Makes the sentences of one narration."""

    def __init__(self, family: str, seed: int) -> None:
        self._draw = random.Random(f"{family} {seed}")
        self._parts = parts_of(family)
        self._named: dict[str, set[str]] = {}
        for part in self._parts:
            for name in (part.name, *part.also):
                self._named.setdefault(name.lower(), set()).add(part.id)

    def sentences(self) -> Iterator[Sentence]:
        """Some of every pattern, one after another."""
        made: list[Sentence] = []
        while len(made) < SENTENCES:
            make = self._draw.choices(list(OFTEN), list(OFTEN.values()))[0]
            made += getattr(self, f"_{make}")()
        yield from made

    def _part(self) -> tuple[str, str]:
        """A part and a name that is only its own."""
        while True:
            part = self._draw.choice(self._parts)
            name = self._draw.choice((part.name, *part.also)).lower()
            if len(self._named[name]) == 1:
                return part.id, name.split("(")[0].split(",")[0].strip()

    def _words(self, table: str) -> tuple[str, str]:
        condition = self._draw.choice(list(WORDS[table]))
        return condition, self._draw.choice(WORDS[table][condition])

    def _finding(self, part: str, condition: str, *, denied: bool = False, guess: bool = False) -> Finding:
        return Finding(
            part=part, condition=condition, denied=denied, certainty="possible" if guess else "plain"
        )

    def _one(self, *, denied: bool = False) -> tuple[str, Finding]:
        part, name = self._part()
        if self._draw.random() < 0.4:
            condition, words = self._words("seen")
            pattern = self._draw.choice(SEEN_NOT if denied else SEEN)
        else:
            condition, words = self._words("said")
            while denied and condition == "fine":
                condition, words = self._words("said")
            pattern = self._draw.choice(SAID_NOT if denied else SAID)
        if denied:
            words = words.removeprefix("a ")
        return pattern.format(p=name, a=words, n=words), self._finding(part, condition, denied=denied)

    def _told(self) -> list[Sentence]:
        says, finding = self._one()
        return [Sentence(at_s=0.0, says=says, findings=(finding,))]

    def _denied(self) -> list[Sentence]:
        says, finding = self._one(denied=True)
        return [Sentence(at_s=0.0, says=says, findings=(finding,))]

    def _two(self) -> list[Sentence]:
        (one, first), (two, second) = self._one(), self._one()
        joined = self._draw.choice((" and ", ", ", " but ", " "))
        return _apart(f"{one}{joined}{two}", first, second)

    def _list(self) -> list[Sentence]:
        told = [(self._part(), self._words("said")) for _ in range(3)]
        says = " ".join(f"{name} {words}" for (_, name), (_, words) in told)
        return _apart(says, *(self._finding(part, condition) for (part, _), (condition, _) in told))

    def _denied_but(self) -> list[Sentence]:
        (one, first), (two, second) = self._one(denied=True), self._one()
        return _apart(f"{one} but {two}", first, second)

    def _guessed(self) -> list[Sentence]:
        (part, name), (condition, words) = self._part(), self._words("said")
        says = self._draw.choice(GUESSED).format(p=name, a=words)
        return [Sentence(at_s=0.0, says=says, findings=(self._finding(part, condition, guess=True),))]

    def _carried(self) -> list[Sentence]:
        (part, name), (condition, words) = self._part(), self._words("said")
        denied = condition != "fine" and self._draw.random() < 0.3
        says = self._draw.choice(NOT_CARRIED if denied else CARRIED).format(a=words)
        taken_up = self._draw.choice(TAKEN_UP).format(p=name)
        finding = self._finding(part, condition, denied=denied)
        return [Sentence(at_s=0.0, says=taken_up), Sentence(at_s=0.0, says=says, findings=(finding,))]

    def _remark(self) -> list[Sentence]:
        (_, name), (_, words) = self._part(), self._words("said")
        remark = self._draw.choice(OF_ALL).format(p=name, a=words)
        if self._draw.random() < 0.5:
            return [Sentence(at_s=0.0, says=remark, kind="remark")]
        says, finding = self._one()
        here = self._draw.choice((", but here ", " but on this one ", " and here "))
        return [Sentence(at_s=0.0, says=f"{remark}{here}{says}", findings=(finding,))]

    def _nothing(self) -> list[Sentence]:
        (_, name), (_, words) = self._part(), self._words("said")
        return [Sentence(at_s=0.0, says=self._draw.choice(NOT_OF_IT).format(p=name, a=words))]

    def _worked(self) -> list[Sentence]:
        (part, name), work = self._part(), self._draw.choice(list(WORDS["work"]))
        done = self._draw.random() < 0.5
        planned, needed, finished = WORDS["work"][work]
        says = self._draw.choice(DONE if done else PLANNED).format(p=name, w0=planned, w1=needed, w2=finished)
        return [Sentence(at_s=0.0, says=says, work=(Work(part=part, work=work, done=done),))]


def _apart(says: str, *findings: Finding) -> list[Sentence]:
    """A sentence of several findings; none where two of them are of one part."""
    if len({one.part for one in findings}) < len(findings):
        return []
    return [Sentence(at_s=0.0, says=says, findings=findings)]
