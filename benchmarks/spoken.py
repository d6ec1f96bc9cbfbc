"""
Spoken commands through the real recogniser: per voice, right, wrong but done, asked again, talk taken for a command,
and how long after the last sound the answer is there.

    python -m benchmarks.spoken [FAMILY] [COMMANDS] [SEED] [tuning]
"""

from __future__ import annotations

import sys
import time
from collections import Counter

import numpy as np

from pegwood.anatomy.construction import constructions
from pegwood.hearing import NamedPart
from pegwood.hearing.spoken import Command, CommandEars, commands_of, sayings, understand
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


def streamed(ears: CommandEars, pcm: bytes) -> tuple[object, float]:
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


def run(family: str, n: int, seed: int, tuning: bool = False) -> list[dict[str, object]]:
    """Commands and talk by each voice; a row for each."""
    parts = [
        NamedPart(id=p.id, name=p.name, also=tuple(p.also)) for p in constructions()[family].parts.values()
    ]
    commands = commands_of(parts, sayings())
    sayable = [(found[0].id, " ".join(words)) for words, found in commands.names.items() if len(found) == 1]
    rows: list[dict[str, object]] = []
    for number, voice in enumerate(voices.TUNING_VOICES if tuning else voices.ACCENTS):
        ears = CommandEars(commands)
        said = [(one.says, one.means) for one in voices.told(sayable, n, seed)]
        talk = [(one, None) for one in voices.TALK] if not tuning else [(one, None) for one in OTHER_TALK]
        for i, (text, meant) in enumerate([*said, *talk]):
            speed = voices.SPEEDS[i % 2] if not tuning else 155
            pcm = voices.at_the_bench(text, voice, speed, 1000 * seed + 211 * number + i)
            guess, late_s = streamed(ears, pcm)
            done = understand(guess, commands)  # type: ignore[arg-type]
            rows.append(
                {
                    "voice": voice,
                    "speed": speed,
                    "says": text,
                    "meant": meant,
                    "guess": guess,
                    "late_s": late_s,
                    "done": done,
                    "first": i == 0,
                    "right": meant is not None and means(done) == meant,
                    "wrong": isinstance(done, Command) and means(done) != meant,
                }  # fmt: skip
            )
    return rows


OTHER_TALK = (
    "the tea has gone cold again", "did you see the match last night", "could you hand me that cloth please",
    "let me have a look at this under the lamp", "turn the radio down a little", "I wonder where I put my glasses",
    "the bus was late this morning", "my brother wants his bicycle back", "hang on a minute I need both hands",
    "oh no it went under the bench", "yes I can hear you perfectly well", "put the kettle on would you",
    "there was a letter from the tax people", "I am not sure what to make of that", "well that explains a lot",
    "seven pounds fifty for a ticket", "see you on Monday", "how long does the glue take",
)  # fmt: skip


def told(rows: list[dict[str, object]]) -> str:
    """The rows of a run, a line for each voice."""
    lines = []
    for voice in [*dict.fromkeys(row["voice"] for row in rows), None]:
        mine = [row for row in rows if voice in (row["voice"], None)]
        commands, talk = [r for r in mine if r["meant"]], [r for r in mine if not r["meant"]]
        count = Counter("right" if r["right"] else "wrong" if r["wrong"] else "asked" for r in commands)
        late = [float(r["late_s"]) for r in mine if not r["first"]]  # type: ignore[arg-type]
        lines.append(
            f"{voice or 'all':16} n {len(commands):4} right {count['right'] / len(commands):6.1%} "
            f"wrong done {count['wrong'] / len(commands):5.1%} asked again {count['asked'] / len(commands):5.1%}  "
            f"talk {len(talk):3} taken {sum(bool(r['wrong']) for r in talk)}  "
            f"reply {np.median(late):.2f} s, 95 % within {np.percentile(late, 95):.2f} s, at most {max(late):.2f} s"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    asked = sys.argv[1:]
    found = run(
        asked[0] if asked else "folding-roll-front-cell",
        int(asked[1]) if len(asked) > 1 else 60,
        int(asked[2]) if len(asked) > 2 else 7,
        "tuning" in asked,
    )
    for row in found:
        if row["wrong"] or (row["meant"] and not row["right"]):
            print(row["voice"], row["says"], "|", row["guess"])
    print(told(found))
