"""Phrases laid out word by word, so that a text is held against all of them in one walk."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

#: What a phrase tells: its kind ("condition"), and of that kind which ("rust").
Tells = tuple[str, str]
#: Fillers that may stand between a phrase's words.
MOST_SKIPPED = 2


class Form(NamedTuple):
    """One way to read a word of the text: a stem or an exact word ("=oil"), and how sure that is [1]."""

    key: str
    degree: float


class Matched(NamedTuple):
    """A phrase found: the token after it, what it tells, and how sure its worst word was read [1]."""

    end: int
    tells: Sequence[Tells]
    degree: float


class Phrases:
    """Every phrase of a vocabulary."""

    def __init__(self) -> None:
        #: By a phrase, or the beginning of one, what it tells; a tree of as many nodes would cost the garbage
        #: collector more than all else that is heard.
        self._tells: dict[tuple[str, ...], tuple[Tells, ...]] = {}

    def add(self, keys: Sequence[str], tells: Tells) -> None:
        """A phrase, by its words' stems or exact words."""
        for end in range(1, len(keys)):
            self._tells.setdefault(tuple(keys[:end]), ())
        known = self._tells.get(tuple(keys), ())
        if keys and tells not in known:
            self._tells[tuple(keys)] = (*known, tells)

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
        open_: list[tuple[int, tuple[str, ...], Sequence[Tells], float, int]] = [(at, (), (), 1.0, 0)]
        while open_:
            here, said, tells, degree, left_out = open_.pop()
            if tells and (best is None or (here, degree) > (best.end, best.degree)):
                best = Matched(here, tells, degree)
            elif tells and best is not None and (here, degree) == (best.end, best.degree):
                tells = (*best.tells, *tells)  # an exact word and its stem tell each their own
                best = Matched(here, tells, degree)
            if here >= len(forms):
                continue
            for form in forms[here]:  # an exact word stands behind its stem, and so is taken up before it
                further = (*said, form.key)
                if (told := self._tells.get(further)) is not None:
                    open_.append((here + 1, further, told, min(degree, form.degree), left_out))
            if here > at and here in skipped and left_out < MOST_SKIPPED:
                open_.append((here + 1, said, (), degree, left_out + 1))
        return best
