"""
How well the labelled set is heard.

The labels were written by other rules than the extractor's, and nothing was learned from the half called
"test". What was asked of the hearing before anything was tuned, F1 of 0.85 as said and 0.75 at 15 % word
error, is not reached yet: `docs/hearing.md` tells by how much. Held here is what is reached, so that nothing
is lost.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from pegwood.hearing import hear, vocabulary

from . import errors
from .mishearing import misheard
from .narrations import narrations
from .scoring import Answer, score, table


@dataclass(frozen=True, kw_only=True)
class Held:
    """The least F1, of findings and of work, and share of denials right; the largest shares of doubts and of
    remarks gone wrong."""

    f1: float
    works: float
    denials: float
    facts: float
    remarks: float


#: By half and word error rate: a little below what was measured. The scales were learned from "dev"; by
#: "later" nothing was chosen but the thresholds.
REACHED = {
    ("dev", 0.0): Held(f1=0.765, works=0.50, denials=0.94, facts=0.02, remarks=0.005),
    ("dev", 0.15): Held(f1=0.64, works=0.39, denials=0.88, facts=0.08, remarks=0.015),
    ("later", 0.0): Held(f1=0.57, works=0.39, denials=0.88, facts=0.11, remarks=0.02),
    ("test", 0.0): Held(f1=0.70, works=0.55, denials=0.95, facts=0.02, remarks=0.02),
    ("test", 0.15): Held(f1=0.59, works=0.45, denials=0.85, facts=0.10, remarks=0.035),
}


@pytest.mark.slow
@pytest.mark.parametrize(("half", "rate"), REACHED)
def test_the_labelled_set_is_heard_no_worse_than_it_was(half, rate):
    answers = []
    for narration in narrations(half):
        lines = misheard(narration.lines(), rate, 1) if rate else narration.lines()
        answers.append(
            Answer(narration=narration, lines=lines, heard=hear(lines, narration.parts(), vocabulary()))
        )
    if half == "test":
        assert score(answers).precision >= 0.7  # beside the proposals stands: of ten two or three are wrong
    held, found, shown = REACHED[half, rate], score(answers), table(answers)
    assert found.f1 >= held.f1, shown
    assert found.works_f1 >= held.works, shown
    assert found.denials_right >= held.denials, shown
    assert found.rate(errors.FACT_MADE) <= held.facts, shown
    assert found.rate(errors.FROM_REMARK) <= held.remarks, shown
