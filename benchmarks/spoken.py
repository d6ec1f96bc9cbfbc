"""
Spoken commands through the real recogniser: by voice, right, wrong and done, asked again, talk taken for one.

Beside them, how long after the last sound the answer is there.

    python -m benchmarks.spoken [FAMILY] [COMMANDS] [SEED] [tuning]
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

import numpy as np

from pegwood.anatomy.construction import constructions
from pegwood.hearing import NamedPart
from pegwood.hearing.spoken import AskAgain, Command, CommandEars, Guess, commands_of, sayings, understand
from tests.hearing import voices

PIECE = 3200  # bytes: a tenth of a second


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


def ears_of(family: str) -> CommandEars:
    parts = constructions()[family].parts.values()
    named = [NamedPart(id=part.id, name=part.name, also=tuple(part.also)) for part in parts]
    return CommandEars(commands_of(named, sayings()))


def run(family: str, n: int, seed: int, *, talk: int = 30, tuning: bool = False) -> list[Heard]:
    """So many commands and sentences of talk by each voice."""
    ears = ears_of(family)
    names = ears.commands.names
    sayable = [(found[0].id, " ".join(words)) for words, found in names.items() if len(found) == 1]
    rows: list[Heard] = []
    for number, voice in enumerate(voices.TUNING_VOICES if tuning else voices.ACCENTS):
        said: list[tuple[str, tuple[object, ...] | None]] = [
            (one.says, one.means) for one in voices.told(sayable, n, seed + number)
        ]
        chat = OTHER_TALK if tuning else voices.TALK[(number * talk) % len(voices.TALK) :] + voices.TALK
        said += [(one, None) for one in chat[:talk]]
        for i, (text, meant) in enumerate(said):
            speed = 155 if tuning else voices.SPEEDS[i % 2]
            pcm = voices.at_the_bench(text, voice, speed, 1000 * seed + 211 * number + i)
            guess, late_s = streamed(ears, pcm)
            rows.append(
                Heard(
                    voice=voice,
                    speed=speed,
                    says=text,
                    meant=meant,
                    guess=guess,
                    done=understand(guess, ears.commands),
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
)  # fmt: skip


def told(rows: list[Heard]) -> str:
    """A line for each voice, and one for all."""
    lines = []
    for voice in [*dict.fromkeys(row.voice for row in rows), None]:
        mine = [row for row in rows if voice in (row.voice, None)]
        commands, talk = [row for row in mine if row.meant], [row for row in mine if not row.meant]
        n = len(commands)
        right, wrong = sum(row.right for row in commands), sum(row.wrong for row in commands)
        late = [row.late_s for row in mine]
        lines.append(
            f"{voice or 'all':16} n {n:4}  right {right / n:6.1%}  wrong and done {wrong / n:5.1%}  "
            f"asked again {(n - right - wrong) / n:5.1%}  "
            f"talk {len(talk):3}, taken {sum(row.wrong for row in talk)}  reply {np.median(late):.2f} s, "
            f"95 % within {np.percentile(late, 95):.2f} s, at most {max(late):.2f} s"
        )
    return "\n".join(lines)


def measure() -> dict[str, object]:
    """How long decoding takes, against how long the speech is: above 1 it would fall behind."""
    ears = ears_of("folding-35-leaf-rangefinder")
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
            print(row.voice, row.says, "|", row.guess)
    print(told(found))
