"""
Speech at the bench: commands of a constrained grammar, and free dictation by whichever recogniser there is.

Nothing leaves the machine. A command that is not sure is asked again, and nothing can be done by voice alone.
"""

from pegwood.hearing.spoken.dictation import KINDS, Pocketsphinx, Vosk, Whisper, recogniser
from pegwood.hearing.spoken.grammar import Commands, commands_of
from pegwood.hearing.spoken.pocket import CommandEars
from pegwood.hearing.spoken.pronouncing import Pronouncing, dictionary, pronouncing
from pegwood.hearing.spoken.reading import read_command
from pegwood.hearing.spoken.recognising import NoRecogniser, Recogniser
from pegwood.hearing.spoken.results import AskAgain, Command, Guess
from pegwood.hearing.spoken.sayings import NotSayings, Sayings, sayings
from pegwood.hearing.spoken.sound import NotSpeech, pcm_of, read_wav, samples_of
from pegwood.hearing.spoken.understanding import Doubt, understand
from pegwood.hearing.spoken.voice import NotAVoice, Voice, learn, sentences_to_read, voice_in

__all__ = [
    "KINDS",
    "AskAgain",
    "Command",
    "CommandEars",
    "Commands",
    "Doubt",
    "Guess",
    "NoRecogniser",
    "NotAVoice",
    "NotSayings",
    "NotSpeech",
    "Pocketsphinx",
    "Pronouncing",
    "Recogniser",
    "Sayings",
    "Voice",
    "Vosk",
    "Whisper",
    "commands_of",
    "dictionary",
    "learn",
    "pcm_of",
    "pronouncing",
    "read_command",
    "read_wav",
    "recogniser",
    "samples_of",
    "sayings",
    "sentences_to_read",
    "understand",
    "voice_in",
]
