"""Text into words and marks, each with the characters it stands on."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, NamedTuple

Kind = Literal["word", "stop", "ask", "comma", "line"]

#: Alternatives that cannot both begin at one character, none nested: the time is linear in the text.
_TOKEN = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[^\W_]+(?:['’][^\W_]+)*|[.!?…]+|[,;:()]|\s[-–—]+\s|[–—]|\n")
#: What hangs on a word and is a word of its own; "n't" is not among them: "won't" is one word, "wont".
_HANGING = {"s", "ll", "ve", "re", "d", "m"}
#: Longer words are nobody's, and are not looked at closely.
LONGEST_WORD = 40


class Token(NamedTuple):
    """A word or mark; `plain` is lower case without apostrophes, but for what hung on a word: "'s"."""

    start: int
    end: int
    plain: str
    kind: Kind


def tokens(text: str) -> list[Token]:
    """
    Words and marks of a text, in order.

    Parameters
    ----------
    text : str
        Any text at all.
    """
    found: list[Token] = []
    for match in _TOKEN.finditer(text):
        start, end, said = match.start(), match.end(), match[0]
        first = said[0]
        if first.isalnum():
            _words(found, start, end, said)
        elif first == "\n":
            found.append(Token(start, end, "\n", "line"))
        elif "?" in said:
            found.append(Token(start, end, "?", "ask"))
        elif said in (".", "!") or "!" in said:
            found.append(Token(start, end, ".", "stop"))
        else:  # "..." is a pause, no end
            found.append(Token(start, end, ",", "comma"))
    return found


def _words(found: list[Token], start: int, end: int, said: str) -> None:
    lower = said.lower().replace("’", "'")
    if len(lower) != len(said):  # a letter that lowers into two; its places would not fit
        lower = said
    head, mark, tail = lower.rpartition("'")
    if mark and tail in _HANGING and head:
        at = start + len(head)
        found.append(Token(start, at, head.replace("'", ""), "word"))
        found.append(Token(at, end, "'" + tail, "word"))
    else:
        found.append(Token(start, end, lower.replace("'", ""), "word"))


def plain_words(phrase: str) -> list[str]:
    """The words of a phrase, as `tokens` would tell them."""
    return [token.plain for token in tokens(phrase) if token.kind == "word"]


@dataclass
class Stems:
    """Stems of words, each asked of the library once."""

    stem: Callable[[str], str]

    def __post_init__(self) -> None:
        self._known: dict[str, str] = {}

    def of(self, word: str) -> str:
        """The stem of a plain word."""
        known = self._known.get(word)
        if known is None:
            known = word if len(word) > LONGEST_WORD or word[0] == "'" else self.stem(word)
            self._known[word] = known
        return known
