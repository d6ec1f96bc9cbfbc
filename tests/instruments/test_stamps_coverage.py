"""Tables whose clock stamps badly, through an 8-bit converter: the 95 % intervals hold the truth."""

import numpy as np
import pytest

from pegwood.instruments.recordings import RefusedRecording, open_recording
from pegwood.instruments.shutter import analyse

from .stamped import session

# not "hidden": what no stamp shows nobody can reckon with
SHOWN = ("irregular", "very irregular", "noisy", "late", "dropped", "coarse", "cells missing")


def off(kind: str, files: int, **bench) -> tuple[float, np.ndarray, np.ndarray]:
    """
    Share of firings found, and of effective and total time the error over its 95 % interval's half width.

    The clock's rate is drawn within the 100 ppm that the budget allows for it.
    """
    made, effective, total = 0, [], []
    rng = np.random.default_rng(files)
    for seed in range(files):
        clock = 1 + rng.uniform(-100e-6, 100e-6)
        recording, firings = session(kind, seed, **bench)
        shots = analyse(recording).shots
        made += len(firings)
        for firing in firings:
            for shot in (shot for shot in shots if abs(shot.at_s - firing.at) < 0.05):
                for figure, truth, found in (
                    (shot.effective, firing.effective, effective),
                    (shot.total, firing.total, total),
                ):
                    low, high = figure.coverage_interval(0.95)
                    found.append((figure.value - clock * truth) / (0.5 * (high - low)))
    return len(effective) / made, np.array(effective), np.array(total)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("files", "bench"), [(5, {}), (3, {"te": 1 / 500, "rate": 20_000.0})], ids=["1/125", "1/500"]
)
def test_the_intervals_are_as_wide_as_they_have_to_be_whatever_the_stamps_do(files, bench):
    every = []
    for kind in SHOWN:
        found, effective, total = off(kind, files, **bench)
        assert found >= 0.96
        n = len(effective)
        # fewer hold in one of 100 trials (binomial, two and a third of its standard deviations); and an rms
        # of n is known to 1 / sqrt(2 n)
        assert np.mean(np.abs(effective) <= 1) >= 0.95 - 2.33 * np.sqrt(0.95 * 0.05 / n), kind
        assert abs(1.96 * np.sqrt(np.mean(effective**2)) - 0.95) < 0.1 + 2.33 / np.sqrt(2 * n), kind
        # where an edge ends rests on a shape that is not known, and these are kind
        assert np.mean(np.abs(total) <= 1) >= 0.95, kind
        every.append(effective)
    held = np.mean(np.abs(np.concatenate(every)) <= 1)
    chance = 2 * np.sqrt(0.95 * 0.05 / len(np.concatenate(every)))
    assert 0.93 - chance <= held <= 0.97 + chance


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
    # half of 0.15 of 100 us, over the root of 8 to 28 readings in each of two edges
    assert 1.5e-6 < parts["noisy"]["time stamps"] < 5e-6
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
