"""Which sound stands where in a sentence whose words are known: by pocketsphinx's own search."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Self

import numpy as np

from pegwood.hearing.spoken.decoders import dictionary_of, model_folder, pocketsphinx
from pegwood.hearing.spoken.voice.acoustics import Acoustics, Array, means_file
from pegwood.hearing.spoken.voice.adapting import Aligned, features_of

_CEPSTRA = 13


class Aligner:
    """
    Finds known words in their sound.

    The library hands its cepstra out through files only: they lie in a folder of their own while one
    sentence is read, and are gone after it. Use it in a ``with``.

    Parameters
    ----------
    words : sequence of str
        All that may be in a sentence.
    model : Acoustics
        With whose means it is searched.

    Raises
    ------
    NoRecogniser
        If pocketsphinx is not installed.
    """

    def __init__(self, words: Sequence[str], model: Acoustics) -> None:
        self._numbers = {name: at for at, name in enumerate(model.phones)}
        self._folder = tempfile.TemporaryDirectory()
        folder = Path(self._folder.name)
        (folder / "words.dict").write_text(dictionary_of(words, taught=True), "utf-8")
        (folder / "means").write_bytes(means_file(model.means))
        self._cepstra = folder / "cepstra"
        self._cepstra.mkdir()
        library = pocketsphinx()
        self._decoder: Any = library.Decoder(
            library.Config(
                hmm=str(model_folder()),
                mean=str(folder / "means"),
                dict=str(folder / "words.dict"),
                lm=None,
                mfclogdir=str(self._cepstra),
                loglevel="FATAL",
            )
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._folder.cleanup()

    def find(self, words: Sequence[str], pcm: bytes) -> Aligned | None:
        """
        Where each sound of the words stands; None if they cannot be found there.

        Parameters
        ----------
        words : sequence of str
            In the order spoken.
        pcm : bytes
            16-bit, 16 kHz, one channel.
        """
        try:
            self._decoder.set_align_text(" ".join(words))
            self._hear(pcm)
            if self._decoder.hyp() is None:
                return None
            self._decoder.set_alignment()
            cepstra = self._hear(pcm)
            alignment = self._decoder.get_alignment()
        except RuntimeError:  # the library's word for a search that reached no end
            return None
        if alignment is None or not len(cepstra):
            return None
        phones, senones = (np.full(len(cepstra), -1, np.intp) for _ in range(2))
        for phone in (one for word in alignment for one in word):
            phones[phone.start : phone.start + phone.duration] = self._numbers[phone.name]
            for state in phone:  # by its senone's number
                senones[state.start : state.start + state.duration] = int(state.name)
        there = senones >= 0
        return Aligned(features_of(cepstra)[there], phones[there], senones[there])

    def _hear(self, pcm: bytes) -> Array:
        """Search it; its cepstra, shape (frames, 13)."""
        try:
            self._decoder.start_utt()
            self._decoder.process_raw(pcm, full_utt=True)
            self._decoder.end_utt()
            return _read_cepstra(max(self._cepstra.iterdir()).read_bytes())
        finally:
            for one in self._cepstra.iterdir():
                one.unlink()


def _read_cepstra(content: bytes) -> Array:
    """A file of cepstra: how many numbers, then they, in the order of bytes that makes the count true."""
    n = len(content) // 4 - 1
    order = ">" if int.from_bytes(content[:4], "big") == n else "<"
    return np.frombuffer(content, f"{order}f4", n, 4).astype(np.float64).reshape(-1, _CEPSTRA)
