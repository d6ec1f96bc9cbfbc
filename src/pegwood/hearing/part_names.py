"""Names of parts, and the ways they are said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pegwood.hearing.results import NamedPart
from pegwood.hearing.tokens import plain_words
from pegwood.hearing.vocabulary_kinds import SmallWords

#: Whether a part is called so itself, also, in talk alone, or only by what its id or its mechanism adds.
NAME, ALSO, CALLED, DERIVED = 0, 1, 2, 3


def spoken_names(
    name: str, links: frozenset[str], small: SmallWords, *, cut_and: bool = True
) -> list[tuple[tuple[str, ...], bool]]:
    """
    The ways a name is said: without what comes after "with", of each "or", turned round at "of".

    Each with whether its last word is what it is: "ends" is not, of "leather at the body's ends".
    """
    found: list[tuple[tuple[str, ...], bool]] = []
    head = name.split("(")[0]
    whole = head.replace(",", " ")
    alternatives = [whole]
    for joint in small.or_in_names:
        if f" {joint} " in whole:
            before, after = whole.split(f" {joint} ", 1)
            alternatives += [before, " ".join([*before.split()[:-1], after])]
    for cut in small.with_in_names:
        alternatives += [one.split(f" {cut} ")[0] for one in alternatives if f" {cut} " in one]
    for joint in small.and_in_names if cut_and else ():
        for one in [*alternatives]:
            if f" {joint} " in one and len(one.split(f" {joint} ")[0].split()) > 1:
                alternatives.append(one.split(f" {joint} ")[0])
    if "," in head:
        before, after = head.split(",", 1)
        alternatives += [f"{after} {before}", f"{' '.join(after.split()[:-1])} {before}"]
    for one in alternatives:
        words = plain_words(one)
        at = next((at for at, word in enumerate(words) if at and word in small.of_in_names), 0)
        if at:
            turned = (*words[at + 1 :], *words[:at])
            found.append((tuple(w for w in turned if w not in links), True))
        found.append((tuple(w for w in words if w not in links), not at))
    return [said for said in dict.fromkeys(found) if said[0]]


@dataclass
class PartNames:
    """
    Names of the parts of a family, ready to be found in text.

    Parameters
    ----------
    parts : sequence of NamedPart
    taught : sequence of (said, id)
        What this bench calls them.
    links : frozenset of str
        Words within names that may be left out.
    opposites : sequence of (str, str)
        Words that tell one of a pair from the other.
    small : SmallWords
        The language's.
    called : mapping of str to tuple of str
        By the last word of an id, what such a part is called in talk; said in full or not at all.
    """

    parts: Sequence[NamedPart]
    taught: Sequence[tuple[str, str]]
    links: frozenset[str]
    opposites: Sequence[tuple[str, str]]
    small: SmallWords
    called: Mapping[str, Sequence[str]] = field(default_factory=dict)
    said: dict[tuple[str, ...], dict[int, int]] = field(default_factory=dict)
    headed: set[tuple[str, ...]] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._ending_in: dict[str, set[int]] = {}
        for number, part in enumerate(self.parts):
            for name in (part.name, *part.also):
                for words, ends in spoken_names(name, self.links, self.small):
                    if ends:
                        self._ending_in.setdefault(words[-1], set()).add(number)
        for number, part in enumerate(self.parts):
            self._name(part.name, number, NAME)
            for other in part.also:
                self._name(other, number, ALSO)
            within, _, last = part.id.rpartition(".")
            for other in self.called.get(last, ()):
                if self._tells_one(other):
                    self._name(other, number, CALLED, headed=False)
            own = last.replace("-", " ")
            self._name(own, number, DERIVED, headed=False)
            within = within.replace("-", " ")
            if within:
                for other in (part.name, *part.also):
                    self._name(f"{within} {other}", number, DERIVED)
        numbers = {part.id: number for number, part in enumerate(self.parts)}
        for said, part_id in self.taught:
            if part_id in numbers:
                self._name(said, numbers[part_id], NAME)

    def _tells_one(self, name: str) -> bool:
        """Whether a name in talk is not the short one of several parts: "the pawl" where there are two."""
        words = plain_words(name)
        return len(words) != 1 or len(self._ending_in.get(words[0], ())) < 2

    def _name(self, name: str, part: int, tier: int, *, headed: bool = True) -> None:
        for turn, (words, ends) in enumerate(
            spoken_names(name, self.links, self.small, cut_and=tier != DERIVED)
        ):
            if headed and ends:
                self.headed.add(words)
            best = tier if not turn else max(tier, ALSO)
            held = self.said.setdefault(words, {})
            held[part] = min(best, held.get(part, DERIVED))

    @property
    def turns(self) -> tuple[str, ...]:
        """Words at which a name is turned round: "X of the Y" is the "Y X"."""
        return self.small.turns

    def words(self) -> set[str]:
        """Plain words of all names."""
        return {word for words in self.said for word in words}
