"""Tables from scopes and microcontrollers, good and hostile."""

from __future__ import annotations

import io
import time
import tracemalloc

import numpy as np
import pytest

from pegwood.instruments.recordings import RefusedRecording, open_recording

STEP = 20e-6
N = 400


def readings() -> np.ndarray:
    return np.round(2 + np.sin(np.arange(N) / 7), 4)


def table(head="time (s),light (V)\n", sep=",", decimal=".", unit=1.0, end="\n", stamps=None) -> bytes:
    stamps = np.arange(N) * STEP if stamps is None else stamps
    rows = [
        f"{t / unit:.6f}{sep}{y:.4f}".replace(".", decimal) for t, y in zip(stamps, readings(), strict=False)
    ]
    return (head + end.join(rows) + end).encode()


def opened(data: bytes, name="scope.csv"):
    return open_recording(io.BytesIO(data), name)


def refused(data: bytes) -> str:
    with pytest.raises(RefusedRecording) as caught:
        opened(data)
    said = str(caught.value)
    assert "\n" not in said
    assert said.startswith("scope.csv: ")
    return said


@pytest.mark.parametrize(
    ("head", "unit", "shown"),
    [
        ("time (s),light (V)\n", 1, "s"),
        ("Time [ms],ADC\n", 1e-3, "ms"),
        ("time_us,adc\n", 1e-6, "us"),
        ("t/µs,U/V\n", 1e-6, "us"),
        ("micros,adc\n", 1e-6, "us"),
        ("Time,Channel A\n(ms),(V)\n\n", 1e-3, "ms"),
        ("# bench scope\n# gain 2\nSecond,Volt\n", 1, "s"),
        ("Model,Bench scope\nInterval,2e-5\n\nx-axis,1\nsecond,Volt\n", 1, "s"),
    ],
)
def test_the_unit_of_time_is_read_from_the_header(head, unit, shown):
    recording = opened(table(head, unit=unit))
    assert recording.sample_rate_hz == pytest.approx(1 / STEP, rel=1e-4)
    assert recording.format == f"CSV, time in {shown}"
    assert recording.warnings == ()
    np.testing.assert_allclose(np.concatenate(list(recording.blocks(64)))[:, 0], readings())


@pytest.mark.parametrize(("unit", "shown"), [(1, "s"), (1e-3, "ms"), (1e-6, "us")])
def test_without_a_header_the_unit_comes_from_plain_sense_and_is_told(unit, shown):
    recording = opened(table("", unit=unit))
    assert recording.sample_rate_hz == pytest.approx(1 / STEP, rel=1e-4)
    assert f"{shown} was taken" in recording.warnings[0]


def test_a_step_that_fits_two_units_is_refused_and_says_what_to_write():
    said = refused(table("", stamps=np.arange(N) * 1.0))
    assert "ms or us" in said
    assert "time_ms" in said


@pytest.mark.parametrize("sep", [",", ";", "\t", " ", ", "])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_the_separator_is_found(sep, end):
    recording = opened(table(f"time_s{sep}light{end}", sep=sep, end=end))
    assert (recording.n_samples, recording.n_channels) == (N, 1)
    np.testing.assert_allclose(recording.read(10, 20)[:, 0], readings()[10:20])


@pytest.mark.parametrize("sep", [";", "\t"])
def test_a_decimal_comma_is_understood(sep):
    recording = opened(table(f"Zeit (s){sep}Spannung (V)\n", sep=sep, decimal=","))
    assert recording.sample_rate_hz == pytest.approx(1 / STEP, rel=1e-4)
    np.testing.assert_allclose(recording.read(0, N)[:, 0], readings())


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "latin-1"])
def test_the_encodings_of_the_bench_are_read(encoding):
    text = table("t (µs);Wärme\n", sep=";", unit=1e-6).decode()
    assert opened(text.encode(encoding)).sample_rate_hz == pytest.approx(1 / STEP, rel=1e-4)


def test_quotes_trailing_separators_and_several_channels():
    rows = "".join(f'"{i * STEP:.6f}","{i % 50}","{-i % 30}",\n' for i in range(N))
    recording = opened(('"time (s)","A","B",\n' + rows).encode())
    assert recording.n_channels == 2
    np.testing.assert_array_equal(recording.read(0, N)[:, 1], [-i % 30 for i in range(N)])


def test_a_counting_column_is_not_taken_for_time():
    rows = "".join(f"{i},{i * 20},{i % 9}\n" for i in range(N))
    recording = opened(("sample,time_us,adc\n" + rows).encode())
    assert recording.sample_rate_hz == pytest.approx(50_000)


def test_remarks_between_the_rows_are_passed_over():
    lines = table().decode().splitlines()
    lines.insert(100, "# button pressed")
    lines.insert(200, "")
    assert opened("\n".join(lines).encode()).n_samples == N


@pytest.mark.parametrize("head", ["adc\n", ""])
def test_one_column_without_time_is_refused_with_the_remedy(head):
    said = refused((head + "".join(f"{i % 90}\n" for i in range(N))).encode())
    assert "time_us" in said


def test_columns_of_which_none_grows_are_refused():
    assert "no column that only grows" in refused("".join(f"{i % 9},{i % 7}\n" for i in range(N)).encode())


def test_time_that_runs_backwards_is_refused_by_its_row():
    stamps = np.arange(N) * STEP
    stamps[250:] -= 0.004
    assert "backwards at row 251" in refused(table(stamps=stamps))


def test_missing_readings_are_refused_by_their_row():
    stamps = np.arange(N) * STEP
    stamps[300:] += 50 * STEP
    assert "before row 301" in refused(table(stamps=stamps))


def test_jittering_stamps_are_evened_out_and_told():
    rng = np.random.default_rng(3)
    stamps = np.arange(N) * STEP + rng.uniform(-0.3, 0.3, N) * STEP
    data = "time_s,light\n" + "".join(f"{t:.9f},{np.sin(2 * np.pi * 200 * t):.6f}\n" for t in stamps)
    recording = opened(data.encode())
    assert "irregular" in recording.warnings[0]
    at = stamps[0] + np.arange(recording.n_samples) / recording.sample_rate_hz
    np.testing.assert_allclose(recording.read(5, 300)[:, 0], np.sin(2 * np.pi * 200 * at[5:300]), atol=2e-3)


def test_stamps_coarser_than_the_sampling_are_told_and_widen_the_clock():
    stamps = np.floor(np.arange(N) * 400e-6 / 1e-3) * 1e-3
    recording = opened(table("time_ms,adc\n", unit=1e-3, stamps=stamps))
    assert "rounded to 0.001 s" in recording.warnings[0]
    assert abs(recording.sample_rate_hz * 400e-6 - 1) < 3 * recording.sample_rate_u
    assert recording.sample_rate_u > 1e-3


@pytest.mark.parametrize("bad", ["nan", "inf", "-inf"])
def test_a_reading_that_is_no_number_is_refused_by_its_place(bad):
    lines = table().decode().splitlines()
    lines[301] = f"{300 * STEP:.6f},{bad}"
    assert "sample 300 of channel 0" in refused("\n".join(lines).encode())


@pytest.mark.parametrize("bad", ["0.006,", "overflow,overflow", "0.006", "0.006,1.2,3,4;5"])
def test_a_row_that_can_not_be_read_is_refused_by_its_line(bad):
    lines = table().decode().splitlines()
    lines[301] = bad
    if bad.startswith("0.006,1.2"):
        assert opened("\n".join(lines).encode()).n_samples == N  # more cells than needed do no harm
    else:
        assert "line 302" in refused("\n".join(lines).encode())


def test_a_million_columns_are_refused_quickly_and_in_little_memory():
    row = ",".join(["1"] * 1_000_000) + "\n"
    data = (row * 5).encode()
    tracemalloc.start()
    began = time.perf_counter()
    refused(data)
    assert time.perf_counter() - began < 2
    assert tracemalloc.get_traced_memory()[1] < 20e6
    tracemalloc.stop()


def test_forty_columns_are_refused():
    row = ",".join(["{}"] * 40) + "\n"
    assert "40 columns" in refused("".join(row.format(*[i] * 40) for i in range(N)).encode())


def test_one_endless_line_later_in_the_file_is_refused():
    assert "too long" in refused(table() + b"1" * 3_000_000)


@pytest.mark.parametrize(
    "data",
    [
        b"\n\n\n",
        b"hello\n",
        b"time,light\n",
        b"\x00\x01\x02" * 500,
        b"<html>" * 900,
        b",,,,\n" * 90,
        b"\xff\xfe",
    ],
)
def test_what_is_no_table_is_refused(data):
    refused(data)


def test_too_few_rows_are_refused():
    assert "rows" in refused(b"time_s,light\n" + b"".join(b"%f,1\n" % (i * 2e-5) for i in range(9)))


def test_more_numbers_than_memory_allows_are_refused(monkeypatch):
    monkeypatch.setattr("pegwood.instruments.recordings._table._MAX_VALUES", 500)
    assert "more than 500 numbers" in refused(table())


def test_a_file_larger_than_any_table_is_refused_unread(monkeypatch):
    monkeypatch.setattr("pegwood.instruments.recordings._table._MAX_BYTES", 1000)
    assert "too long" in refused(table())
