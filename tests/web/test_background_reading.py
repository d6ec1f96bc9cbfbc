"""Recordings are read in the background. The last test is of the threads; the others read at once."""

import io
import threading

import pytest

from pegwood.book import measuring
from pegwood.book.models import Job, Measurement
from pegwood.book.refusal import Refused
from pegwood.web.reading import BackgroundReader, Progress, _Threads

BY = "Tove Halm"


@pytest.fixture
def unread(arrived: Job) -> Measurement:
    return measuring.keep_recording(arrived, io.BytesIO(b"a recording"), "r.wav", marked="1/25", by=BY)


def at_once(errand):
    errand()


def not_yet(errand):
    pass


def test_it_reads_and_then_forgets(unread, monkeypatch):
    read = []
    monkeypatch.setattr("pegwood.web.reading.read_recording", lambda m, **_: read.append(m.pk))
    reader = BackgroundReader(at_once)
    reader.take(unread, by=BY)
    assert read == [unread.pk]
    assert reader.progress(unread) is None


def test_it_tells_how_far_it_has_come(unread, monkeypatch):
    seen = []

    def read(measurement, *, by, told):
        told(0.25)
        seen.append(reader.progress(measurement))

    monkeypatch.setattr("pegwood.web.reading.read_recording", read)
    reader = BackgroundReader(at_once)
    reader.take(unread, by=BY)
    assert seen == [Progress(0.25)]


def test_a_recording_taken_twice_is_read_once(unread):
    errands = []
    reader = BackgroundReader(errands.append)
    reader.take(unread, by=BY)
    reader.take(unread, by=BY)
    assert len(errands) == 1
    assert reader.progress(unread) == Progress()


def test_a_refusal_is_told_and_it_can_be_tried_again(unread, monkeypatch):
    def refuse(measurement, **_):
        raise Refused("The stored file is damaged.")

    monkeypatch.setattr("pegwood.web.reading.read_recording", refuse)
    reader = BackgroundReader(at_once)
    reader.take(unread, by=BY)
    assert reader.progress(unread) == Progress(trouble="The stored file is damaged.")
    monkeypatch.setattr("pegwood.web.reading.read_recording", lambda *_, **__: None)
    reader.take(unread, by=BY)
    assert reader.progress(unread) is None


def test_a_fault_of_its_own_is_told_and_logged_and_does_not_stop_the_next(unread, monkeypatch, caplog):
    def burst(measurement, **_):
        raise ZeroDivisionError

    monkeypatch.setattr("pegwood.web.reading.read_recording", burst)
    reader = BackgroundReader(at_once)
    reader.take(unread, by=BY)
    assert "Pegwood's fault" in reader.progress(unread).trouble
    assert "ZeroDivisionError" in caplog.text


def test_what_a_stopped_server_left_is_taken_up_again(unread):
    errands = []
    assert BackgroundReader(errands.append).take_up_again(by=BY) == 1
    assert len(errands) == 1


def test_what_was_set_aside_is_not_taken_up_again(unread):
    measuring.set_aside(unread, "wrong dial", by=BY)
    assert BackgroundReader(not_yet).take_up_again(by=BY) == 0


def test_threads_take_errands_one_after_another_and_outlive_a_bad_one(monkeypatch):
    monkeypatch.setattr("pegwood.web.reading.connections.close_all", lambda: None)
    start, done = _Threads(2), threading.Barrier(3, timeout=10)
    for _ in range(2):
        start(done.wait)
    done.wait()  # both are at work at the same time, and we are the third
    assert start._begun == 2


def test_what_was_read_after_the_page_had_asked_the_book_is_shown_as_read(unread):
    asked_before = Measurement.objects.get(pk=unread.pk)
    Measurement.objects.filter(pk=unread.pk).update(progress=Measurement.Progress.REFUSED, reason="no firing")
    assert BackgroundReader(not_yet).progress_of(asked_before) is None
    assert (asked_before.progress, asked_before.reason) == (Measurement.Progress.REFUSED, "no firing")
