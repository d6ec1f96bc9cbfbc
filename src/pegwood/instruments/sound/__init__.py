"""Slow shutter speeds from the sounds of opening and closing."""

from pegwood.instruments.sound._budget import MIRRORS, Mirror
from pegwood.instruments.sound._firings import FASTEST_S
from pegwood.instruments.sound.analysis import METHOD, analyse_sound
from pegwood.instruments.sound.results import CannotTell, HeardFiring, Sound, SoundResult, chance_in_words

__all__ = [
    "FASTEST_S",
    "METHOD",
    "MIRRORS",
    "CannotTell",
    "HeardFiring",
    "Mirror",
    "Sound",
    "SoundResult",
    "analyse_sound",
    "chance_in_words",
]
