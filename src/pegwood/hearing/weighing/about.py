"""Which part a sentence tells of, by its words: it may be named by what it does, or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from pegwood.hearing.reading import Reading
from pegwood.hearing.results import NamedPart
from pegwood.hearing.told import Told
from pegwood.hearing.weighing.kinds import CHANCES, step
from pegwood.hearing.weighing.weights import Choice

#: Parts that a sentence may be about, and how likely one must be to be thought of [1].
MOST, LEAST = 3, 0.04
#: Share of a family's parts that must be known [1].
ENOUGH = 0.5


class Chances:
    """
    What a sentence may be about.

    Parameters
    ----------
    of : mapping of int to float
        By part, how likely it is about that [1].
    """

    def __init__(self, of: Mapping[int, float]) -> None:
        self.of = of
        self.most = max(of.values(), default=0.0)
        ordered = sorted(of, key=lambda part: (-of[part], part))
        #: Parts worth thinking of, the likeliest first.
        self.likeliest = tuple(part for part in ordered[:MOST] if of[part] >= LEAST)

    def said(self, part: int) -> tuple[str, ...]:
        """What the words say of a part: how likely it is, and beside the others; nothing if nothing."""
        if not self.of:
            return ()
        mine = self.of.get(part, 0.0)
        place = "likeliest" if mine == self.most else "near" if mine * 2 > self.most else "behind"
        return str(step(int(mine * 100), CHANCES)), place


NO_CHANCES = Chances({})


def about_signs(told: Told, reading: Reading) -> Iterator[str]:
    """The words of a sentence, whatever their order."""
    stem = reading.lexicon.stems.of
    for at in range(told.sentence.first, told.sentence.end):
        if reading.kinds[at] == "word":
            yield stem(reading.plain[at])


class About:
    """
    Weighs of which parts of one family a sentence tells.

    Parameters
    ----------
    choice : Choice
        Among the parts of all families, by id.
    parts : sequence of NamedPart
        Of this one.
    """

    def __init__(self, choice: Choice, parts: Sequence[NamedPart]) -> None:
        known = [at for at, part in enumerate(parts) if part.id in choice.levels]
        if len(known) < ENOUGH * len(parts):
            known = []  # of another kind of camera: one of the few that are known would always seem likely
        self._parts = {parts[at].id: at for at in known}
        self._choice = choice.among([parts[at].id for at in known])

    def chances(self, many: Sequence[Iterable[str]]) -> list[Chances]:
        """How likely sentences, told by their signs, are about each part that they may be about."""
        likely = self._choice.likely(many)
        return [Chances({self._parts[name]: share for name, share in one.items()}) for one in likely]
