"""Teaching the bench a voice: a minute of sentences that are read to it once, for this bench only."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from pegwood.hearing.spoken.decoders import model_folder
from pegwood.hearing.spoken.sayings import LANGUAGES, spoken_words
from pegwood.hearing.spoken.voice.acoustics import Acoustics, means_file, read_acoustics
from pegwood.hearing.spoken.voice.adapting import adapted, heard
from pegwood.hearing.spoken.voice.aligning import Aligner

#: Of the sentences, so many have to be found in what was read; and so much speech has to be in them, [s].
FEWEST = 8
SHORTEST_S = 10.0
_FRAMES_A_S = 100
_NOT_SPEECH = ("SIL", "+NSN+", "+SPN+")
#: The second time the sounds are found with the means of the first.
_ROUNDS = 2


class NotAVoice(ValueError):
    """Recordings that no voice can be learned from; one line with the remedy."""


@dataclass(frozen=True)
class Voice:
    """
    A voice, as the recogniser takes it.

    Attributes
    ----------
    means : bytes
        Of the acoustic model, moved to where this voice has them, as a file of pocketsphinx.
    sentences : int
        That it was learned from.
    speech_s : float
        How much speech was in them [s].
    """

    means: bytes
    sentences: int
    speech_s: float

    def content(self) -> bytes:
        """As a file: a line that tells of it, then the means."""
        told = {"sentences": self.sentences, "speech_s": self.speech_s}
        return json.dumps(told).encode() + b"\n" + self.means


def voice_in(content: bytes) -> Voice:
    """
    A voice from its file.

    Raises
    ------
    NotAVoice
        If the file holds something else, or only half of it.
    """
    head, _, means = content.partition(b"\n")
    try:
        told = json.loads(head)
        found = Voice(means, int(told["sentences"]), float(told["speech_s"]))
    except (ValueError, TypeError, KeyError):
        raise NotAVoice("The voice's file is not one that Pegwood wrote. Read the sentences again.") from None
    if len(means) != len(means_file(_model().means)):
        raise NotAVoice("The voice's file is cut short, or of another model. Read the sentences again.")
    return found


@cache
def sentences_to_read(language: str = "en") -> tuple[str, ...]:
    """What is read to teach a voice."""
    table = tomllib.loads((LANGUAGES / f"{language}.enrol.toml").read_text("utf-8"))
    return tuple(table["read"])


def learn(readings: Sequence[tuple[str, bytes]]) -> Voice:
    """
    The voice that read the sentences.

    Parameters
    ----------
    readings : sequence of (str, bytes)
        A sentence of `sentences_to_read`, and its sound: 16-bit, 16 kHz, one channel.

    Returns
    -------
    Voice

    Raises
    ------
    NotAVoice
        If too few of the sentences are found in their sound.
    NoRecogniser
        If pocketsphinx is not installed.
    """
    told = [(spoken_words(text), pcm) for text, pcm in readings]
    told = [(words, pcm) for words, pcm in told if words and len(pcm) >= 2 * 16_000 // 4]
    base = _model()
    model, still = base, np.array([one in _NOT_SPEECH for one in base.phones])
    for _ in range(_ROUNDS):
        with Aligner(sorted({one for words, _ in told for one in words}), model) as aligner:
            found = [one for words, pcm in told if (one := aligner.find(words, pcm)) is not None]
        frames = sum(int((~still[one.phones]).sum()) for one in found)
        if len(found) < FEWEST or frames < SHORTEST_S * _FRAMES_A_S:
            raise NotAVoice(
                f"Only {len(found)} of {len(readings)} sentences were heard. "
                "Read each as it stands, in a quiet room."
            )
        # Counted with the means that found them; moved from where the model had them.
        model = base.with_means(adapted(base, heard(model, found), still))
    return Voice(means_file(model.means), len(found), frames / _FRAMES_A_S)


@cache
def _model() -> Acoustics:
    return read_acoustics(model_folder())
