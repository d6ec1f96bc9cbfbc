"""Tables whose clock stamps badly, through an 8-bit converter: the 95 % intervals hold the truth."""

import numpy as np
import pytest

from pegwood.instruments.recordings import RefusedRecording, open_recording
from pegwood.instruments.shutter import analyse

from .stamped import session

# not "hidden": what no stamp shows nobody can reckon with
SHOWN = ("irregular", "noisy", "late", "dropped", "coarse", "cells missing")


def holds(kind: str, files: int, **bench) -> tuple[int, int, int, int]:
    """Firings, those found, and how many intervals of effective and total time hold the truth."""
    n = found = effective = total = 0
    for seed in range(files):
        recording, firings = session(kind, seed, **bench)
        shots = analyse(recording).shots
        for firing in firings:
            n += 1
            for shot in shots:
                if abs(shot.at_s - firing.at) < 0.05:
                    low, high = shot.effective.coverage_interval(0.95)
                    found, effective = found + 1, effective + (low <= firing.effective <= high)
                    low, high = shot.total.coverage_interval(0.95)
                    total += low <= firing.total <= high
    return n, found, effective, total


@pytest.mark.slow
@pytest.mark.parametrize("kind", SHOWN)
def test_the_intervals_hold_the_truth_whatever_the_stamps_do(kind):
    n, found, effective, total = holds(kind, 6)
    assert found >= 0.96 * n
    # of 30 firings at 95 %, fewer than 26 hold in one of 65 trials (binomial)
    assert effective >= 0.85 * found
    assert total >= 0.85 * found


@pytest.mark.slow
def test_a_firing_with_rows_missing_in_its_edges_is_refused_and_told():
    recording, firings = session("dropped in blocks", 1, te=1 / 15)
    result = analyse(recording)
    assert len(result.shots) < len(firings)
    assert len(result.shots) + len(result.unread) == len(firings)
    assert any("readings are missing where it opens or closes" in w for w in result.warnings)


def test_jitter_of_the_stamps_is_in_the_budget():
    shots = {kind: analyse(session(kind, 1)[0]).shots for kind in ("even", "noisy")}
    parts = {kind: {c.name: c.u for c in found[0].effective.budget} for kind, found in shots.items()}
    # 0.15 of 100 us, over edges of 8 to 28 readings
    assert 2e-6 < parts["noisy"]["time stamps"] < 15e-6
    assert parts["even"].get("time stamps", 0.0) < 0.1e-6
    assert shots["noisy"][0].effective.u > shots["even"][0].effective.u


def table(stamps) -> bytes:
    readings = np.round(2 + np.sin(np.arange(len(stamps)) / 7), 4)
    return ("time_us,adc\n" + "".join(f"{t},{y}\n" for t, y in zip(stamps, readings, strict=True))).encode()


def opened(tmp_path, stamps):
    path = tmp_path / "table.csv"
    path.write_bytes(table(stamps))
    return open_recording(path)


def test_stamps_that_were_not_written_are_taken_from_the_rows_beside_them(tmp_path):
    stamps = [str(100 * i) for i in range(500)]
    for row in (20, 77, 78, 300, 499):
        stamps[row] = ""
    recording = opened(tmp_path, stamps)
    assert recording.n_samples == 500
    assert recording.sample_rate_hz == pytest.approx(10_000)
    assert any("5 rows have no time stamp" in w for w in recording.warnings)


def test_a_missing_stamp_beside_missing_rows_is_refused(tmp_path):
    stamps = [str(100 * i + (2000 if i > 200 else 0)) for i in range(500)]
    stamps[200] = ""
    with pytest.raises(RefusedRecording, match=r"row 201 of the numbers has no time"):
        opened(tmp_path, stamps)


def test_a_gap_is_bridged_and_told(tmp_path):
    stamps = [str(100 * i + (1000 if i > 200 else 0)) for i in range(500)]
    recording = opened(tmp_path, stamps)
    assert recording.n_samples == pytest.approx(510, abs=1)
    assert any("missing in 1 places, 0.0011 s" in w for w in recording.warnings)
    ((first, last),) = recording.gaps
    assert (first, last) == (200, 212)
