"""
Ears of the server for commands: sound comes in while a key is held, and is searched as it comes.

Only memory: nothing of what was said is written anywhere but what a command puts into the book, and, where a
voice is taught, how it sounds. One utterance
has one pair of ears; a few pairs are kept, for making them takes a moment.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from uuid import UUID

from pegwood.book.families import construction_of, family
from pegwood.book.hearing.voice import kept_voice, mark_of_voice, teach
from pegwood.book.refusal import Refused
from pegwood.hearing import NamedPart
from pegwood.hearing.spoken import (
    AskAgain,
    Command,
    CommandEars,
    Commands,
    NotSpeech,
    Voice,
    commands_of,
    pcm_of,
    read_command,
    read_wav,
    samples_of,
    sayings,
    sentences_to_read,
    understand,
)
from pegwood.hearing.spoken.sound import LONGEST_S, RATE_HZ, checked

#: Pairs of ears in all, at work and at rest; each holds some tens of megabytes.
MOST = 4
#: Whoever sends nothing for so long has gone away, [s].
GONE_S = 30.0
_MOST_BYTES = int(LONGEST_S * RATE_HZ * 2)


@dataclass
class _Ears:
    """A pair of ears, the family they are for and the mark of the voice they know."""

    slug: str
    voice: str
    ears: CommandEars


@dataclass
class _Utterance:
    """What is being said, and the ears it is said to."""

    pair: _Ears
    lock: threading.Lock = field(default_factory=threading.Lock)
    sound: bytearray = field(default_factory=bytearray)
    at: float = 0.0


class Listening:
    """Utterances by ticket, and ears at rest by family."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._said: OrderedDict[UUID, _Utterance] = OrderedDict()
        self._rest: list[_Ears] = []
        self._read: dict[int, bytes] = {}

    def take(self, slug: str, ticket: UUID, at: int, piece: bytes) -> int:
        """
        Take a piece: 16-bit samples at 16 kHz, from byte `at` on; say how many bytes there are.

        Raises
        ------
        Refused
            If it does not follow what is there, is too much, or too many speak at once.
        NoRecogniser
            If the extra is not installed.
        """
        one = self._utterance(slug, ticket, begins=at == 0)
        with one.lock:
            one.at = time.monotonic()
            if at > len(one.sound):
                raise Refused("A piece of what was said is missing. Say it again.")
            fresh = piece[len(one.sound) - at :]
            fresh = fresh[: len(fresh) // 2 * 2]
            if len(one.sound) + len(fresh) > _MOST_BYTES:
                raise Refused(f"That is longer than {LONGEST_S:g} s. Say one thing, then let go.")
            if fresh:
                one.sound += fresh
                one.pair.ears.take(bytes(fresh))
            return len(one.sound)

    def finish(self, ticket: UUID) -> Command | AskAgain:
        """
        That was all: what was told.

        Raises
        ------
        Refused
            If nothing came in under that ticket, or it can be no speech.
        """
        with self._lock:
            one = self._said.pop(ticket, None)
        if one is None:
            raise Refused("Nothing came in. Hold the key, speak, then let go.")
        with one.lock:
            ears = one.pair.ears
            guess = ears.finish()
            try:
                checked(samples_of(bytes(one.sound)))
                return understand(guess, ears.commands, ears.doubt)
            except NotSpeech as reason:
                raise Refused(str(reason)) from None
            finally:
                self._let_rest(one.pair)

    def whole(self, slug: str, wav: bytes) -> Command | AskAgain:
        """
        What a WAV file tells.

        Raises
        ------
        Refused
            If it can be no speech.
        NoRecogniser
            If the extra is not installed.
        """
        try:
            pcm = pcm_of(read_wav(wav))
        except NotSpeech as reason:
            raise Refused(str(reason)) from None
        pair = self._ears(slug)
        try:
            return understand(pair.ears.hear(pcm), pair.ears.commands, pair.ears.doubt)
        finally:
            self._let_rest(pair)

    def read(self, at: int, pcm: bytes) -> int:
        """
        Take one of the sentences that teach a voice; say how many are here.

        Raises
        ------
        Refused
            If there is no such sentence, or its sound can be no speech.
        """
        if not 0 <= at < len(sentences_to_read()):
            raise Refused("There is no such sentence to read.")
        try:
            checked(samples_of(pcm))
        except NotSpeech as reason:
            raise Refused(str(reason)) from None
        with self._lock:
            if at == 0:  # somebody begins anew
                self._read = {}
            self._read[at] = pcm
            return len(self._read)

    def learn(self) -> Voice:
        """
        Learn the voice that read the sentences; what was read is gone after it.

        Raises
        ------
        Refused
            If too few were read, or too little was heard of them.
        NoRecogniser
            If the extra is not installed.
        """
        with self._lock:
            read, self._read = self._read, {}
        return teach(read)

    def _utterance(self, slug: str, ticket: UUID, *, begins: bool) -> _Utterance:
        with self._lock:
            found = self._said.get(ticket)
            if found is not None:
                return found
            for gone in [t for t, one in self._said.items() if time.monotonic() - one.at > GONE_S]:
                del self._said[gone]
            if not begins:
                raise Refused("What was said before is not here any more. Say it again.")
            if len(self._said) >= MOST:
                raise Refused("Too many speak at once. Wait a moment, then say it again.")
        pair = self._ears(slug)
        pair.ears.begin()
        with self._lock:
            return self._said.setdefault(ticket, _Utterance(pair, at=time.monotonic()))

    def _ears(self, slug: str) -> _Ears:
        commands, voice = commands_for(slug), mark_of_voice()
        with self._lock:
            for at, one in enumerate(self._rest):
                if (one.slug, one.voice) == (slug, voice) and one.ears.commands == commands:
                    return self._rest.pop(at)
        return _Ears(slug, voice, CommandEars(commands, kept_voice()))

    def _let_rest(self, pair: _Ears) -> None:
        with self._lock:
            self._rest = [pair, *self._rest][:MOST]

    def ready(self, slug: str) -> None:
        """Make ears before they are needed, so that the first command does not wait for them."""
        self._let_rest(self._ears(slug))


def commands_for(slug: str) -> Commands:
    """What can be said of a camera of that family."""
    construction = construction_of(slug)
    if construction is not None:
        parts = [
            NamedPart(id=part.id, name=part.name, also=tuple(part.also))
            for part in construction.parts.values()
        ]
    else:
        parts = [NamedPart(id=name.lower().replace(" ", "-"), name=name) for name in family(slug).parts]
    return commands_of(parts, sayings())


def typed(slug: str, words: str) -> Command | AskAgain:
    """The same command, written instead of spoken."""
    return read_command(words[:400], commands_for(slug))


listening = Listening()
