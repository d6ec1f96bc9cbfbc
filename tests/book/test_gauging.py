"""Gaugings: readings of the other instruments come in, are read, and are accepted as found or as left."""

import io
from dataclasses import replace

import pytest

from book.cast import BY
from pegwood.book import leaving, measuring
from pegwood.book.files.store import read as stored
from pegwood.book.gauging import WAYS, Sent, keep_gauging, typed_figures
from pegwood.book.models import Measurement
from pegwood.book.refusal import Refused

METER = WAYS["meter"]
ROWS = [
    ("5", "5.5", "up"),
    ("9", "9.5", "up"),
    ("13", "13,5", "up"),
    ("9", "9.4", "down"),
    ("5", "5.6", "down"),
]


def typed(rows=ROWS):
    return [typed_figures(METER.columns, rows, "meter.csv")]


def gauged(job, rows=ROWS, **said):
    return measuring.read_recording(keep_gauging(job, METER, typed(rows), said=said, by=BY), by=BY)


def test_typed_figures_are_kept_as_a_table_that_keeps_decimal_commas():
    table = typed_figures(METER.columns, [*ROWS[:3], ("", " ", "")], "meter.csv")
    assert table.content.read() == (b"reference_ev;shown_ev;direction\n5;5.5;up\n9;9.5;up\n13;13,5;up\n")


def test_a_row_left_empty_between_readings_keeps_their_numbers(arrived):
    rows = [("5", "5.5"), ("", ""), ("nine", "9.5"), ("", "")]
    assert typed_figures(METER.columns[:2], rows, "meter.csv").content.read() == (
        b"reference_ev;shown_ev\n5;5.5\n\nnine;9.5\n"
    )
    refused = gauged(arrived, [(*one, "") for one in rows])
    # the third row on the page, whatever line of the table it became
    assert refused.reason.startswith("Reading 3: reference: ")
    assert ".csv" not in refused.reason


def test_a_column_in_which_nothing_stands_is_left_out():
    table = typed_figures(METER.columns, [("5", "5.5", "")], "meter.csv")
    assert table.content.read() == b"reference_ev;shown_ev\n5;5.5\n"


def test_it_is_kept_read_and_accepted_and_the_diary_tells(arrived):
    measurement = gauged(arrived, cell="selenium")
    assert (measurement.instrument, measurement.progress) == ("meter", "read")
    assert measurement.result["offset_ev"] == pytest.approx(0.5, abs=0.05)
    measuring.accept_measurement(measurement, "as found", by=BY)
    told = list(arrived.diary.order_by("pk").values_list("what", flat=True))
    assert told[-3:] == ["measured: exposure meter", "read the recording", "accepted as found"]
    entry = arrived.diary.get(what="read the recording")
    assert entry.new["offset_ev"] == measurement.result["offset_ev"]
    assert arrived.diary.get(what="measured: exposure meter").new["cell"] == "selenium"


def test_what_was_sent_stays_as_it_came(arrived):
    assert stored(gauged(arrived).recording).startswith(b"reference_ev;shown_ev;direction\n5;5.5;up")


def test_sent_twice_over_a_bad_line_it_is_one(arrived):
    one, other = (keep_gauging(arrived, METER, typed(), said={"cell": "cds"}, by=BY) for _ in range(2))
    third = keep_gauging(arrived, METER, typed(), said={"cell": "selenium"}, by=BY)
    assert one == other
    assert third != one


def test_a_second_reading_as_found_sets_the_first_aside(arrived):
    first = measuring.accept_measurement(gauged(arrived), "as found", by=BY)
    second = gauged(arrived, [*ROWS, ("13", "13.4", "down")])
    measuring.accept_measurement(second, "as found", by=BY)
    first.refresh_from_db()
    assert first.set_aside
    assert Measurement.objects.get(phase="as found", set_aside=False) == second


def test_what_the_instrument_refuses_is_an_answer_with_its_reason(arrived):
    refused = gauged(arrived, [("five", "5", "up")])
    assert refused.progress == "refused"
    assert "Reading 1: " in refused.reason
    with pytest.raises(Refused, match="nothing to accept"):
        measuring.accept_measurement(refused, "as found", by=BY)


def test_nothing_typed_is_refused_and_nothing_is_kept(arrived):
    with pytest.raises(Refused, match="No reading is typed"):
        typed([("", "", "")])


def test_a_job_that_is_over_takes_no_readings(looked_over):
    leaving.send_back_unmended(looked_over, "not worth it", by=BY)
    ready = looked_over
    ready.refresh_from_db()
    with pytest.raises(Refused, match="is over"):
        keep_gauging(ready, METER, typed(), said={}, by=BY)


def test_more_files_than_a_way_takes_are_refused(arrived):
    with pytest.raises(Refused, match="One table of readings"):
        keep_gauging(arrived, METER, typed() * 2, said={}, by=BY)


def test_a_table_beyond_all_measure_is_refused(arrived):
    with pytest.raises(Refused):
        keep_gauging(arrived, METER, [Sent(io.BytesIO(b"a;b\n" * 300_000), "x.csv")], said={}, by=BY)


def test_a_way_this_pegwood_does_not_know_is_told(arrived):
    measurement = keep_gauging(arrived, METER, typed(), said={}, by=BY)
    Measurement.objects.filter(pk=measurement.pk).update(settings={"way": "luck", "said": {}})
    measurement.refresh_from_db()
    with pytest.raises(Refused, match="Nothing is gauged as 'luck'"):
        measuring.read_recording(measurement, by=BY)


def test_a_mark_is_told_or_always_the_same():
    with pytest.raises(ValueError, match="a mark is told, or always the same"):
        replace(METER, marked="stop", always_marked="glare")
