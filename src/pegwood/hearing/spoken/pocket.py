"""
Commands by pocketsphinx: the grammar, searched while somebody speaks.

One sound is taken by several decoders. Three search the same grammar, two of them as if the sound came from a
longer or a shorter throat. What was really said is found by all; what was only fitted to talk or noise
seldom is. Another knows no grammar and strings phones together as it likes: how far the grammar's best path
stays behind it is the log likelihood ratio that talk fails at (the usual filler model of keyword spotting).
Where doubt is left, the commands that differ in one thing only are searched once more by themselves.
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pegwood.hearing.spoken.decoders import maker
from pegwood.hearing.spoken.grammar import Commands
from pegwood.hearing.spoken.results import Guess
from pegwood.hearing.spoken.rivals import slips, steps_of
from pegwood.hearing.spoken.sound import samples_of, speech_in
from pegwood.hearing.spoken.understanding import TAUGHT, USUAL, Doubt
from pegwood.hearing.spoken.voice import Voice

#: Of the throats that are tried beside the middle one.
_THROATS = ("0.93", "1.07")
#: The same where the voice is known, and its throat with it.
_THROATS_OF_ONE = ("0.95", "1.05")
#: Below these a guess is asked again whatever else fits as well.
_SOME_VOTES = 0.5
_NO_TALK = -3.0
_PIECE = 6400
#: Nobody says a word in less, [bytes]: 0.15 s.
_SHORTEST = 4_800
#: So much speech is waited for before the mean of the cepstra is taken, [s]; and no longer than that,
#: [bytes].
_MEAN_FROM_S = 0.4
_NO_LATER = 96_000


_NOTHING = Guess(words="", worst=float("-inf"), whole=float("-inf"), votes=0.0)


@dataclass(frozen=True)
class _Path:
    """What one search found: words, its score, and each word with its frames and acoustic score."""

    words: str
    segments: tuple[tuple[str, int, int, float], ...]


class CommandEars:
    """
    Listens for commands of one camera; several utterances one after the other, never two at once.

    Parameters
    ----------
    commands : Commands
    voice : Voice, optional
        Of who speaks, if the bench was taught it.

    Raises
    ------
    NoRecogniser
        If pocketsphinx is not installed.
    """

    def __init__(self, commands: Commands, voice: Voice | None = None) -> None:
        self.commands = commands
        self.voice = voice
        with tempfile.TemporaryDirectory() as folder:
            settings = {}
            if voice is not None:
                means = Path(folder) / "means"
                means.write_bytes(voice.means)
                settings = {"mean": str(means)}
            make = maker(Path(folder), commands, settings, taught=voice is not None)
            self._main = make("main", compallsen=True)
            throats = _THROATS if voice is None else _THROATS_OF_ONE
            self._others = [make("main", warp_params=one) for one in throats]
            self._loop = make("loop", compallsen=True)
            self._slips = make("main", compallsen=True)
        self._early: list[bytes] | None = []

    def begin(self) -> None:
        """Somebody begins to speak."""
        self._early = []
        self._said: list[bytes] = []
        self._mean = ""

    def take(self, pcm: bytes) -> None:
        """A piece of what is said: 16-bit, 16 kHz, one channel, an even number of bytes."""
        if len(pcm) < 2:
            return
        if self._early is None:
            self._search(pcm)
            return
        self._early.append(pcm)
        early = b"".join(self._early)
        begins, speech_s = speech_in(samples_of(early))
        if speech_s >= _MEAN_FROM_S or len(early) >= _NO_LATER:
            self._early = None
            early = early[2 * begins :]
            self._mean = self._mean_of(early)
            for one in self._all:
                one.set_cmn(self._mean)
                one.start_utt()
            self._search(early)

    def _mean_of(self, pcm: bytes) -> str:
        """
        The cepstral mean of the microphone, the room and the voice, which is taken off all that follows.
        """
        self._main.start_utt()
        self._main.process_raw(pcm, no_search=True, full_utt=True)
        mean = self._main.get_cmn(False)
        self._main.end_utt()
        return str(mean)

    def _search(self, pcm: bytes) -> None:
        self._said.append(pcm)
        for at in range(0, len(pcm), _PIECE):
            for one in self._all:
                one.process_raw(pcm[at : at + _PIECE])

    def finish(self) -> Guess:
        """That was all: what it was taken for."""
        if self._early is not None:
            whole = b"".join(self._early)
            self._early = None
            whole = whole[2 * speech_in(samples_of(whole))[0] :]
            if len(whole) < _SHORTEST:  # the library takes nothing at all for an error
                return _NOTHING
            self._said.append(whole)
            for one in self._all:
                one.start_utt()
                one.process_raw(whole, full_utt=True)
        for one in self._all:
            one.end_utt()
        main, loop = _path(self._main), _path(self._loop)
        others = [_path(one) for one in self._others]
        guess = _guess(main, loop, others)
        if not self._is_worth_it(guess):
            return guess
        score = _nats(self._main.hyp().score)
        return replace(guess, rivals=self._rivals(guess.words, score))

    def hear(self, pcm: bytes) -> Guess:
        """All of an utterance at once."""
        self.begin()
        self.take(pcm)
        return self.finish()

    def _is_worth_it(self, guess: Guess) -> bool:
        """What is asked again anyway, or is sure enough without, needs no second look."""
        plain = guess.votes == 1.0 and self.voice is not None
        return guess.votes >= _SOME_VOTES and guess.whole > _NO_TALK and not plain

    def _rivals(self, words: str, score: float) -> tuple[tuple[str, float], ...]:
        """The best of the commands that differ in one thing, and how far it stays behind."""
        some = slips(words, self.commands)
        if not some:
            return ()
        start, end, steps = steps_of(words, some)
        one = self._slips
        written = [step if step[3] else step[:3] for step in steps]
        one.add_fsg("slips", one.create_fsg("slips", start, end, written))
        one.activate_search("slips")
        if self._mean:
            one.set_cmn(self._mean)
        one.start_utt()
        for piece in self._said:
            one.process_raw(piece, full_utt=not self._mean)
        one.end_utt()
        found = one.hyp()
        return ((found.hypstr, score - _nats(found.score)),) if found and found.hypstr else ()

    @property
    def doubt(self) -> Doubt:
        """How sure a guess of these ears has to be."""
        return USUAL if self.voice is None else TAUGHT

    @property
    def _all(self) -> Sequence[Any]:
        return (self._main, *self._others, self._loop)


def _guess(main: _Path, loop: _Path, others: Sequence[_Path]) -> Guess:
    if not main.words:
        return _NOTHING
    frames = max(end for *_, end, _ in (*main.segments, *loop.segments)) + 1
    free = [0.0] * frames
    for _, start, end, score in loop.segments:
        for at in range(start, end + 1):
            free[at] = score / (end - start + 1)
    # Silence counts with the whole: talk that the grammar could only take for silence must tell.
    behind = [
        (word, score - sum(free[start : end + 1]), end - start + 1)
        for word, start, end, score in main.segments
        if word != "(NULL)"
    ]
    spoken = [(score, length) for word, score, length in behind if not word.startswith(("<", "["))]
    if not spoken:
        return _NOTHING
    return Guess(
        words=main.words,
        worst=min(score / length for score, length in spoken),
        whole=sum(score for _, score, _ in behind) / sum(length for _, length in spoken),
        votes=sum(one.words == main.words for one in others) / max(1, len(others)),
        taken_by_others=tuple(one.words for one in others if one.words != main.words),
    )


def _path(decoder: Any) -> _Path:
    found = decoder.hyp()
    segments = tuple(
        (one.word, one.start_frame, one.end_frame, _nats(one.ascore)) for one in decoder.seg() or ()
    )
    return _Path(found.hypstr if found else "", segments)


def _nats(score: float) -> float:
    """The library shifts its scores ten bits down and gives their exponential: back to a likelihood's log."""
    return 1024 * math.log(score) if score > 0 else -math.inf
