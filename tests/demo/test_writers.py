"""Recordings as files, read back by other software than wrote them where there is any."""

import csv
import io
import wave

import numpy as np
import pytest

from pegwood.demo import simulator as sim


@pytest.fixture(scope="module")
def recording():
    rng = np.random.default_rng(21)
    return sim.record([sim.LeafShutter().fire(0.008)], sim.LightGate(), rng)


def test_a_wav_file_holds_every_sample_as_the_standard_library_reads_it(recording):
    with wave.open(io.BytesIO(sim.as_audio(recording, "WAV"))) as file:
        assert file.getframerate() == 96_000
        samples = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2") / 2**15
    assert np.array_equal(samples, recording.samples)


def test_flac_loses_nothing(recording):
    import soundfile

    samples, rate = soundfile.read(io.BytesIO(sim.as_audio(recording, "FLAC")))
    assert rate == 96_000
    assert np.array_equal(samples, recording.samples)


@pytest.mark.parametrize(("unit", "per_second"), [("s", 1), ("ms", 1e3), ("us", 1e6)])
def test_a_table_names_the_unit_of_its_time_column_and_keeps_it(recording, unit, per_second):
    rows = list(csv.reader(io.StringIO(sim.as_csv(recording, unit).decode())))
    assert rows[0] == [f"time ({unit})", "channel 1 (V)"]
    assert len(rows) == len(recording.samples) + 1
    assert float(rows[1001][0]) == pytest.approx(1000 / 96_000 * per_second)
    assert float(rows[1001][1]) == pytest.approx(recording.samples[1000] * 2.0, abs=1e-6)
