"""Recordings from a bench: sound files and tables, opened safely and read in blocks."""

from pegwood.instruments.recordings._held import held
from pegwood.instruments.recordings._opening import open_recording
from pegwood.instruments.recordings._part import Part, part_of
from pegwood.instruments.recordings._recording import Recording, RefusedRecording

__all__ = ["Part", "Recording", "RefusedRecording", "held", "open_recording", "part_of"]
