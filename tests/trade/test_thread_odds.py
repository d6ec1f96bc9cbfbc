"""
How often the first answer is right, and whether a probability of 70 % comes true 70 times in a hundred.

Screws are made between the limits of their standards as published (`screws_as_made`), and measured with
0.02 mm and 2 % of pitch, by code that shares nothing with the tables' limits or the reckoning. A slower
test prints the figures.
"""

from __future__ import annotations

import math
import random
import sys
from itertools import pairwise

import pytest

from pegwood.trade.reference import Reference
from pegwood.trade.threads import Likeness, threads, threads_like
from pegwood.trade.threads.rows import FAMILIES, ORIGINS
from trade.screws_as_made import limits

REFERENCE = Reference()
U_DIAMETER, U_PITCH = 0.02, 0.02
SIZES = {
    one.name: (
        one.diameter_m * 1e3,
        one.pitch_m * 1e3,
        *limits(one.name, one.diameter_m * 1e3, one.pitch_m * 1e3),
    )
    for one in threads(REFERENCE).values()
}


def stand_alone() -> list[str]:
    """
    The sizes that can be told at all: those whose window no other thread's window touches.

    A window is what can be read of a screw within its limits: limits widened by twice the uncertainty of the
    diameter, pitch by twice its own.
    """

    def touch(a: str, b: str) -> bool:
        _, pitch_a, low_a, high_a = SIZES[a]
        _, pitch_b, low_b, high_b = SIZES[b]
        return (
            low_a - 2 * U_DIAMETER <= high_b + 2 * U_DIAMETER
            and low_b - 2 * U_DIAMETER <= high_a + 2 * U_DIAMETER
            and abs(pitch_a - pitch_b) <= 2 * U_PITCH * (pitch_a + pitch_b)
        )

    return [a for a in SIZES if not any(touch(a, b) for b in SIZES if b != a)]


def read(rng: random.Random, diameter: float, pitch: float, **given) -> Likeness:
    """A screw measured."""
    return threads_like(
        REFERENCE,
        min(max(rng.gauss(diameter, U_DIAMETER), 0.21), 12.9) * 1e-3,
        rng.gauss(pitch, U_PITCH * pitch) * 1e-3,
        **given,
    )


def first(likeness: Likeness) -> str:
    best = likeness.candidates[0]
    return best.thread.name if best.p > likeness.none_p else "none"


def right_of(rng: random.Random, names: list[str], each: int) -> float:
    """The share of right first answers over screws of these sizes, each as often."""
    right = 0
    for name in names:
        _, pitch, low, high = SIZES[name]
        right += sum(first(read(rng, rng.uniform(low, high), pitch)) == name for _ in range(each))
    return right / (each * len(names))


def test_where_sizes_stand_alone_the_first_answer_is_right_in_97_of_100():
    names = stand_alone()
    assert {"M2x0.25", "M4x0.5", "#6-32 UNC"} <= set(names)
    assert right_of(random.Random(1), names, 60) >= 0.97


def drawn(rng: random.Random) -> tuple[str, float, float]:
    """
    A screw as one meets it: as often as the tables state, between the limits that the standards print.

    Of a hundred, three are of no thread in the tables, anything from 0.2 to 13 mm; of the rest eight are worn
    by up to a tenth of the pitch, two stand up to a twentieth above; their own pitch is off by 0.3 %.
    """
    if rng.random() < 0.03:
        diameter = 0.2 * (13 / 0.2) ** rng.random()
        return "none", diameter, diameter * 0.08 * (0.35 / 0.08) ** rng.random()
    origins = list(REFERENCE.rows(ORIGINS).values())
    origin = rng.choices(origins, [one.often for one in origins])[0]
    families = list(REFERENCE.rows(FAMILIES).values())
    family = rng.choices(families, [getattr(one, origin.key) for one in families])[0]
    among = [one for one in threads(REFERENCE).values() if one.row.family == family.key]
    name = rng.choices(among, [one.row.often for one in among])[0].name
    _, pitch, low, high = SIZES[name]
    lot = rng.random()
    if lot < 0.90:
        diameter = rng.uniform(low, high)
    elif lot < 0.98:
        diameter = low - 0.1 * pitch * rng.random()
    else:
        diameter = high + 0.05 * pitch * rng.random()
    return name, diameter, pitch * rng.gauss(1, 0.003)


@pytest.mark.slow
def test_probabilities_come_true_as_often_as_they_say(capsys):
    rng = random.Random(2)
    screws = 2500
    said: list[tuple[float, bool]] = []
    brier = best = right = in_two = 0.0
    for _ in range(screws):
        name, diameter, pitch = drawn(rng)
        try:
            likeness = read(rng, diameter, pitch)
        except ValueError:  # a pitch that is read to go with no such diameter
            assert name == "none"
            continue
        odds = {one.thread.name: one.p for one in likeness.candidates} | {"none": likeness.none_p}
        order = sorted(odds, key=lambda one: -odds[one])
        brier += sum((p - (one == name)) ** 2 for one, p in odds.items())
        best += odds[order[0]]
        right += order[0] == name
        in_two += name in order[:2]
        said += [(p, one == name) for one, p in odds.items() if p > 1e-3]
    edges = [0.001, 0.01, 0.03, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 1.001]
    lines = []
    for low, high in pairwise(edges):
        among = [(p, came) for p, came in said if low <= p < high]
        expected, came = sum(p for p, _ in among), sum(came for _, came in among)
        sigma = math.sqrt(sum(p * (1 - p) for p, _ in among))
        lines.append(f"said {expected / len(among):.3f}, came true {came / len(among):.3f} of {len(among)}")
        # eleven bins: one beyond 3.3 sigma by chance in a hundred runs
        assert abs(came - expected) <= 3.3 * sigma, lines[-1]
    alone = stand_alone()
    figures = (
        f"\nBrier score {brier / screws:.3f}; first answer right {right / screws:.3f} (no rule can better "
        f"{best / screws:.3f}), right one of two {in_two / screws:.3f}\n"
        f"{len(alone)} of {len(SIZES)} sizes stand alone: right {right_of(rng, alone, 150):.4f}\n"
    )
    with capsys.disabled():
        sys.stdout.write(figures + "\n".join(lines) + "\n")
    assert brier / screws < 0.32  # sure and wrong costs 2; a fair coin between two costs 0.5
    assert abs(right - best) <= 3.3 * math.sqrt(screws * 0.25)


def test_knowing_the_origin_makes_the_first_answer_right_more_often():
    """Screws from Britain, with and without saying so."""
    rng = random.Random(3)
    names = [f"{number} BA" for number in range(2, 11)]
    silent = told = 0
    for name in names:
        _, pitch, low, high = SIZES[name]
        for _ in range(12):
            diameter = rng.uniform(low, high)
            silent += first(read(rng, diameter, pitch)) == name
            told += first(read(rng, diameter, pitch, origin="britain")) == name
    assert told > silent
    assert told >= 0.9 * 12 * len(names)
