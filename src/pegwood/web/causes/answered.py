"""What was seen, decided and mended so far, in its order, and what of it surprises."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from pegwood.causes.words.telling import SignHint
from pegwood.web.causes import words
from pegwood.web.causes.stage import Stage

#: An answer that the program held less likely than that is told as a surprise, [1].
SURPRISING_BELOW = 0.02


@dataclass(frozen=True, kw_only=True)
class AnswerLine:
    """A look that was made; `asks` is empty where the family has no such look any more."""

    sign: str
    asks: str
    says: str
    answer: str
    surprise: str
    at: datetime


@dataclass(frozen=True)
class RulingLine:
    """A fault that somebody found, or ruled out; how likely it was held just before."""

    fault: str
    name: str
    there: bool
    held: str
    at: datetime


@dataclass(frozen=True)
class MendLine:
    """A mend that was done."""

    fault: str
    name: str
    mend: str
    worked: bool
    minutes: int | None
    at: datetime


@dataclass(frozen=True)
class ByItself:
    """
    What a finding or readings say without having been asked.

    `sign` is empty where that bears on a fault itself; `why` is the finding, by `finding`, or the readings.
    """

    sign: str
    says: str
    why: str
    finding: int


@dataclass(frozen=True)
class Answered:
    """All of it."""

    answers: tuple[AnswerLine, ...]
    by_itself: tuple[ByItself, ...]
    rulings: tuple[RulingLine, ...]
    mends: tuple[MendLine, ...]

    @property
    def surprises(self) -> tuple[AnswerLine, ...]:
        """Answers that the program held nearly impossible."""
        return tuple(one for one in self.answers if one.surprise)

    @property
    def count(self) -> int:
        """How many lines there are."""
        return len(self.answers) + len(self.by_itself) + len(self.rulings) + len(self.mends)


def answered(stage: Stage) -> Answered:
    """What was seen, decided and mended."""
    return Answered(_answers(stage), tuple(_by_itself(stage)), _rulings(stage), _mends(stage))


def _by_itself(stage: Stage) -> Iterator[ByItself]:
    """What findings and readings say, but for signs that somebody answered."""
    causes, says = stage.causes, stage.by_itself
    for hint in stage.seen.hints:
        finding = hint.finding
        if isinstance(hint, SignHint):
            if hint.sign in says:
                sign = causes.signs[hint.sign]
                yield ByItself(hint.sign, words.seen(sign, says[hint.sign]), str(finding), finding.number)
        elif hint.fault in causes.faults:
            how = "speaks for" if hint.odds > 1 else "speaks against"
            yield ByItself("", f"{how}: {causes.faults[hint.fault].name}", str(finding), finding.number)
    for one in stage.seen.read:
        if one.sign in says:
            yield ByItself(one.sign, words.seen(causes.signs[one.sign], says[one.sign]), one.why, 0)


def _answers(stage: Stage) -> tuple[AnswerLine, ...]:
    lines = []
    for row in stage.answers:
        sign = stage.causes.signs.get(row.sign)
        held = row.chance_before
        lines.append(
            AnswerLine(
                sign=row.sign,
                asks=sign.asks if sign else "",
                says=words.seen(sign, row.answer) if sign else f"{row.sign}: {row.answer}",
                answer=row.answer,
                surprise=words.chance(held) if held is not None and held < SURPRISING_BELOW else "",
                at=row.at,
            )
        )
    return tuple(lines)


def _rulings(stage: Stage) -> tuple[RulingLine, ...]:
    return tuple(
        RulingLine(
            row.fault,
            _name(stage, row.fault),
            row.there,
            "" if row.chance_before is None else words.chance(row.chance_before),
            row.at,
        )
        for row in stage.rulings
    )


def _mends(stage: Stage) -> tuple[MendLine, ...]:
    return tuple(
        MendLine(row.fault, _name(stage, row.fault), row.mend, row.worked, row.work.minutes, row.at)
        for row in stage.mends
    )


def _name(stage: Stage, fault: str) -> str:
    known = stage.causes.faults.get(fault)
    return known.name if known else fault
