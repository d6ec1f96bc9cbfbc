"""Which sound stands where in a sentence whose words are known: by pocketsphinx's own search."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from pegwood.hearing.spoken.voice.acoustics import Acoustics
from pegwood.hearing.spoken.voice.adapting import Aligned, features_of


@dataclass(frozen=True)
class Found:
    """A sentence that was found in its sound: frame by frame, and which way each word was said."""

    aligned: Aligned
    said: tuple[tuple[str, str], ...]


class Aligner:
    """Finds known words in their sound."""

    def __init__(self, library: Any, dict_file: Path, model: Acoustics, **settings: Any) -> None:
        self._model = model
        self._folder = tempfile.TemporaryDirectory()
        self._cepstra = Path(self._folder.name)
        self._decoder = library.Decoder(
            library.Config(dict=str(dict_file), lm=None, loglevel="FATAL", mfclogdir=self._folder.name, **settings)
        )

    def find(self, words: Sequence[str], pcm: bytes) -> Found | None:
        decoder = self._decoder
        try:
            decoder.set_align_text(" ".join(words))
            self._run(pcm)
            if decoder.hyp() is None:
                return None
            decoder.set_alignment()
            self._run(pcm)
            alignment = decoder.get_alignment()
        except RuntimeError:
            return None
        if alignment is None:
            return None
        newest = max(self._cepstra.glob("*.mfc"))
        raw = newest.read_bytes()
        cepstra = np.frombuffer(raw, ">f4" if int.from_bytes(raw[:4], "big") == len(raw) // 4 - 1 else "<f4", offset=4).astype(np.float64).reshape(-1, 13)
        for one in self._cepstra.glob("*.mfc"):
            one.unlink()
        numbers = {name: at for at, name in enumerate(self._model.phones)}
        n = len(cepstra)
        phones, senones = np.full(n, -1, np.intp), np.full(n, -1, np.intp)
        said = []
        for word in alignment:
            sounds = []
            for phone in word:
                sounds.append(phone.name)
                phones[phone.start : phone.start + phone.duration] = numbers[phone.name]
                for state in phone:
                    senones[state.start : state.start + state.duration] = int(state.name)
            said.append((word.name, " ".join(sounds)))
        there = senones >= 0
        return Found(Aligned(features_of(cepstra)[there], phones[there], senones[there]), tuple(said))

    def _run(self, pcm: bytes) -> None:
        self._decoder.start_utt()
        self._decoder.process_raw(pcm, full_utt=True)
        self._decoder.end_utt()
