"""What a person answers, as evidence."""

from __future__ import annotations

import pytest

from pegwood.causes.answers import likelihood
from pegwood.causes.known import Shown, Sign

STIFF = Sign(
    id="stiff",
    asks="How does it turn?",
    by="hand",
    minutes=1,
    answers=("free", "stiff", "seized"),
    leak=(0.9, 0.08, 0.02),
    shown_by=(Shown(fault="gum", shows=(0.1, 0.7, 0.2)),),
)


@pytest.mark.parametrize(
    ("answer", "weights"),
    [
        ("stiff", (0, 1, 0)),
        (" Seized ", (0, 0, 1)),
        ("sort of stiff", (1 / 3, 1, 1 / 3)),  # three to one for it, against the grade on either side
        ("sort of free", (1, 1 / 3, 1 / 9)),
        ("don't know", None),
        ("don’t know", None),
    ],
)
def test_an_answer_says_how_likely_it_is_at_each_level(answer, weights):
    found = likelihood(STIFF, answer)
    assert found is None if weights is None else found == pytest.approx(weights)


@pytest.mark.parametrize("answer", ["", "stif", "sort of", "sort of odd", "yes"])
def test_what_is_no_answer_is_told_with_the_nearest(answer):
    with pytest.raises(ValueError, match=r"is no answer to 'stiff'\. Nearest: "):
        likelihood(STIFF, answer)
