"""Which firing belongs to which speed, and where the recording is parted."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from pegwood.book.walk import Walk, walk_of


@dataclass(frozen=True)
class Shot:
    number: int
    begins: int
    ends: int


FIRED = [Shot(1, 100, 110), Shot(2, 200, 210), Shot(3, 400, 405), Shot(4, 600, 610)]


def go(n: int, at: int, speed: str) -> dict:
    return {"n": n, "at": at, "do": "go", "speed": speed}


def listen(n: int, at: int, voice: str = "one") -> dict:
    return {"n": n, "at": at, "do": "listen", "voice": voice, "device": "line in", "bent": []}


def test_a_firing_belongs_to_the_speed_that_was_shown_when_it_began():
    walk = walk_of([go(1, 0, "1"), go(2, 205, "1/2"), go(3, 500, "1/5")])
    assert [one.number for one in walk.of("1", FIRED)] == [1, 2]
    assert [one.number for one in walk.of("1/2", FIRED)] == [3]
    assert [one.number for one in walk.of("1/5", FIRED)] == [4]


def test_the_recording_is_parted_in_the_dark_between_two_speeds():
    """By hand: (210 + 400) / 2 = 305; (405 + 600) / 2 = 502."""
    walk = walk_of([go(1, 0, "1"), go(2, 205, "1/2"), go(3, 500, "1/5")])
    parts = [walk.stretches(speed, FIRED, 700) for speed in walk.visited]
    assert parts == [[(0, 305)], [(305, 502)], [(502, 700)]]


def test_a_speed_gone_back_to_has_two_stretches():
    walk = walk_of([go(1, 0, "1"), go(2, 300, "1/2"), go(3, 500, "1")])
    assert walk.stretches("1", FIRED, 700) == [(0, 305), (502, 700)]
    assert [one.number for one in walk.of("1", FIRED)] == [1, 2, 4]


def test_listening_anew_parts_a_speed():
    walk = walk_of([listen(1, 0), go(2, 0, "1"), listen(3, 150, "two")])
    assert walk.stretches("1", FIRED[:2], 300) == [(0, 150), (150, 300)]
    assert walk.voice == "two"


def test_every_frame_belongs_to_exactly_one_speed():
    walk = walk_of([go(1, 0, "1"), go(2, 5, "1/2"), go(3, 206, "1/5"), go(4, 207, "1/10"), go(5, 699, "1")])
    parts = sorted(part for speed in walk.visited for part in walk.stretches(speed, FIRED, 700))
    assert parts[0][0] == 0
    assert parts[-1][1] == 700
    assert all(one[1] == two[0] for one, two in pairwise(parts))


def test_lines_numbered_twice_count_once():
    walk = walk_of([go(1, 0, "1"), go(1, 0, "1/2"), {"n": 2, "at": 9, "do": "strike", "firings": [4]}])
    assert (walk.speed, walk.struck, walk.last) == ("1", {4}, 2)


def test_before_anything_was_done_there_is_nothing():
    assert walk_of([]) == Walk()
    assert (Walk().speed, Walk().speed_at(5), Walk().visited) == ("", "", ())
