"""
The grammar: every sentence that is a command, as states and words between them.

A part, then its condition, grade, place and work; trays and pockets; shims; turns; and words that steer.
Names
that begin alike share their states, so that a family of five hundred names is searched while somebody speaks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from pegwood.hearing.results import NamedPart
from pegwood.hearing.spoken.sayings import Sayings, spoken_words

#: From a state to a state, how likely, the word; no word for a step that says nothing.
Step = tuple[int, int, float, str | None]
START, END = 0, 1
#: A grade, a place or a fraction is an addition: noise must not be heard as one.
ADDED = 1e-3
_LONGEST_NAME = 8


@dataclass(frozen=True, kw_only=True)
class Commands:
    """
    What can be said of a camera.

    Attributes
    ----------
    said : Sayings
    names : mapping
        A name, word by word, and the parts that are called so: more than one is asked again.
    steps : tuple of Step
        The grammar from state `START` to state `END`.
    """

    said: Sayings
    names: Mapping[tuple[str, ...], tuple[NamedPart, ...]]
    steps: tuple[Step, ...]

    @property
    def words(self) -> tuple[str, ...]:
        """Every word in it, sorted."""
        return tuple(sorted({word for *_, word in self.steps if word}))


@dataclass
class _Drawing:
    """A grammar while it is being drawn."""

    steps: dict[Step, None] = field(default_factory=dict)
    states: int = 2
    shared: dict[tuple[int, str], int] = field(default_factory=dict)

    def state(self) -> int:
        self.states += 1
        return self.states - 1

    def skip(self, start: int, end: int) -> None:
        self.steps[start, end, 1.0, None] = None

    def phrase(self, start: int, end: int, words: Sequence[str], chance: float = 1.0) -> None:
        """Words one after the other; those that begin alike share their way."""
        here = start
        for word in words[:-1]:
            if (here, word) not in self.shared:
                self.shared[here, word] = self.state()
                self.steps[here, self.shared[here, word], chance if here == start else 1.0, word] = None
            here = self.shared[here, word]
        self.steps[here, end, chance if here == start else 1.0, words[-1]] = None

    def any_of(self, start: int, end: int, phrases: Iterable[str], chance: float = 1.0) -> None:
        for one in phrases:
            self.phrase(start, end, spoken_words(one), chance)


def names_of(parts: Iterable[NamedPart]) -> dict[tuple[str, ...], tuple[NamedPart, ...]]:
    """
    Parts by each of their names as it is spoken.

    A part's own name goes before another's other name; a name with a number in it, or of more than eight
    words, is not for speaking.
    """
    own: dict[tuple[str, ...], dict[str, NamedPart]] = {}
    other: dict[tuple[str, ...], dict[str, NamedPart]] = {}
    for part in parts:
        for at, name in enumerate((part.name, *part.also)):
            words = spoken_words(name)
            if words and len(words) <= _LONGEST_NAME and not any(one.isdigit() for one in name):
                (own if at == 0 else other).setdefault(words, {})[part.id] = part
    return {words: tuple(found.values()) for words, found in (other | own).items()}


def commands_of(parts: Iterable[NamedPart], said: Sayings) -> Commands:
    """
    Everything that can be said of a camera with those parts.

    Parameters
    ----------
    parts : iterable of NamedPart
        The family's; none for a camera no family knows: then only what needs no part can be said.
    said : Sayings
    """
    names = names_of(parts)
    drawn = _Drawing()
    if names:
        _draw_findings(drawn, names, said)
    _draw_counts(drawn, names, said)
    for ways in said.control.values():
        drawn.any_of(START, END, ways)
    return Commands(said=said, names=names, steps=tuple(drawn.steps))


def _draw_findings(
    drawn: _Drawing, names: Mapping[tuple[str, ...], tuple[NamedPart, ...]], said: Sayings
) -> None:
    """Part, grade, condition, place, needs, work."""
    named, graded, told, placed, needing = (drawn.state() for _ in range(5))
    for words in names:
        drawn.phrase(START, named, words)
    drawn.skip(named, graded)
    drawn.any_of(named, graded, said.grades, ADDED)
    for ways in said.conditions.values():
        drawn.any_of(graded, told, ways)
    drawn.skip(told, placed)
    for ways in said.places.values():
        drawn.any_of(told, placed, ways, ADDED)
    drawn.skip(placed, END)
    drawn.any_of(placed, needing, said.needs)
    drawn.any_of(named, needing, said.needs)
    for ways in said.works.values():
        drawn.any_of(needing, END, ways)


def _draw_counts(
    drawn: _Drawing, names: Mapping[tuple[str, ...], tuple[NamedPart, ...]], said: Sayings
) -> None:
    """Tray and pocket, a shim's thickness, turns."""
    tray, trayed, pocket = (drawn.state() for _ in range(3))
    drawn.phrase(START, tray, ("tray",))
    _draw_number(drawn, tray, trayed, said, 12)
    drawn.phrase(trayed, pocket, ("pocket",))
    _draw_number(drawn, pocket, END, said, 39)
    shim, of_it, figure = (drawn.state() for _ in range(3))
    drawn.phrase(START, shim, ("shim",))
    for words in names:
        drawn.phrase(shim, of_it, words)
    if not names:
        drawn.skip(shim, of_it)
    _draw_number(drawn, of_it, figure, said, 19)
    drawn.any_of(figure, END, said.lengths)
    turns, counted = drawn.state(), drawn.state()
    drawn.phrase(START, turns, ("count", "turns"))
    _draw_number(drawn, turns, counted, said, 39)
    drawn.skip(counted, END)
    drawn.any_of(counted, END, said.fractions, ADDED)


def _draw_number(drawn: _Drawing, start: int, end: int, said: Sayings, most: int) -> None:
    """A whole number from one: "five", "twenty", "twenty five"."""
    tens = {word: value for word, value in said.numbers.items() if value >= 20 and value % 10 == 0}
    units = [word for word, value in said.numbers.items() if value < 10]
    for word, value in said.numbers.items():
        if value <= most:
            drawn.phrase(start, end, (word,))
    for word, value in tens.items():
        if value + 9 <= most:
            for unit in units:
                drawn.phrase(start, end, (word, unit), ADDED)
