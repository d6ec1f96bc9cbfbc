"""
Spoken commands through the real recogniser: by voice, right, wrong and done, asked again, talk taken for one.

Beside them, how long after the last sound the answer is there. Each voice speaks to a bench that never heard
it, then to one that it has read the sentences of `sentences_to_read` to: others than those it is then tried
with, at another speed, in other noise of the same strength.

    python -m benchmarks.spoken [FAMILY] [COMMANDS] [SEED] [tuning]
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

import numpy as np

from pegwood.anatomy.construction import constructions
from pegwood.hearing import NamedPart
from pegwood.hearing.spoken import (
    AskAgain,
    Command,
    CommandEars,
    Commands,
    Guess,
    commands_of,
    learn,
    sayings,
    sentences_to_read,
    understand,
)
from tests.hearing import voices

PIECE = 3200  # bytes: a tenth of a second
#: At which the sentences are read that teach a voice [words a minute]: neither of those it is tried at.
READING_SPEED = 155


def means(command: object) -> tuple[object, ...] | None:
    """A command in the plain form of `tests.hearing.voices`."""
    if not isinstance(command, Command):
        return None
    part = command.part.id if command.part else None
    if command.kind == "finding":
        return "finding", part, command.condition, command.grade, command.place, command.work
    if command.kind == "work":
        return "work", part, command.work
    if command.kind == "pocket":
        return "pocket", command.tray, command.pocket
    if command.kind == "shim":
        return "shim", part, round(command.thickness_m or 0, 7)
    if command.kind == "turns":
        return "turns", command.turns
    return (command.kind,)


def streamed(ears: CommandEars, pcm: bytes) -> tuple[Guess, float]:
    """
    The guess, and how long after the last piece it was there [s].

    Pieces come as they are spoken; where decoding is slower than speech, that lag is added. Processor time is
    counted, which is the clock's on a machine that does nothing else.
    """
    ears.begin()
    late = 0.0
    for at in range(0, len(pcm), PIECE):
        began = time.thread_time()
        ears.take(pcm[at : at + PIECE])
        took = time.thread_time() - began
        last = at + PIECE >= len(pcm)
        late = late + took if last else max(0.0, late + took - PIECE / 32000)
    began = time.thread_time()
    guess = ears.finish()
    return guess, late + time.thread_time() - began


@dataclass(frozen=True, kw_only=True)
class Heard:
    """One sentence and what became of it; `meant` is None for talk."""

    voice: str
    taught: bool
    speed: int
    says: str
    meant: tuple[object, ...] | None
    guess: Guess
    done: Command | AskAgain
    late_s: float

    @property
    def right(self) -> bool:
        return self.meant is not None and means(self.done) == self.meant

    @property
    def wrong(self) -> bool:
        return isinstance(self.done, Command) and means(self.done) != self.meant


def commands_for(family: str) -> Commands:
    parts = constructions()[family].parts.values()
    named = [NamedPart(id=part.id, name=part.name, also=tuple(part.also)) for part in parts]
    return commands_of(named, sayings())


def ears_for(commands: Commands, voice: str, seed: int) -> CommandEars:
    """Ears that this voice has read the sentences to."""
    read = [
        (text, voices.at_the_bench(text, voice, READING_SPEED, 7_000_000 + 1000 * seed + i))
        for i, text in enumerate(sentences_to_read())
    ]
    return CommandEars(commands, learn(read))


def run(
    family: str,
    n: int,
    seed: int,
    *,
    talk: int = 30,
    tuning: bool = False,
    ways: tuple[bool, ...] = (False, True),
) -> list[Heard]:
    """So many commands and sentences of talk by each voice, to ears not taught it and to ears that were."""
    commands = commands_for(family)
    untaught = CommandEars(commands) if False in ways else None
    sayable = [(found[0].id, " ".join(words)) for words, found in commands.names.items() if len(found) == 1]
    rows: list[Heard] = []
    for number, voice in enumerate(voices.TUNING_VOICES if tuning else voices.ACCENTS):
        said: list[tuple[str, tuple[object, ...] | None]] = [
            (one.says, one.means)
            for one in voices.told(sayable, n, seed + number)
            if one.says not in sentences_to_read()
        ]
        talked = OTHER_TALK if tuning else voices.TALK
        chat = talked[(number * talk) % len(talked) :] + talked
        said += [(one, None) for one in chat[:talk]]
        for taught in ways:
            ears = ears_for(commands, voice, seed) if taught else untaught
            assert ears is not None
            for i, (text, meant) in enumerate(said):
                speed = (150, 165)[i % 2] if tuning else voices.SPEEDS[i % 2]
                pcm = voices.at_the_bench(text, voice, speed, 1000 * seed + 211 * number + i)
                guess, late_s = streamed(ears, pcm)
                rows.append(
                    Heard(
                        voice=voice,
                        taught=taught,
                        speed=speed,
                        says=text,
                        meant=meant,
                        guess=guess,
                        done=understand(guess, commands, ears.doubt),
                        late_s=late_s,
                    )
                )
    return rows


OTHER_TALK = (
    "the tea has gone cold again", "did you see the match last night", "could you hand me that cloth please",
    "let me have a look at this under the lamp", "turn the radio down a little",
    "I wonder where I put my glasses",
    "the bus was late this morning", "my brother wants his bicycle back",
    "hang on a minute I need both hands",
    "oh no it went under the bench", "yes I can hear you perfectly well", "put the kettle on would you",
    "there was a letter from the tax people", "I am not sure what to make of that",
    "well that explains a lot",
    "seven pounds fifty for a ticket", "see you on Monday", "how long does the glue take",
    "nobody told me about the holiday", "it costs more than it is worth", "do you want sugar in yours",
    "there it is under the newspaper", "can you hold this for one second", "I should have written that down",
    "the post comes later every day", "ask him whether he needs the box back", "that will do for today",
    "is it still snowing outside", "the cat is asleep on the drawings", "two more and then we go home",
)  # fmt: skip


def told(rows: list[Heard]) -> str:
    """A line for each voice, and one for all: before the bench was taught it, and after."""
    lines = []
    for taught in dict.fromkeys(row.taught for row in rows):
        for voice in [*dict.fromkeys(row.voice for row in rows), None]:
            mine = [row for row in rows if row.taught == taught and voice in (row.voice, None)]
            commands, talk = [row for row in mine if row.meant], [row for row in mine if not row.meant]
            n = len(commands)
            right, wrong = sum(row.right for row in commands), sum(row.wrong for row in commands)
            late = [row.late_s for row in mine]
            lines.append(
                f"{'taught' if taught else 'untaught':8} {voice or 'all':18} n {n:4}  "
                f"right {right / n:6.1%}  "
                f"wrong and done {wrong / n:5.1%}  asked again {(n - right - wrong) / n:5.1%}  "
                f"talk {len(talk):3}, taken {sum(row.wrong for row in talk)}  reply {np.median(late):.2f} s, "
                f"95 % within {np.percentile(late, 95):.2f} s, at most {max(late):.2f} s"
            )
    return "\n".join(lines)


def measure() -> dict[str, object]:
    """How long decoding takes, against how long the speech is: above 1 it would fall behind."""
    ears = CommandEars(commands_for("folding-35-leaf-rangefinder"))
    pcm = voices.at_the_bench("lens board, badly bent on the left, needs straightening", "en-gb", 150, 1)
    began = time.perf_counter()
    streamed(ears, pcm)
    took, long = time.perf_counter() - began, len(pcm) / 32_000
    return {
        "name": "a spoken command, decoded while it is spoken (160 parts)",
        "value": took,
        "unit": "s",
        "baseline": long,
        "against": "the speech itself",
        "ratio": took / long,
        "budget": 0.9,
    }


if __name__ == "__main__":
    asked = [one for one in sys.argv[1:] if one != "tuning"]
    found = run(
        asked[0] if asked else "folding-roll-front-cell",
        int(asked[1]) if len(asked) > 1 else 60,
        int(asked[2]) if len(asked) > 2 else 7,
        tuning="tuning" in sys.argv,
    )
    for row in found:
        if row.wrong or (row.meant and not row.right):
            print("taught" if row.taught else "untaught", row.voice, row.says, "|", row.guess)
    print(told(found))
