"""What is told: lines that each say how they are known, the same for the page, the command and JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from pegwood.trade.grounds import Ground, Grounds, weakest

Verdict = Literal["safe", "with care", "never", "not known", ""]

#: Stands below every answer.
FIRST = "The maker's service sheet, local rules and licensed practice come before anything told here."


@dataclass(frozen=True, kw_only=True)
class Statement:
    """
    One line.

    Attributes
    ----------
    says : str
        A whole sentence or a figure with its unit, as people read it.
    grounds : tuple of Ground
        What it rests on; a line without is refused.
    label : str
        What the line is about, in a word or two ("flash point", "shellac").
    verdict : str
        Where the line judges: ``"safe"``, ``"with care"``, ``"never"`` or ``"not known"``.
    pictogram : str
        A GHS symbol to stand beside it ("GHS02").
    share : float, optional
        Where the line is one of several chances: its probability, to be drawn as a bar, [1].

    Raises
    ------
    ValueError
        If it has no grounds.
    """

    says: str
    grounds: Grounds
    label: str = ""
    verdict: Verdict = ""
    pictogram: str = ""
    share: float | None = None

    def __post_init__(self) -> None:
        if not self.grounds:
            raise ValueError(f"{self.says!r}: nothing is told without its source.")

    @property
    def mark(self) -> str:
        """The mark of the least firm ground."""
        return weakest(self.grounds)

    @property
    def own(self) -> bool:
        """Whether the workshop's own tables had a say."""
        return any(ground.own for ground in self.grounds)


@dataclass(frozen=True, kw_only=True)
class Section:
    """Lines that belong together under a heading."""

    title: str
    lines: tuple[Statement, ...]


@dataclass(frozen=True, kw_only=True)
class Answer:
    """
    What is told of one question.

    Attributes
    ----------
    subject : str
        What kind of question it was: "couple", "agent", "thread".
    understood : str
        The question as it was read, in full names and units.
    headline : Statement
        The answer in one line.
    sections : tuple of Section
        More, in the order in which it is wanted.
    cautions : tuple of Statement
        What may hurt hands, eyes, lungs or the camera; shown with the headline, never below the fold.
    also : tuple of str
        Questions that follow, as one would type them.
    data : mapping
        The figures, for JSON: SI units in the names; every mapping in it that holds a number holds `source`
        and `mark` too.
    """

    subject: str
    understood: str
    headline: Statement
    sections: tuple[Section, ...] = ()
    cautions: tuple[Statement, ...] = ()
    also: tuple[str, ...] = ()
    data: Mapping[str, Any] = field(default_factory=dict)


def as_json(answer: Answer) -> dict[str, Any]:
    """The answer as plain values: what it says line by line, and beside it the figures of its subject."""
    return {
        "subject": answer.subject,
        "understood": answer.understood,
        "says": _line(answer.headline),
        "cautions": [_line(one) for one in answer.cautions],
        "sections": [{"title": s.title, "lines": [_line(one) for one in s.lines]} for s in answer.sections],
        "first": FIRST,
        **answer.data,
    }


def _line(statement: Statement) -> dict[str, Any]:
    told: dict[str, Any] = {}
    for name in ("label", "verdict", "pictogram"):
        if value := getattr(statement, name):
            told[name] = value
    return {**told, "says": statement.says, "sources": [_ground(one) for one in statement.grounds]}


def _ground(ground: Ground) -> dict[str, Any]:
    return {"source": ground.source, "mark": ground.mark, **({"own": True} if ground.own else {})}
