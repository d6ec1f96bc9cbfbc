"""What the pages of causes worked out lately."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from sys import getswitchinterval, setswitchinterval

import pytest

from pegwood.web.causes.kept import Kept


class Rested:
    """Something that answers rest on."""


def test_what_was_worked_out_is_kept_until_enough_else_was():
    kept, of, asked = Kept(2), (Rested(),), []
    for one in "abaca":
        kept.get(of, one, lambda one=one: asked.append(one))
    assert asked == ["a", "b", "c"]
    assert [kept.has(of, one) for one in "abc"] == [True, False, True], "the one not asked for longest goes"


def test_what_rests_on_something_read_anew_is_worked_out_anew():
    kept, first = Kept(9), Rested()
    kept.get((first,), "a", lambda: 1)
    again = Rested()
    assert not kept.has((again,), "a")
    assert kept.get((again,), "a", lambda: 2) == 2
    assert kept.get((first,), "a", lambda: 3) == 1


def test_what_it_rests_on_never_gives_its_place_to_another():
    kept = Kept(500)
    assert [kept.get((Rested(),), "a", lambda n=n: n) for n in range(500)] == list(range(500))


@pytest.fixture
def threads_take_turns_often():
    before = getswitchinterval()
    setswitchinterval(1e-6)
    yield
    setswitchinterval(before)


@pytest.mark.usefixtures("threads_take_turns_often")
def test_several_threads_ask_at_once():
    kept, of = Kept(3), (Rested(),)

    def ask(start: int) -> bool:
        return all(kept.get(of, n % 7, lambda n=n: n % 7) == n % 7 for n in range(start, start + 2000))

    with ThreadPoolExecutor(8) as pool:
        assert all(pool.map(ask, range(8)))
    assert sum(kept.has(of, n) for n in range(7)) == 3
