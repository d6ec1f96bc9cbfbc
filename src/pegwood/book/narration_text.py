"""From the bytes of a file to the text of a narration. Pure: it needs no book."""

from __future__ import annotations

import codecs

LARGEST_FILE = 4 * 1024**2
"""Bytes of a file: some sixty hours of talk."""
LONGEST_TEXT = 1_000_000
"""Characters: some fifteen hours of talk."""


class NoText(ValueError):
    """What is no text, or too much of it, in one line."""


def text_of(content: bytes) -> str:
    """
    The text: UTF-8, UTF-16 where its mark says so, and else the letters of an old Windows recogniser.

    Raises
    ------
    NoText
        If it is no text, or is too long.
    """
    if len(content) > LARGEST_FILE:
        raise NoText(f"The file is larger than {LARGEST_FILE // 1024**2} MB. Send a shorter narration.")
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        form = "utf-16"
    elif b"\0" in content:
        raise NoText("That is no text. Send what was said as plain text, SRT or WebVTT.")
    else:
        form = "utf-8-sig"
    try:
        text = content.decode(form)
    except UnicodeDecodeError:
        if form == "utf-16":
            raise NoText("That is no whole text: it ends in the middle of a letter. Send it again.") from None
        text = content.decode("cp1252", "replace")
    if len(text) > LONGEST_TEXT:
        raise NoText(f"The narration is longer than {LONGEST_TEXT} characters. Send it in pieces.")
    return text.replace("\0", " ")
