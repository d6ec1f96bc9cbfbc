"""Long recordings: memory that does not grow with them, every firing found in wide bins, progress told."""

import pytest

from benchmarks.long_recording import TIMES_S, peak_memory, write_recording
from pegwood.instruments.recordings import open_recording
from pegwood.instruments.shutter import _scan as first_pass
from pegwood.instruments.shutter import analyse


@pytest.mark.slow
def test_ten_minutes_at_192_khz_stay_far_below_300_mb(tmp_path):
    path = tmp_path / "ten.wav"
    written = write_recording(path, 10, every_s=30)
    found, memory = peak_memory(path)
    assert found == written
    assert memory < 200  # of which some 90 are the libraries


@pytest.mark.slow
def test_four_times_the_length_takes_no_more_memory(tmp_path):
    shorter, longer = tmp_path / "20.wav", tmp_path / "80.wav"
    write_recording(shorter, 20, rate=8000)
    write_recording(longer, 80, rate=8000)
    assert peak_memory(longer)[1] < 1.1 * peak_memory(shorter)[1]


@pytest.mark.parametrize("corner_hz", [0.0, 3.0])
def test_every_firing_is_found_where_bins_are_as_wide_as_in_an_hour(tmp_path, monkeypatch, corner_hz):
    path = tmp_path / "minute.wav"
    written = write_recording(path, 2, rate=48_000, every_s=11, corner_hz=corner_hz)
    monkeypatch.setattr(first_pass, "_MAX_BINS", 2 * 60 * 1000 // 3)
    shots = analyse(open_recording(path)).shots
    assert len(shots) == written
    for shot, open_s in zip(shots, TIMES_S * 2, strict=False):
        low, high = shot.effective.coverage_interval(0.999)
        assert low < open_s < high


def test_bins_wider_than_an_edge_lose_no_firing_of_a_whole_day(tmp_path, monkeypatch):
    path = tmp_path / "minute.wav"
    written = write_recording(path, 2, rate=8000, every_s=11)
    monkeypatch.setattr(first_pass, "_MAX_BINS", 2 * 60 * 1000 // 24)
    assert len(analyse(open_recording(path)).shots) == written


def test_a_place_that_shows_no_outline_to_the_second_look_is_told(tmp_path, monkeypatch):
    path = tmp_path / "minute.wav"
    written = write_recording(path, 0.5, rate=8000, every_s=11)
    monkeypatch.setattr("pegwood.instruments.shutter._channel.outline", lambda _: "cut off")
    result = analyse(open_recording(path))
    assert not result.shots
    assert len(result.unread) >= written
    assert any("not measured: cut off" in w for w in result.warnings)


@pytest.mark.parametrize("corner_hz", [0.0, 3.0])
def test_progress_only_grows_and_ends_at_the_whole(tmp_path, corner_hz):
    path = tmp_path / "minute.wav"
    write_recording(path, 1, rate=48_000, every_s=11, corner_hz=corner_hz)
    told = []
    assert analyse(open_recording(path), progress=told.append).coupling == ("AC" if corner_hz else "DC")
    assert told == sorted(told)
    assert len(told) > 10
    assert told[-1] == pytest.approx(1.0)
