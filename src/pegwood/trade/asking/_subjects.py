"""Who answers what: each kind of question looks at the words, and the first that can, answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pegwood.trade.answers import Answer
from pegwood.trade.asking import _figures, _things
from pegwood.trade.asking._vocabulary import vocabulary
from pegwood.trade.asking._words import JOINING, Words, split, take_apart
from pegwood.trade.names import UnknownWord
from pegwood.trade.reference import Reference

Answers = Callable[[Reference, Words], Answer | None]


@dataclass(frozen=True)
class Subject:
    """
    A kind of question.

    Attributes
    ----------
    topics : tuple of str
        Words that announce it: with one of them the other subjects are not asked.
    answers : callable
        Gives the answer, or None where the words ask something else.
    announced : bool
        Whether it is asked only where its word stands there.
    figures : bool
        Whether it has a use for figures; else it is not asked with any: none is passed over in silence.
    """

    topics: tuple[str, ...]
    answers: Answers
    announced: bool = False
    figures: bool = False


CELL = _things.alone("cell", "pegwood.trade.cells:tell_cell")
HAZARD = _things.alone("hazard", "pegwood.trade.safety:tell_hazard")
METHOD = _things.alone("method", "pegwood.trade.agents:tell_method")

#: In the order in which they are asked.
SUBJECTS: tuple[Subject, ...] = (
    Subject(("torque", "tight", "tighten"), _figures.torque),
    Subject(_figures.SCREW, _figures.thread, figures=True),
    Subject(("capacitor",), _figures.capacitor, figures=True),
    Subject(("spring",), _figures.spring, announced=True, figures=True),
    Subject(("shim", "shims"), _figures.shim, announced=True, figures=True),
    Subject(("fit", "clearance"), _figures.fit, announced=True, figures=True),
    Subject(("film",), _figures.film, figures=True),
    Subject(("cell", "battery"), CELL),
    Subject(("cell", "battery"), _things.instead),
    Subject(("on",), _things.agent_on),
    Subject(("mix", "mixed"), _things.mixture),
    Subject(("couple",), _things.couple),
    Subject(("winter", "cold"), _things.winter, announced=True, figures=True),
    Subject(("oil", "grease", "lubricant"), _things.lubricant, figures=True),
    Subject(("lubricate", "lubrication", "oil", "grease", "lubricant"), _things.place),
    Subject(("glue", "stick"), _things.join, announced=True),
    Subject(("glue",), _things.glue, figures=True),
    Subject(("covering",), _things.covering, announced=True),
    Subject(("safety", "danger", "label"), _things.safety, announced=True),
    Subject(("hazard", "caution"), HAZARD, announced=True),
    Subject((), _figures.rust, figures=True),
    Subject(("metal", "index"), _things.metal, announced=True),
    Subject(("clean", "cleaning"), _things.clean, announced=True),
    Subject(("corrosion",), _things.corrosion),
    Subject(("material",), _things.material),
    Subject(("agent",), _things.agent),
    Subject((), METHOD),
    Subject((), _things.environment, figures=True),
    Subject((), _things.safety),
    Subject((), HAZARD),
    Subject((), _things.several),
    Subject((), _things.unclear, figures=True),
)
TOPICS = {word: word for subject in SUBJECTS for word in subject.topics if word not in {"on"}}
EXAMPLES = (
    "brass + steel, salt",
    "naphtha on shellac, nickel plate",
    "1.7 0.35",
    "clean brass, balsam, selenium cell",
    "green wax on brass",
    "bleach + vinegar",
    "mineral oil VG 32 winter",
    "helicoid",
    "glue leather aluminium",
    "torque M2x0.4 in brass",
    "spring 0.3 3.3 10",
    "shim 0.37",
    "330 uF 330 V",
    "MR9",
    "120",
    "f/5.6 1/60",
)


def ask(reference: Reference, question: str) -> Answer:
    """
    The answer to a question in plain words.

    Raises
    ------
    ValueError
        In one line: a word that no table knows, with the nearest ones; or words that ask nothing together.
    """
    if told := _figures.markings(reference, question):
        return told
    try:
        words = take_apart(question, vocabulary(reference), TOPICS, _figures.UNITS)
    except UnknownWord as unknown:
        if told := _look(reference, question):
            return told
        raise unknown from None
    for subject in SUBJECTS:
        wanted = words.topic in subject.topics or not (words.topic or subject.announced)
        wanted = wanted and (subject.figures or not words.figures)
        if wanted and (told := subject.answers(reference, words)):
            return told
    if words.named and words.figures:
        raise ValueError(
            f"{question!r}: nothing here takes the figure {words.figures[0].value:g}. Ask without it; an "
            "agent is told at the strength that stands with it, and a stronger one does more harm."
        )
    raise ValueError(f"{question!r}: {_lacks(words)}")


def _lacks(words: Words) -> str:
    """Why known words together ask nothing."""
    if words.topic in _figures.SCREW or (words.figures and not words.named):
        return "a screw is known by its outside diameter and its pitch, both in mm, as '1.7 0.35'."
    if words.of("agent") and len(words.named) > 1:
        return "an agent is asked on a material, or with another agent, as 'acetone on celluloid'."
    return f"each word is known, together they ask nothing. Try '{EXAMPLES[0]}'."


def _look(reference: Reference, question: str) -> Answer | None:
    """What was seen, in words of no table's ("green wax on brass"), if each of them belongs to some look."""
    from pegwood.trade.metals import corrosion_seen, tell_corrosion

    try:
        for word in split(question):
            if word not in JOINING:
                corrosion_seen(reference, word)
        return tell_corrosion(reference, question)
    except ValueError:
        return None
