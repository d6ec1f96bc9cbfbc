"""
Recognisers for free dictation, each by a library that a bench may have: nothing is fetched, nothing is sent.

Each takes a folder with a model that is on this machine already.
"""

from __future__ import annotations

import importlib
import json
from pathlib import Path
from typing import Any

import numpy as np

from pegwood.hearing.spoken.recognising import NoRecogniser, Recogniser
from pegwood.hearing.spoken.sound import RATE_HZ, Samples, at_16_khz, checked, pcm_of

KINDS = ("whisper", "vosk", "pocketsphinx")
_PIECE = 8000  # bytes: a quarter of a second


class Whisper:
    """By faster-whisper, with a model in a local folder (CTranslate2's format)."""

    def __init__(self, model: Path, *, language: str = "en") -> None:
        faster_whisper = _library("faster_whisper", "faster-whisper")
        folder = _folder(model, "model.bin", "a faster-whisper model")
        self._language = language
        self._model = faster_whisper.WhisperModel(
            str(folder), device="cpu", compute_type="int8", local_files_only=True
        )

    def hear(self, samples: Samples, rate_hz: float) -> list[tuple[str, float]]:
        sound = checked(at_16_khz(samples, rate_hz)).astype(np.float32)
        segments, _ = self._model.transcribe(sound, language=self._language, beam_size=5)
        # A segment's figure is a mean log probability of its tokens.
        return [
            (one.text.strip(), float(np.exp(min(0.0, one.avg_logprob))))
            for one in segments
            if one.text.strip()
        ]


class Vosk:
    """By vosk, with a model in a local folder."""

    def __init__(self, model: Path) -> None:
        self._vosk = _library("vosk", "vosk")
        folder = _folder(model, "am", "a vosk model")
        self._vosk.SetLogLevel(-1)
        self._model = self._vosk.Model(str(folder))

    def hear(self, samples: Samples, rate_hz: float) -> list[tuple[str, float]]:
        pcm = pcm_of(checked(at_16_khz(samples, rate_hz)))
        recogniser = self._vosk.KaldiRecognizer(self._model, float(RATE_HZ))
        recogniser.SetWords(True)
        said: list[dict[str, Any]] = []
        for at in range(0, len(pcm), _PIECE):
            if recogniser.AcceptWaveform(pcm[at : at + _PIECE]):
                said.append(json.loads(recogniser.Result()))
        said.append(json.loads(recogniser.FinalResult()))
        return [(word["word"], float(word["conf"])) for one in said for word in one.get("result", ())]


class Pocketsphinx:
    """
    By pocketsphinx and the English its wheel carries: light, and it mishears far more than the two above.
    """

    def __init__(self) -> None:
        library = _library("pocketsphinx", "pocketsphinx")
        self._decoder = library.Decoder(library.Config(loglevel="FATAL"))

    def hear(self, samples: Samples, rate_hz: float) -> list[tuple[str, float]]:
        pcm = pcm_of(checked(at_16_khz(samples, rate_hz)))
        self._decoder.start_utt()
        self._decoder.process_raw(pcm, full_utt=True)
        self._decoder.end_utt()
        logmath = self._decoder.get_logmath()
        words = self._decoder.seg() or ()
        return [
            (one.word.partition("(")[0], min(1.0, logmath.exp(one.prob)))
            for one in words
            if not one.word.startswith(("<", "["))
        ]


def recogniser(kind: str, model: Path | None = None) -> Recogniser:
    """
    A recogniser by its name.

    Raises
    ------
    NoRecogniser
        If it is not installed, its model is not there, or there is no such kind.
    """
    if kind == "pocketsphinx":
        return Pocketsphinx()
    if kind not in KINDS:
        raise NoRecogniser(f"There is no recogniser {kind!r}. They are: {', '.join(KINDS)}.")
    if model is None:
        raise NoRecogniser(f"{kind} needs a model on this machine: name its folder.")
    return Whisper(model) if kind == "whisper" else Vosk(model)


def _library(module: str, package: str) -> Any:
    try:
        return importlib.import_module(module)
    except ImportError:
        extra = (
            " (or Pegwood with its extra: pip install 'pegwood[spoken]')" if module == "pocketsphinx" else ""
        )
        raise NoRecogniser(
            f"{package} is not installed here. Add it with: pip install {package}{extra}"
        ) from None


def _folder(model: Path, holds: str, what: str) -> Path:
    if not (model / holds).exists():
        raise NoRecogniser(f"{model} holds no {holds!r}, so it is not {what}. Name the folder of one.")
    return model
