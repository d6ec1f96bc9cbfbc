"""Phrases laid out word by word, so that a text is held against all of them in one walk."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

#: What a phrase tells: its kind ("condition"), and of that kind which ("rust").
Tells = tuple[str, str]
#: Fillers that may stand between a phrase's words.
MOST_SKIPPED = 2


class Form(NamedTuple):
    """One way to read a word of the text: a stem or an exact word ("=oil"), and how sure that is [1]."""

    key: str
    degree: float


@dataclass
class _Node:
    after: dict[str, _Node] = field(default_factory=dict)
    tells: list[Tells] = field(default_factory=list)


class Matched(NamedTuple):
    """A phrase found: the token after it, what it tells, and how sure its worst word was read [1]."""

    end: int
    tells: Sequence[Tells]
    degree: float


class Phrases:
    """Every phrase of a vocabulary."""

    def __init__(self) -> None:
        self._root = _Node()
        self.firsts: dict[str, _Node] = self._root.after

    def add(self, keys: Sequence[str], tells: Tells) -> None:
        """A phrase, by its words' stems or exact words."""
        node = self._root
        for key in keys:
            node = node.after.setdefault(key, _Node())
        if keys and tells not in node.tells:
            node.tells.append(tells)

    def longest(self, forms: Sequence[Sequence[Form]], at: int, skipped: Collection[int]) -> Matched | None:
        """
        The longest phrase that begins at a word.

        Parameters
        ----------
        forms : sequence of sequence of Form
            How each token may be read; none for a mark, which ends every phrase.
        at : int
        skipped : collection of int
            Tokens that may be left out within a phrase.
        """
        best: Matched | None = None
        open_: list[tuple[int, _Node, float, int, bool]] = [(at, self._root, 1.0, 0, True)]
        while open_:
            here, node, degree, left_out, read = open_.pop()
            if read and node.tells:
                if best is None or (here, degree) > (best.end, best.degree):
                    best = Matched(here, node.tells, degree)
                elif (here, degree) == (
                    best.end,
                    best.degree,
                ):  # an exact word and its stem tell each their own
                    best = Matched(here, (*best.tells, *node.tells), degree)
            if here >= len(forms) or not node.after:
                continue
            for form in forms[here]:
                if (after := node.after.get(form.key)) is not None:
                    open_.append((here + 1, after, min(degree, form.degree), left_out, True))
            if here > at and here in skipped and left_out < MOST_SKIPPED:
                open_.append((here + 1, node, degree, left_out + 1, False))
        return best
