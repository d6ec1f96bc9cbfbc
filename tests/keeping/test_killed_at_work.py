"""
Agreements, stock and bills, with the process killed at any moment: no cent, no number and no spare is lost.

A child does deeds at random in a book on disk and is ended by SIGKILL, again and again. Beforehand it writes
down what it begins, and afterwards that it is done. What it said was done must be in the book; the deed it
was at is there whole or not at all. `PEGWOOD_WALK_STEPS=10000` kills it more often.
"""

from __future__ import annotations

import logging
import os
import random
from collections import Counter
from functools import partial
from pathlib import Path

import pytest
from django.db import connection

from keeping.account import Account, account_in, after, half_done
from keeping.at_work import read, work
from keeping.killing import expect_sound, killed_while, two_deeds_take
from pegwood.book.keeping.check import examine

pytestmark = pytest.mark.slow

KILLS = max(15, int(os.environ.get("PEGWOOD_WALK_STEPS", "400")) // 50)
#: So many times what two deeds and the child's own beginning take.
LONGEST = 3.0


class Followed:
    """The account as the log tells it, held against the book after each kill."""

    def __init__(self, log: Path) -> None:
        self.log = log
        self.offset = 0
        self.account: Account = {}
        self.got: Counter[str] = Counter()

    def look(self, book: Path) -> None:
        connection.close()  # what the child left is opened anew
        self.offset, told = read(self.log, self.offset)
        may_be = [self.account]
        for came_to, deed in told:
            assert came_to in {"done", "refused", "begun"}, (came_to, deed)
            self.got[f"{deed.what} {came_to}"] += 1
            if came_to == "done":
                self.account = after(self.account, deed)
            may_be = [self.account, *([after(self.account, deed)] if came_to == "begun" else [])]
        found = account_in(book)
        assert found in may_be, told_apart(found, self.account)
        assert half_done(book) == []
        assert (report := examine()).is_sound, report.remarks
        if len(may_be) > 1:
            self.got["cut short, not done" if found == may_be[0] else "cut short, done all the same"] += 1
        self.account = found

    def number_of(self, came_to: str) -> int:
        return sum(count for what, count in self.got.items() if what.endswith(f" {came_to}"))


def told_apart(found: Account, due: Account) -> dict[str, tuple[object, object]]:
    """What differs: as found, and as due."""
    return {
        key: (found.get(key), due.get(key))
        for key in sorted(found.keys() | due.keys())
        if found.get(key) != due.get(key)
    }


def test_what_was_done_is_there_and_what_was_cut_short_is_whole_or_not_at_all(book: Path, tmp_path: Path):
    followed = Followed(tmp_path / "log")
    chance = random.Random(20310305)
    longest_s = 0.0
    for n in range(KILLS):
        bench = partial(work, followed.log, chance.getrandbits(32))
        if n % 20 == 0:
            longest_s = LONGEST * two_deeds_take(bench)
            followed.look(book)
        killed_while(bench, after_s=chance.uniform(0.0, longest_s))
        followed.look(book)
    expect_sound()
    logging.getLogger(__name__).info("%d kills: %s; %s", KILLS, dict(followed.got), followed.account)
    got = followed.got
    assert followed.number_of("begun") > KILLS / 3, "the kills must hit the middle of deeds"
    assert followed.number_of("done") > 2 * KILLS, "and deeds must get done between them"
    assert got["use done"] > 0, got
    if KILLS < 100:
        return  # a short run on a busy machine seldom takes a job as far as its bill
    assert got["issue done"] + got["hand back done"] > KILLS / 10, got
    assert got["pay done"] + got["deposit done"] + got["hand back done"] > KILLS / 10, got
