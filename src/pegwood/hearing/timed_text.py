"""Narration as it comes: plain text, subtitles (SRT, WebVTT), or lines that begin with a time."""

from __future__ import annotations

import re

import pysubs2
from pysubs2.formats.subrip import SubripFormat
from pysubs2.formats.webvtt import WebVTTFormat

from pegwood.hearing.results import Line

#: A time at the beginning of a line: "00:12:03", "[12:03]", "(1:02:03.5)", "12.5s:", "75 s -".
_CLOCK = re.compile(
    r"\s*[\[(]?(?:(?P<h>\d{1,3}):)?(?P<m>\d{1,3}):(?P<s>[0-5]?\d(?:[.,]\d{1,3})?)[\])]?(?:\s*[-–—:|]\s|\s|$)"
)
_SECONDS = re.compile(r"\s*[\[(]?(?P<s>\d{1,6}(?:[.,]\d{1,3})?)\s?s(?:ec)?[\])]?(?:\s*[-–—:|]\s?|\s|$)")
#: What only subtitles have: an arrow beside a time.
_ARROW = re.compile(r"\d *-->|--> *\d")
_WEBVTT = "WEBVTT"
#: A text of which the shortest lines are longer than this is no narration [characters].
LONGEST_TEXT = 20_000_000


class NotNarration(ValueError):
    """What was given holds no narration; the message says why and what would do, in one line."""


def read_narration(text: str, *, name: str = "") -> tuple[Line, ...]:
    """
    Lines of narration, with the times at which they began where the text tells them.

    Subtitles are read by pysubs2, which knows their markup and the slips that programs make in it.

    Parameters
    ----------
    text : str
        Plain text, SRT, WebVTT, or lines that begin with a time.
    name : str
        What to call it in an error.

    Raises
    ------
    NotNarration
        If there are no words in it, it is not text, or a subtitle's times cannot be read.
    """
    called = name or "the narration"
    if "\0" in text:
        raise NotNarration(f"{called} is no text. Expected plain text, SRT or WebVTT.")
    if len(text) > LONGEST_TEXT:
        raise NotNarration(f"{called} is too long: {len(text)} characters. Split it.")
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    lines = _subtitles(text, called) if _is_subtitles(text) else _lines(text)
    if not any(any(letter.isalpha() for letter in line.words) for line in lines):
        raise NotNarration(f"{called} holds no words.")
    return lines


def _is_subtitles(text: str) -> bool:
    return text.lstrip().startswith(_WEBVTT) or _ARROW.search(text) is not None


def _subtitles(text: str, called: str) -> tuple[Line, ...]:
    kind = "vtt" if text.lstrip().startswith(_WEBVTT) else "srt"
    _refuse_bad_times(text, kind, called)
    try:
        found = pysubs2.SSAFile.from_string(text, format_=kind)
    except (pysubs2.Pysubs2Error, ValueError, IndexError) as error:
        raise NotNarration(f"{called} looks like subtitles but cannot be read as such: {error}") from error
    lines = []
    for event in found:
        words = " ".join(event.plaintext.split())
        if words and not event.is_comment:
            lines.append(Line(words=words, at_s=event.start / 1000))
    if not lines:
        raise NotNarration(f"{called} looks like subtitles but none has words.")
    return tuple(lines)


def _refuse_bad_times(text: str, kind: str, called: str) -> None:
    """A cue whose times pysubs2 cannot read would be taken for words of the one before it."""
    stamp = (WebVTTFormat if kind == "vtt" else SubripFormat).TIMESTAMP
    for number, line in enumerate(text.split("\n"), 1):
        if "-->" in line and len(stamp.findall(line)) != 2:
            wanted = "00:01:02.500 --> 00:01:04.000" if kind == "vtt" else "00:01:02,500 --> 00:01:04,000"
            told = f"line {number} does not tell from when to when ({line.strip()[:60]!r})"
            raise NotNarration(f"{called}: {told}. Expected {wanted}.")


def _lines(text: str) -> tuple[Line, ...]:
    lines = []
    for written in text.split("\n"):
        words, at_s = _timed(written)
        words = " ".join(words.split())
        if words:
            lines.append(Line(words=words, at_s=at_s))
    return tuple(lines)


def _timed(written: str) -> tuple[str, float | None]:
    """The words of a line, and the time it begins with [s]."""
    if clock := _CLOCK.match(written):
        seconds = float(clock["s"].replace(",", "."))
        at_s = 3600.0 * int(clock["h"] or 0) + 60.0 * int(clock["m"]) + seconds
        return written[clock.end() :], at_s
    if seconds_only := _SECONDS.match(written):
        return written[seconds_only.end() :], float(seconds_only["s"].replace(",", "."))
    return written, None
