"""Narration as it comes. Checked against the formats: WebVTT (W3C), SRT as programs write it."""

from __future__ import annotations

import pytest

from pegwood.hearing import NotNarration, read_narration


def times(text: str) -> list[tuple[str, float | None]]:
    return [(line.words, line.at_s) for line in read_narration(text)]


def test_plain_text_has_no_times():
    assert times("the cover is off\n\nslow train next\n") == [
        ("the cover is off", None),
        ("slow train next", None),
    ]


@pytest.mark.parametrize(
    ("line", "at_s"),
    [
        ("00:12:03 the cover", 723.0),
        ("[12:03] the cover", 723.0),
        ("12:03 - the cover", 723.0),
        ("12.5s: the cover", 12.5),
        ("(1:02:03,250) the cover", 3723.25),
    ],
)
def test_a_line_may_begin_with_a_time(line, at_s):
    # by hand: hours x 3600 + minutes x 60 + seconds
    assert times(line) == [("the cover", at_s)]


@pytest.mark.parametrize("line", ["12 screws are missing", "0.3 mm of play", "125th is slow", "3 sprockets"])
def test_a_number_that_is_no_time_stays_in_the_words(line):
    assert times(line) == [(line, None)]


def test_srt_gives_each_cue_its_time_and_loses_its_markup():
    first = "1\n00:00:01,500 --> 00:00:03,000\nthe <i>cover</i>\nis off\n\n"
    text = first + "2\n01:00:00,000 --> 01:00:02,000\nnext\n"
    assert times(text) == [("the cover is off", 1.5), ("next", 3600.0)]


def test_webvtt_gives_each_cue_its_time():
    text = "WEBVTT\n\n00:01.000 --> 00:02.000\n<v Bench>slow train\n\n00:05.000 --> 00:06.000\ngummed\n"
    assert [at for _, at in times(text)] == [1.0, 5.0]


@pytest.mark.parametrize("text", ["", " \n\n", "\0\1\2", "...\n--", "1\n00:00:01,000 --> 00:00:02,000\n\n"])
def test_what_holds_no_words_is_refused_in_one_line(text):
    with pytest.raises(NotNarration, match=r"tape\.srt") as refused:
        read_narration(text, name="tape.srt")
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("WEBVTT\n\n00:00 --> nonsense\nthe cover is off\n", 3),
        ("00:00 --> nonsense\nthe cover is off\n", 1),
        ("1\n00:00:01,000 --> 00:00:02,000\nthe cover\n\n2\n00:00:03,000 -->\nis off\n", 6),
        ("WEBVTT\n\n00:01.000 --> 00:02.000\nslow train\n\n0:5.000 --> 0:6.000\ngummed\n", 6),
    ],
)
def test_a_subtitle_whose_times_cannot_be_read_is_refused_by_its_line(text, line):
    # WebVTT (W3C, 4.1): minutes and seconds of two digits, thousandths of three
    with pytest.raises(NotNarration, match=rf"tape\.srt: line {line} ") as refused:
        read_narration(text, name="tape.srt")
    assert "\n" not in str(refused.value)


def test_webvtt_may_have_notes_and_cue_names():
    # WebVTT (W3C, 1.3 and 1.6): a comment block, a cue identifier, settings after the times
    text = "WEBVTT bench\n\nNOTE taken by hand\n\nfirst\n00:01.000 --> 00:02.000 align:start\nthe cover\n"
    assert times(text) == [("the cover", 1.0)]


def test_an_arrow_in_talk_makes_no_subtitles():
    assert times("cover --> off") == [("cover --> off", None)]
