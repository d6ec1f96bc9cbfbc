"""Recordings from a bench: sound files and tables, opened safely and read in blocks."""

from pegwood.instruments.recordings._opening import open_recording
from pegwood.instruments.recordings._recording import Recording, RefusedRecording

__all__ = ["Recording", "RefusedRecording", "open_recording"]
