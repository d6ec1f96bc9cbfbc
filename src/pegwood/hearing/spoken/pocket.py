"""
Commands by pocketsphinx: the grammar, searched while somebody speaks.

One sound is taken by several decoders. Three search the same grammar, two of them as if the sound came from a
longer or a shorter throat. What was really said is found by all; what was only fitted to talk or noise seldom
is. Another knows no grammar and strings phones together as it likes: how far the grammar's best path stays
behind
it is the log likelihood ratio that talk fails at (the usual filler model of keyword spotting).
"""

from __future__ import annotations

import itertools
import math
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from pegwood.hearing.spoken.grammar import END, START, Commands
from pegwood.hearing.spoken.pronouncing import Pronouncing, dictionary, pronouncing
from pegwood.hearing.spoken.recognising import NoRecogniser
from pegwood.hearing.spoken.results import Guess
from pegwood.hearing.spoken.sound import samples_of, speech_in

#: How far behind the best path another may fall before it is given up: narrower loses words, wider time.
_BEAMS = {"beam": 1e-50, "pbeam": 1e-50, "wbeam": 1e-30, "lpbeam": 1e-42, "lponlybeam": 1e-30}
#: Of the throats that are tried beside the middle one.
_THROATS = ("0.93", "1.07")
_PHONES = [
    "AA",
    "AE",
    "AH",
    "AO",
    "AW",
    "AY",
    "B",
    "CH",
    "D",
    "DH",
    "EH",
    "ER",
    "EY",
    "F",
    "G",
    "HH",
    "IH",
    "IY",
    "JH",
    "K",
    "L",
    "M",
    "N",
    "NG",
    "OW",
    "OY",
    "P",
    "R",
    "S",
    "SH",
    "T",
    "TH",
    "UH",
    "UW",
    "V",
    "W",
    "Y",
    "Z",
    "ZH",
]
_PIECE = 6400
_RIVALS = 60
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

    Raises
    ------
    NoRecogniser
        If pocketsphinx is not installed.
    """

    def __init__(self, commands: Commands) -> None:
        self.commands = commands
        library = _pocketsphinx()
        model = Path(library.get_model_path()) / "en-us"
        says = english()
        with tempfile.TemporaryDirectory() as folder:
            make = _maker(library, model, Path(folder), commands)
            self._main = make("main", says.in_every_way, {"compallsen": True})
            self._others = [make("main", says.in_every_way, {"warp_params": one}) for one in _THROATS]
            self._loop = make("loop", says.in_every_way, {"compallsen": True})
        self._early: list[bytes] | None = []

    def begin(self) -> None:
        """Somebody begins to speak."""
        self._early = []

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
            mean = self._mean_of(early)
            for one in self._all:
                one.set_cmn(mean)
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
            for one in self._all:
                one.start_utt()
                one.process_raw(whole, full_utt=True)
        for one in self._all:
            one.end_utt()
        main, loop = _path(self._main), _path(self._loop)
        others = [_path(one) for one in self._others]
        return _guess(main, loop, others, _rivals(self._main))

    def hear(self, pcm: bytes) -> Guess:
        """All of an utterance at once."""
        self.begin()
        self.take(pcm)
        return self.finish()

    @property
    def _all(self) -> Sequence[Any]:
        return (self._main, *self._others, self._loop)


def _rivals(decoder: Any) -> tuple[tuple[str, float], ...]:
    """The next best paths through what the search kept, and how far they stay behind the best of them."""
    found: dict[str, float] = {}
    for one in itertools.islice(decoder.nbest() or (), _RIVALS):
        found.setdefault(one.hypstr, _nats(one.score))
    best = max(found.values(), default=0.0)
    return tuple((words, best - score) for words, score in found.items())


def _guess(
    main: _Path, loop: _Path, others: Sequence[_Path], rivals: tuple[tuple[str, float], ...] = ()
) -> Guess:
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
        rivals=tuple(one for one in rivals if one[0] != main.words),
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


def _maker(library: Any, model: Path, folder: Path, commands: Commands) -> Callable[..., Any]:
    def make(search: str, ways: Callable[[str], Sequence[str]], more: dict[str, Any]) -> Any:
        words = folder / "words.dict"
        words.write_text(_dictionary(commands, ways), "utf-8")
        # lw: the grammar's chances stand as they are written; bestpath would weigh them another time.
        config = library.Config(
            hmm=str(model / "en-us"),
            dict=str(words),
            lm=None,
            lw=1.0,
            bestpath=False,
            loglevel="FATAL",
            **_BEAMS,
            **more,
        )
        decoder = library.Decoder(config)
        if search == "loop":
            steps: list[tuple[Any, ...]] = [(0, 0, 1.0, f"+{one}+") for one in _PHONES]
            decoder.add_fsg("loop", decoder.create_fsg("loop", 0, 1, [*steps, (0, 1, 1.0)]))
        else:
            written = [step if step[3] else step[:3] for step in commands.steps]
            decoder.add_fsg("main", decoder.create_fsg("main", START, END, written))
        decoder.activate_search(search)
        return decoder

    return make


def _dictionary(commands: Commands, ways: Callable[[str], Sequence[str]]) -> str:
    lines = [f"+{phone}+ {phone}" for phone in _PHONES]
    for word in commands.words:
        for number, phones in enumerate(ways(word), start=1):
            lines.append(f"{word}{'' if number == 1 else f'({number})'} {phones}")
    return "\n".join(lines) + "\n"


@cache
def english() -> Pronouncing:
    """
    How English words sound, by the dictionary that pocketsphinx carries and Pegwood's own table.

    Raises
    ------
    NoRecogniser
        If pocketsphinx is not installed.
    """
    file = Path(_pocketsphinx().get_model_path()) / "en-us" / "cmudict-en-us.dict"
    with file.open(encoding="utf-8") as lines:
        return pronouncing(dictionary(lines))


def _pocketsphinx() -> Any:
    try:
        import pocketsphinx
    except ImportError:
        raise NoRecogniser(
            "Speaking needs pocketsphinx. Add it with: pip install 'pegwood[spoken]'"
        ) from None
    return pocketsphinx
