"""
The commands that differ in one thing from the one that was understood: another part, another condition, no
work.

A search through a whole grammar gives up most of what it did not take, so its own second bests say little of
how sure the first is. These are all commands one slip away, to be searched by themselves: how far the best of
them stays behind is how sure the first is. Other words for the same thing are no rivals.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pegwood.hearing.spoken.grammar import Commands, Step
from pegwood.hearing.spoken.reading import read_command
from pegwood.hearing.spoken.results import Command
from pegwood.hearing.spoken.sayings import Sayings, spoken_words

Words = tuple[str, ...]
_TRAYS, _POCKETS, _TENTHS, _TURNS = 12, 39, 19, 39


@dataclass(frozen=True)
class Slip:
    """Instead of the words from `start` to before `end`, any of these; nothing at all where one is empty."""

    start: int
    end: int
    instead: tuple[Words, ...]
    #: Whether none of them is known to make the same command.
    is_checked: bool = False


def slips(words: str, commands: Commands) -> tuple[Slip, ...]:
    """
    What may stand in place of each stretch of a command so that it is another one.

    Parameters
    ----------
    words : str
        A command of the grammar.
    commands : Commands

    Returns
    -------
    tuple of Slip
        None where the words are no command.
    """
    told = spoken_words(words)
    read = read_command(words, commands)
    if not isinstance(read, Command):
        return ()
    found = _control(told, commands.said)
    if read.kind == "pocket":
        at = told.index("pocket")
        found = [Slip(1, at, _numbers(commands.said, _TRAYS))]
        found.append(Slip(at + 1, len(told), _numbers(commands.said, _POCKETS)))
    elif read.kind == "turns":
        found = _turns(told, commands.said)
    elif read.kind == "shim":
        found = _shim(told, read, commands)
    elif read.kind in ("finding", "work"):
        found = _of_a_part(told, read, commands)
    return tuple(one for one in (_others(slip, told, read, commands) for slip in found) if one.instead)


def steps_of(words: str, some: Iterable[Slip]) -> tuple[int, int, list[Step]]:
    """
    A grammar of all that has exactly one of the slips: its first state, its last, its steps.

    The words stand twice, one row for before the slip and one for after it.
    """
    told = spoken_words(words)
    n = len(told)
    after = n + 1
    steps: list[Step] = []
    for at, word in enumerate(told):
        steps += [(at, at + 1, 1.0, word), (after + at, after + at + 1, 1.0, word)]
    free = 2 * after
    shared: dict[tuple[int, str], int] = {}
    for slip in some:
        for phrase in slip.instead:
            here, last = slip.start, after + slip.end
            for word in phrase[:-1]:
                if (here, word) not in shared:
                    shared[here, word] = free
                    steps.append((here, free, 1.0, word))
                    free += 1
                here = shared[here, word]
            steps.append((here, last, 1.0, phrase[-1] if phrase else None))
    return 0, after + n, steps


def _others(slip: Slip, told: Words, read: Command, commands: Commands) -> Slip:
    """Without what would be the same command, or none."""

    def is_other(phrase: Words) -> bool:
        changed = " ".join((*told[: slip.start], *phrase, *told[slip.end :]))
        other = read_command(changed, commands)
        if isinstance(other, Command):
            return not other.same_as(read)
        return not any(one.same_as(read) for one in other.may_be) and bool(other.may_be)

    if slip.is_checked:
        return slip
    return Slip(slip.start, slip.end, tuple(filter(is_other, dict.fromkeys(slip.instead))))


def _other_names(start: int, end: int, read: Command, commands: Commands) -> Slip:
    """Names of other parts: hundreds, so that they are told apart by their parts and not read one by one."""
    part = read.part.id if read.part else None
    others = (words for words, parts in commands.names.items() if all(one.id != part for one in parts))
    return Slip(start, end, tuple(others), is_checked=True)


def _control(told: Words, said: Sayings) -> list[Slip]:
    every = [spoken_words(one) for ways in said.control.values() for one in ways]
    return [Slip(0, len(told), tuple(every))]


def _turns(told: Words, said: Sayings) -> list[Slip]:
    fractions = [spoken_words(one) for one in said.fractions]
    end = next((len(told) - len(one) for one in fractions if told[-len(one) :] == one), len(told))
    return [Slip(2, end, _numbers(said, _TURNS)), Slip(end, len(told), ((), *fractions))]


def _shim(told: Words, read: Command, commands: Commands) -> list[Slip]:
    said = commands.said
    for long in (2, 1):
        end = len(told) - 1 - long
        is_figure = all(one in said.numbers for one in told[end:-1])
        if end >= 1 and is_figure and (told[1:end] in commands.names or end == 1):
            break
    return [
        _other_names(1, end, read, commands),
        Slip(end, len(told) - 1, _numbers(said, _TENTHS)),
        Slip(len(told) - 1, len(told), tuple((one,) for one in said.lengths)),
    ]


def _of_a_part(told: Words, read: Command, commands: Commands) -> list[Slip]:
    said = commands.said
    names = [told[:at] for at in range(1, len(told)) if told[:at] in commands.names]
    fitting = [one for one in names if read.part in commands.names[one]]
    conditions, works = _phrases(said.conditions), [(*said.needs[:1], *one) for one in _phrases(said.works)]
    for name in reversed(fitting):
        at = len(name)
        grade = at + (told[at] in said.grades)
        condition = next(_fits(told, grade, said.conditions, read.condition), None)
        if condition is None and read.condition:
            continue
        found = [_other_names(0, at, read, commands)]
        if condition is None:
            found.append(Slip(at, at, tuple(conditions)))
            return [*found, Slip(at, len(told), tuple(works))]
        place = next(_fits(told, condition, said.places, read.place), condition)
        found.append(Slip(at, grade, ((), *((one,) for one in said.grades))))
        found.append(Slip(grade, condition, tuple(conditions)))
        found.append(Slip(condition, place, ((), *_phrases(said.places))))
        return [*found, Slip(place, len(told), ((), *works))]
    return []


def _fits(told: Words, at: int, ways: Mapping[str, Sequence[str]], key: str) -> Iterator[int]:
    """Where the longest way to say it ends, if it begins there."""
    forms = sorted(map(spoken_words, ways.get(key, ())), key=len, reverse=True)
    return (at + len(one) for one in forms if told[at : at + len(one)] == one)


def _phrases(ways: Mapping[str, Sequence[str]]) -> list[Words]:
    return [spoken_words(one) for forms in ways.values() for one in forms]


def _numbers(said: Sayings, most: int) -> tuple[Words, ...]:
    units = [word for word, value in said.numbers.items() if value < 10]
    found: list[Words] = []
    for word, value in said.numbers.items():
        if value <= most:
            found.append((word,))
        if value in (20, 30) and value + 9 <= most:
            found += [(word, unit) for unit in units]
    return tuple(found)
