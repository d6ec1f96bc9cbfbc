"""Who answers what: each kind of question looks at the words, and the first that can, answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pegwood.trade.answers import Answer
from pegwood.trade.asking._vocabulary import vocabulary
from pegwood.trade.asking._words import Words, take_apart
from pegwood.trade.reference import Reference

Answers = Callable[[Reference, Words], Answer | None]


@dataclass(frozen=True)
class Subject:
    """
    A kind of question.

    Attributes
    ----------
    name : str
        What it is about.
    topics : tuple of str
        Words that announce it: with one of them the other subjects are not asked.
    answers : callable
        Gives the answer, or None where the words ask something else.
    """

    name: str
    topics: tuple[str, ...]
    answers: Answers


SUBJECTS: tuple[Subject, ...] = ()
EXAMPLES: tuple[str, ...] = ()
UNITS: tuple[str, ...] = ()


def ask(reference: Reference, question: str) -> Answer:
    """
    The answer to a question in plain words.

    Raises
    ------
    ValueError
        In one line: a word that no table knows, with the nearest ones; or words that ask nothing together.
    """
    topics = {word: subject.name for subject in SUBJECTS for word in subject.topics}
    words = take_apart(question, vocabulary(reference), topics, UNITS)
    wanted = [subject for subject in SUBJECTS if words.topic in ("", subject.name)]
    for subject in wanted:
        if answer := subject.answers(reference, words):
            return answer
    raise ValueError(f"{question!r}: each word is known, together they ask nothing. Try '{EXAMPLES[0]}'.")
