"""
Commands spoken by espeak-ng, four accents at two speeds, in a workshop's noise at 20 dB, through the
recogniser: before the bench was taught the voice, and after.

Sentences, noise and talk are others than those by which the limits of doubt were set. The ways of speaking in
languages/en.pronounced.toml that untaught ears are given were found with these four accents: a person's own
voice may fare otherwise. Taught ears are given none of them.
"""

from __future__ import annotations

import sys

import pytest

from benchmarks.spoken import run, streamed, told
from hearing import voices
from pegwood.anatomy.construction import constructions
from pegwood.hearing import NamedPart
from pegwood.hearing.spoken import (
    AskAgain,
    CommandEars,
    commands_of,
    recogniser,
    samples_of,
    sayings,
    understand,
)

pytestmark = pytest.mark.voices


@pytest.fixture(scope="module")
def ears() -> CommandEars:
    parts = constructions()["folding-roll-front-cell"].parts.values()
    named = [NamedPart(id=part.id, name=part.name, also=tuple(part.also)) for part in parts]
    return CommandEars(commands_of(named, sayings()))


def test_one_sentence_is_heard_and_nothing_said_is_asked_again(ears):
    pcm = voices.at_the_bench("bellows, badly torn", "en-us", 150, 1)
    guess, _ = streamed(ears, pcm)
    command = understand(guess, ears.commands)
    assert (command.kind, command.part.name, command.grade) == ("finding", "bellows", 4)
    for silent in (b"\0\0" * 16_000, b"", b"\1\0" * 3000):
        assert isinstance(understand(ears.hear(silent), ears.commands), AskAgain)


def test_whatever_came_before_does_not_change_what_is_heard(ears):
    pcm = voices.at_the_bench("tray two pocket five", "en-us", 150, 2)
    first, _ = streamed(ears, pcm)
    streamed(ears, voices.at_the_bench("the kettle is boiling over", "en-gb", 170, 3))
    again, _ = streamed(ears, pcm)
    assert first.words == again.words == "tray two pocket five"


def test_dictation_by_pocketsphinx_gives_words_with_a_confidence():
    pcm = voices.at_the_bench("the front door is open", "en-us", 150, 4)
    heard = recogniser("pocketsphinx").hear(samples_of(pcm), 16_000)
    assert {"front", "door", "open"} & {word for word, _ in heard}
    assert all(0 <= sure <= 1 for _, sure in heard)


@pytest.mark.slow
def test_commands_are_understood_asked_again_or_refused_as_they_should_be():
    rows = run("folding-roll-front-cell", 5, 97, talk=2)
    sys.stdout.write("\n" + told(rows) + "\n")
    assert sorted(row.late_s for row in rows)[int(0.95 * len(rows))] < 0.5
    for taught, fewest_right in ((True, 0.75), (False, 0.5)):
        commands = [row for row in rows if row.meant and row.taught == taught]
        # 90 % done right and under 2 % wrong is what is wanted. Larger runs (docs/speaking.md) say how far
        # that is reached; of 20 this holds what there is, with room for chance (binomial, one run in a
        # hundred): no worse.
        assert sum(row.right for row in commands) >= fewest_right * len(commands)
        assert sum(row.wrong for row in commands) <= 3
        assert sum(row.wrong for row in rows if not row.meant and row.taught == taught) <= 1
