"""
Agreements, stock and bills, with the process killed at any moment: no cent, no number and no spare is lost.

A child does deeds at random in a book on disk and is ended by SIGKILL, again and again. Beforehand it writes
down what it begins, and afterwards that it is done. What it said was done must be in the book; the deed it was
at is there whole or not at all. `PEGWOOD_WALK_STEPS=10000` kills it more often.
"""

from __future__ import annotations

import logging
import os
import random
from collections import Counter
from pathlib import Path

import pytest
from django.db import connection

from keeping.account import Account, account_in, after, half_done
from keeping.at_work import read, work
from keeping.killing import expect_sound, killed_while, two_deeds_take

pytestmark = pytest.mark.slow

KILLS = max(25, int(os.environ.get("PEGWOOD_WALK_STEPS", "400")) // 25)
#: So many times what two deeds and the child's own beginning take.
LONGEST = 4.0


def test_what_was_done_is_there_and_what_was_cut_short_is_whole_or_not_at_all(book: Path, tmp_path: Path):
    log, offset = tmp_path / "log", 0
    got: Counter[str] = Counter()
    account: Account = {}
    chance = random.Random(20310305)
    for n in range(KILLS):
        seed = chance.getrandbits(32)
        if n % 20 == 0:
            longest_s = LONGEST * two_deeds_take(lambda done: work(log, seed + 1, done))
        killed_while(lambda done: work(log, seed, done), after_s=chance.uniform(0.0, longest_s))  # noqa: B023
        offset, told = read(log, offset)
        for came_to, deed in told:
            got[came_to] += 1
            if came_to == "done":
                account = after(account, deed)
                got[deed.what] += 1
            elif came_to == "begun":
                ...
    expect_sound()
