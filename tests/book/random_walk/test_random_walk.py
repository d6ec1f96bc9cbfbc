"""
A random walk over agreements, stock, bills and payments, with the machine stopping in the middle of deeds.

What is expected is kept beside the book in a few plain numbers. A kill is a database that fails at the n-th
statement that writes, as it would if the process ended there: the deed must leave nothing behind. (Processes
that really end stand in `keeping/test_killed_at_work.py`.) CI's is a short walk; `PEGWOOD_WALK_STEPS=10000`
makes it as long as you like.
"""

from __future__ import annotations

import logging
import os

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import rule, run_state_machine_as_test

from book.random_walk.desk import AT_THE_DESK, GOT, TOLD, Told
from book.random_walk.donors import AT_THE_DONORS, Donors
from book.random_walk.shelf import AT_THE_SHELF
from book.random_walk.stops import CameTo

pytestmark = [pytest.mark.slow, pytest.mark.django_db]
STEPS = int(os.environ.get("PEGWOOD_WALK_STEPS", "400"))
A_WALK = 100
MENU = AT_THE_DESK + AT_THE_SHELF + AT_THE_DONORS
#: In how many steps each of these must come to pass once: a walk that gets nowhere has shown nothing.
EXPECTED = {
    "killed": 40,
    "issued": 200,
    "credited": 400,
    "paid": 400,
    "spares used": 80,
    "spares reserved": 100,
    "spares undone": 130,
    "bills with spares": 800,
    "parts out of donors": 400,
}
#: Has no divisor in common with the menu's length.
STRIDE = 29


class Workshop(Donors):
    """
    The desk, the shelf and the donors together.

    One rule for all of it: of several each walk leaves some out, and what they do together is the point.
    """

    def __init__(self) -> None:
        super().__init__()
        self.step = 0

    @rule(drawn=st.integers(0, len(MENU) - 1), told=TOLD)
    def does(self, drawn: int, told: Told) -> None:
        # Whoever draws nothing but the simplest, as the first walk does, goes round the menu all the same.
        self.step += 1
        deed = MENU[(drawn + STRIDE * self.step) % len(MENU)]
        self.came_to = CameTo.REFUSED
        getattr(self, deed)(told)
        GOT[f"{deed} {self.came_to}"] += 1


def test_no_cent_no_number_and_no_spare_is_lost_or_there_twice():
    walks = max(1, STEPS // A_WALK)
    run_state_machine_as_test(
        Workshop,
        settings=settings(
            max_examples=walks,
            stateful_step_count=A_WALK,
            suppress_health_check=list(HealthCheck),
        ),
    )
    logging.getLogger(__name__).info("the walk got so far: %s", dict(GOT))
    for what, in_so_many_steps in EXPECTED.items():
        assert GOT[what] >= max(1, STEPS // in_so_many_steps), (what, GOT)
