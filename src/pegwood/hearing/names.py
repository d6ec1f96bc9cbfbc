"""Parts by their names, as they are said: in full, in short, turned round, misheard."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from pegwood.hearing.part_names import ALSO, DERIVED, PartNames, spoken_names
from pegwood.hearing.phrases import Form, Phrases
from pegwood.hearing.tokens import plain_words

#: Words of a name that are looked at.
LONGEST_NAME = 6
#: How like the word that a name has beside another the word heard there must be [1].
BESIDE = 0.55
Stem = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class Mention:
    """
    Parts spoken of: the tokens, and which parts it may be; several of one mention where all are meant.

    Attributes
    ----------
    first, end : int
        First token and the one after the last.
    parts : tuple of int
        By their place in the list of parts.
    every : bool
        Whether all of them are meant; else it is one of them.
    degree : float
        How sure the least sure word was read [1].
    words : int
        Words of a name that were heard.
    sides : tuple of str
        Where nothing but sides was told, "the lower left one": their stems.
    whole : bool
        Whether it is a name said in full.
    """

    first: int
    end: int
    parts: tuple[int, ...]
    every: bool = False
    degree: float = 1.0
    words: int = 1
    sides: tuple[str, ...] = ()
    whole: bool = False


@dataclass(frozen=True)
class _Said:
    words: frozenset[str]
    part: int
    heads: tuple[str, ...] = ()


class NameFinder:
    """
    Finds mentions of parts among tokens.

    Parameters
    ----------
    names : PartNames
    stem : callable
        From a plain word to its stem.
    shy : frozenset of tuple of str
        Names that are everyday words too, by their stems.
    """

    def __init__(self, names: PartNames, stem: Stem, shy: frozenset[tuple[str, ...]]) -> None:
        self.names = names
        self._stem = stem
        self.shy = shy
        self._tree = Phrases()
        self._tiers: dict[tuple[str, ...], dict[int, int]] = {}
        self._heads: dict[str, list[_Said]] = {}
        self.before: dict[str, set[str]] = {}
        self.after: dict[str, set[str]] = {}
        self.pairs: dict[str, tuple[str, str]] = {}
        for words, parts in names.said.items():
            self._enter(words, parts)
        self._words = {key for keys in self._tiers for key in keys}
        self._candidates: dict[tuple[str, frozenset[str]], tuple[int, ...]] = {}
        turned = {stem(one): stem(other) for pair in names.opposites for one, other in (pair, pair[::-1])}
        self.turns = {stem(word) for pair in names.opposites for word in pair}
        self._turned_first = {stem(word): at for at, pair in enumerate(names.opposites) for word in pair}
        self.turned = turned
        self._sided: dict[int, list[tuple[str, ...]]] = {}
        for keys, held in self._tiers.items():
            if any(key in turned for key in keys):
                for part in held:
                    self._sided.setdefault(part, []).append(keys)
        self._own_names: dict[int, tuple[_Said, ...]] = {}
        self._shared: dict[tuple[int, int, tuple[int, ...]], bool] = {}

    def _enter(self, words: tuple[str, ...], parts: dict[int, int]) -> None:
        keys = tuple(self._stem(word) for word in words)
        held = self._tiers.setdefault(keys, {})
        for part, tier in parts.items():
            held[part] = min(tier, held.get(part, DERIVED))
        self._tree.add(keys, ("part", " ".join(keys)))
        for part in parts if words in self.names.headed else ():
            self._heads.setdefault(keys[-1], []).append(_Said(frozenset(keys), part))
        for one, other in itertools.pairwise(words):
            self.after.setdefault(self._stem(one), set()).add(other)
            self.before.setdefault(self._stem(other), set()).add(one)
            self.pairs.setdefault(one + other, (one, other))

    def at(
        self, forms: Sequence[Sequence[Form]], plain: Sequence[str], first: int, links: set[int]
    ) -> Mention | None:
        """The mention that begins at a token, if one does."""
        whole = self._whole(forms, first, links)
        part = self._in_part(forms, plain, first, links)
        if part is not None and (whole is None or (part.words > whole.words and part.degree >= whole.degree)):
            return part
        return whole

    def _whole(self, forms: Sequence[Sequence[Form]], first: int, links: set[int]) -> Mention | None:
        found = self._tree.longest(forms, first, links)
        if found is None:
            return None
        keys = tuple(found.tells[0][1].split(" "))
        tiers = self._tiers[keys]
        best = min(tiers.values())
        parts = tuple(part for part, tier in tiers.items() if tier == best)
        return Mention(first, found.end, parts, degree=found.degree, words=len(keys), whole=best != DERIVED)

    def _in_part(
        self, forms: Sequence[Sequence[Form]], plain: Sequence[str], first: int, links: set[int]
    ) -> Mention | None:
        """A name said in part: its last word and some of those before; "X of the Y" is read as "Y X"."""
        read: list[tuple[int, str, float]] = []
        turned = 0
        here = first
        while here < len(forms) and len(read) < LONGEST_NAME:
            best = next((form for form in forms[here] if form.key in self._words), None)
            if best is not None and here not in links:
                read.append((here, best.key, best.degree))
            elif not read or here not in links or here - read[-1][0] > 2:
                break
            elif plain[here] in self.names.turns and not turned:
                turned = len(read)
            here += 1
        for count in range(len(read), 0, -1):
            said = read[:count]
            head = said[turned - 1][1] if 0 < turned < count else said[-1][1]
            parts = self._holding(head, frozenset(key for _, key, _ in said))
            if parts and len({key for _, key, _ in said}) == count:
                degree = min(one[2] for one in said)
                return Mention(first, said[-1][0] + 1, parts, degree=degree, words=count)
        return None

    def _holding(self, head: str, words: frozenset[str]) -> tuple[int, ...]:
        known = self._candidates.get((head, words))
        if known is None:
            holding = (said.part for said in self._heads.get(head, ()) if words <= said.words)
            known = self._candidates[head, words] = tuple(dict.fromkeys(holding))
        return known

    def pair_of(self, part: int, turn: str = "") -> int | None:
        """
        The part that differs from this one by a word of the opposites alone; by a given one, if said.

        Of a name with two such words the pair told first in the vocabulary is turned: the other of the lower
        left struts is the lower right one.
        """
        for keys in self._own_keys(part):
            if self._tiers[keys].get(part, DERIVED) > ALSO:
                continue
            first = self._turned_first
            for at in sorted(range(len(keys)), key=lambda at: first.get(keys[at], len(first))):
                key = keys[at]
                if key not in self.turned or (turn and self.turned[key] != turn):
                    continue
                other = (*keys[:at], self.turned[key], *keys[at + 1 :])
                found = [one for one in self._tiers.get(other, {}) if one != part]
                if len(found) == 1:
                    return found[0]
        return None

    def says(self, part: int, word: str) -> bool:
        """Whether a word, by its stem, stands in one of the names of a part."""
        return any(word in said.words for said in self._heads_of(part))

    def _heads_of(self, part: int) -> tuple[_Said, ...]:
        known = self._own_names.get(part)
        if known is None:
            known = self._own_names[part] = tuple(self._named(part))
        return known

    def _named(self, part: int) -> Iterable[_Said]:
        own = self.names.parts[part]
        for name in (own.name, *own.also):
            heads = tuple(
                self._stem(words[-1])
                for words, headed in spoken_names(name, self.names.links, self.names.small)
                if headed
            )
            yield _Said(frozenset(self._stem(word) for word in plain_words(name)), part, heads)

    def shares_word(self, part: int, topic: int, mention: Mention) -> bool:
        """Whether a part shares a word with another besides those heard: "needle", "needle window"."""
        known = self._shared.get((part, topic, mention.parts))
        if known is None:
            common = [self._all(one) for one in mention.parts]
            heard = frozenset.intersection(*common)
            known = bool((self._all(part) - heard) & (self._all(topic) - heard))
            self._shared[part, topic, mention.parts] = known
        return known

    def _all(self, part: int) -> frozenset[str]:
        return frozenset(word for said in self._heads_of(part) for word in said.words) - self.names.links

    def by_side(self, recent: Sequence[int], turns: Sequence[str]) -> int | None:
        """Of parts spoken of, the one like the last of them but on the side told: "the lower left one"."""
        for part in reversed(recent):
            for keys in self._own_keys(part):
                said = list(keys)
                for turn in turns:
                    for at, key in enumerate(said):
                        if key == turn or (key in self.turned and turn in self.sides_with(key)):
                            said[at] = turn
                found = self._tiers.get(tuple(said), {})
                if tuple(said) != keys and len(found) == 1 and all(turn in said for turn in turns):
                    return next(iter(found))
                if tuple(said) == keys and all(turn in keys for turn in turns):
                    return part
        wanted = frozenset(turns)
        for part in reversed(recent):
            for said_of in self._heads_of(part):
                for head in said_of.heads:
                    found_so = self._holding(head, wanted | {head})
                    if len(found_so) == 1:
                        return found_so[0]
        return None

    def sides_with(self, key: str) -> set[str]:
        """Words that may stand in the place of a word of the opposites."""
        return {self.turned[key]} if key in self.turned else set()

    def _own_keys(self, part: int) -> list[tuple[str, ...]]:
        return self._sided.get(part, [])

    def differ_by_side(self, parts: Sequence[int]) -> bool:
        """Whether names of parts are the same but for words of the opposites."""
        left = {
            frozenset(self._stem(w) for w in plain_words(self.names.parts[part].name)) - self.turns
            for part in parts
        }
        return len(left) == 1
