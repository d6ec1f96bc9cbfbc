"""The figures on the page about making a light gate, worked out again from their formulae."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from pegwood.instruments.shutter import required_bandwidth_hz
from pegwood.instruments.video import fastest_at

DOCS = Path(__file__).resolve().parent.parent / "docs"
PAGE = (DOCS / "light-gate.md").read_text("utf-8")
SCALE = {"Hz": 1, "kHz": 1e3, "Ω": 1, "kΩ": 1e3, "µs": 1e-6, "ms": 1e-3}


def quantity(cell: str) -> float:
    number, unit = cell.split()
    return float(number) * SCALE[unit]


def loads() -> list[list[float]]:
    """Rows of the table of loads: load, bandwidth, rise, total time."""
    rows = re.findall(
        r"^\| ([\d.]+ k?Ω) \| ([\d.]+ kHz) \| ([\d.]+ µs) \| ([\d.]+ ms) \|$", PAGE, re.MULTILINE
    )
    return [[quantity(cell) for cell in row] for row in rows]


def test_the_table_of_loads_is_there():
    assert [row[0] for row in loads()] == [1e3, 4.7e3, 10e3, 47e3, 100e3]


@pytest.mark.parametrize("row", loads(), ids=lambda row: f"{row[0]:g} ohm")
def test_each_load_has_the_bandwidth_of_its_low_pass(row):
    """f = 1 / (2 pi R C) with 200 pF, rise 0.35 / f (textbook), and ISO 516's 100 / t0: t0 = 100 / f."""
    load, bandwidth, rise, total = row
    exact = 1 / (2 * math.pi * load * 200e-12)
    assert bandwidth == pytest.approx(exact, rel=0.02)
    assert rise == pytest.approx(math.log(9) / (2 * math.pi * exact), rel=0.02)
    assert 0.96 * exact < required_bandwidth_hz(total) < 1.005 * exact  # rounded to the safe side


def test_the_disc_of_the_page_gives_the_times_of_the_page():
    """A slot of 10 mm at 40 mm: asin(10/80)/pi of a turn, and w^2/32r^2 more for a window of 5 mm."""
    share = math.asin(10 / 80) / math.pi * (1 + 25 / (32 * 1600))
    turns = re.search(r"^\| turns a second \|(.*)\|$", PAGE, re.MULTILINE)[1].split("|")
    times = re.search(r"^\| effective time, ms \|(.*)\|$", PAGE, re.MULTILINE)[1].split("|")
    assert [float(ms) for ms in times] == pytest.approx([1e3 * share / float(n) for n in turns], abs=0.006)


def test_the_page_on_video_names_the_fastest_speeds_there_are():
    rows = re.findall(
        r"^\| (\d+) \| ([\d.]+) ms \| (1/\d+) \|$", (DOCS / "video.md").read_text("utf-8"), re.MULTILINE
    )
    assert len(rows) == 4
    for fps, shortest, marked in rows:
        fastest_s, text = fastest_at(float(fps))
        assert (float(shortest) / 1e3, marked) == (pytest.approx(fastest_s), text)


@pytest.mark.parametrize("word", ["sun", "laser", "capacitor", "LED", "maker's service sheet", "Local rules"])
def test_cautions_stand_before_the_parts(word):
    assert word in PAGE[: PAGE.index("## Parts")]
