"""From words to the command they are: those of any recogniser, or of a keyboard."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import cast

from pegwood.hearing.spoken.grammar import Commands
from pegwood.hearing.spoken.results import AskAgain, Command, CommandKind
from pegwood.hearing.spoken.sayings import Sayings, spoken_words

_MM = 1e-3
_MOST_TOLD = 4


def read_command(words: str, commands: Commands) -> Command | AskAgain:
    """
    The command that the words are.

    Parameters
    ----------
    words : str
        As a recogniser or a keyboard gives them; case, commas and dashes do not matter.
    commands : Commands

    Returns
    -------
    Command or AskAgain
        To be asked again if the words are no command, or may be more than one part.
    """
    told = spoken_words(words)
    found: list[Command] = []
    for one in _readings(told, commands, " ".join(told)):
        if not any(one.same_as(other) for other in found):
            found.append(one)
    if len(found) == 1:
        return found[0]
    if found:
        names = [one.part.name for one in found if one.part]
        several = ", ".join(names[:_MOST_TOLD]) + (" …" if len(names) > _MOST_TOLD else "")
        return AskAgain(why=f"That may be: {several}. Say the part by its full name.", may_be=tuple(found))
    if parts := commands.names.get(told):
        return AskAgain(why=f"The {parts[0].name}: and what of it? Say its condition, or what it needs.")
    return AskAgain(
        why="That is nothing Pegwood can do. Say a part and its condition, such as 'lens board, bent'."
    )


def _readings(told: tuple[str, ...], commands: Commands, words: str) -> Iterator[Command]:
    said = commands.said
    for kind in _meant(said.control, told):
        yield Command(kind=cast(CommandKind, kind), words=words)
    yield from _counts(told, commands, words)
    for length in range(min(len(told), 8), 0, -1):
        for part in commands.names.get(told[:length], ()):
            for condition, grade, place, work in _of_a_part(told[length:], said):
                yield Command(
                    kind="finding" if condition else "work",
                    part=part,
                    condition=condition,
                    grade=grade,
                    place=place,
                    work=work,
                    words=words,
                )


def _of_a_part(told: tuple[str, ...], said: Sayings) -> Iterator[tuple[str, int | None, str, str]]:
    """Condition, grade, place and work of what follows a part's name."""
    for needs in said.needs:
        if told[:1] == (needs,):
            yield from (("", None, "", work) for work in _meant(said.works, told[1:]))
    grade = said.grades.get(told[0]) if told else None
    rest = told[1:] if grade else told
    for condition, after in _begins_with(said.conditions, rest):
        for place, last in [("", after), *_begins_with(said.places, after)]:
            if not last:
                yield condition, grade, place, ""
            elif last[0] in said.needs:
                yield from ((condition, grade, place, work) for work in _meant(said.works, last[1:]))


def _counts(told: tuple[str, ...], commands: Commands, words: str) -> Iterator[Command]:
    said = commands.said
    if told[:1] == ("tray",) and "pocket" in told:
        at = told.index("pocket")
        tray, pocket = _number(told[1:at], said), _number(told[at + 1 :], said)
        if tray and pocket:
            yield Command(kind="pocket", tray=tray, pocket=pocket, words=words)
    if told[:1] == ("shim",) and len(told) > 2 and told[-1] in said.lengths:
        for length in (2, 1):
            figure = _number(told[-1 - length : -1], said)
            parts: Sequence[object] = commands.names.get(told[1 : -1 - length], ())
            if figure and (parts or not told[1 : -1 - length]):
                thickness_m = figure * said.lengths[told[-1]] * _MM
                for part in commands.names.get(told[1 : -1 - length], (None,)):
                    yield Command(kind="shim", part=part, thickness_m=thickness_m, words=words)
    if told[:2] == ("count", "turns"):
        for more, counted in [(0.0, told[2:]), *_ending(said.fractions, told[2:])]:
            if whole := _number(counted, said):
                yield Command(kind="turns", turns=whole + more, words=words)


def _number(told: tuple[str, ...], said: Sayings) -> int | None:
    values = [said.numbers.get(one) for one in told]
    if len(values) == 1:
        return values[0]
    if len(values) == 2 and values[0] and values[1] and values[0] in (20, 30) and values[1] < 10:
        return values[0] + values[1]
    return None


def _meant(ways: Mapping[str, tuple[str, ...]], told: tuple[str, ...]) -> list[str]:
    return [key for key, forms in ways.items() if any(spoken_words(one) == told for one in forms)]


def _begins_with(
    ways: Mapping[str, tuple[str, ...]], told: tuple[str, ...]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    for key, forms in ways.items():
        for form in map(spoken_words, forms):
            if told[: len(form)] == form:
                yield key, told[len(form) :]


def _ending(ways: Mapping[str, float], told: tuple[str, ...]) -> Iterator[tuple[float, tuple[str, ...]]]:
    for phrase, value in ways.items():
        form = spoken_words(phrase)
        if told[-len(form) :] == form:
            yield value, told[: -len(form)]
