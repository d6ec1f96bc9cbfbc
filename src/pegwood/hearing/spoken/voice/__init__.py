"""
The bench's knowledge of one voice: learned from a minute of reading, optional, kept here only, soon
forgotten.

Parts of it are pure arithmetic (`acoustics`, `adapting`); `aligning` asks pocketsphinx which sound stands
where.
"""

from pegwood.hearing.spoken.voice.acoustics import Acoustics, NotAcoustics, means_file, read_acoustics
from pegwood.hearing.spoken.voice.adapting import Aligned, Heard, adapted, features_of, heard, map_of
from pegwood.hearing.spoken.voice.teaching import NotAVoice, Voice, learn, sentences_to_read, voice_in

__all__ = [
    "Acoustics",
    "Aligned",
    "Heard",
    "NotAVoice",
    "NotAcoustics",
    "Voice",
    "adapted",
    "features_of",
    "heard",
    "learn",
    "map_of",
    "means_file",
    "read_acoustics",
    "sentences_to_read",
    "voice_in",
]
