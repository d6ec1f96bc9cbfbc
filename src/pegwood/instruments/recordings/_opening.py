"""Recognise a file and open it."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

from pegwood.instruments.recordings._recording import Recording

__all__ = ["open_recording"]


def open_recording(source: Path | BinaryIO, name: str | None = None) -> Recording:
    """
    Open a recording: WAV, FLAC, AIFF, or a CSV table from a scope or a microcontroller.

    Parameters
    ----------
    source : Path or binary file
        The file; an open one must allow seeking and stays open.
    name : str, optional
        Name to show; by default the file's own.

    Returns
    -------
    recording : Recording
        Ready to be read in blocks.

    Raises
    ------
    RefusedRecording
        If it can't be used, with the reason and the remedy in one line.
    """
    raise NotImplementedError
