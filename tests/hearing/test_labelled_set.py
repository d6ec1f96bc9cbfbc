"""
How well the labelled set is heard, against the bars that were set before anything was tuned.

The labels were written by other rules than the extractor's, and nothing was tuned on the half called "test".
"""

from __future__ import annotations

import pytest

from pegwood.hearing import hear, vocabulary

from . import errors
from .mishearing import misheard
from .narrations import HALVES, narrations
from .scoring import Answer, score, table

#: The least F1 of findings (part and condition right), by word error rate.
LEAST_F1 = {0.0: 0.85, 0.15: 0.75}
LEAST_DENIALS_RIGHT = 0.95
MOST_CONJECTURES_MADE_FACTS = 0.02
MOST_FINDINGS_FROM_REMARKS = 0.03


@pytest.mark.slow
@pytest.mark.parametrize("half", HALVES)
@pytest.mark.parametrize("rate", LEAST_F1)
def test_the_labelled_set_is_heard_as_well_as_was_asked(half, rate):
    answers = []
    for narration in narrations(half):
        lines = misheard(narration.lines(), rate, 1) if rate else narration.lines()
        answers.append(
            Answer(narration=narration, lines=lines, heard=hear(lines, narration.parts(), vocabulary()))
        )
    found = score(answers)
    shown = table(answers)
    assert found.f1 >= LEAST_F1[rate], shown
    if not rate:
        assert found.denials_right >= LEAST_DENIALS_RIGHT, shown
        assert found.rate(errors.FACT_MADE) <= MOST_CONJECTURES_MADE_FACTS, shown
        assert found.rate(errors.FROM_REMARK) <= MOST_FINDINGS_FROM_REMARKS, shown
