"""What this bench teaches the ear: its own names for parts, its words for conditions, words misheard."""

from __future__ import annotations

import difflib
import re
from datetime import datetime
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.hearing.parts import named_parts, part_called
from pegwood.book.models import SaidProposal, TaughtWord
from pegwood.book.refusal import Refused

if TYPE_CHECKING:
    from pegwood.hearing import NamedPart, Taught

LONGEST_SAID = 120
SHORTEST_SAID = 3
#: So alike two spellings are that one was misheard for the other, and is not another name [0 to 1]
#: (practice: "palette" for "pallet" is 0.77, "shutter plates" for "shutter blades" 0.93).
ALIKE = 0.72
#: What stands before a name and is no part of it.
ARTICLES = frozenset(("the", "a", "an", "this", "that", "its"))
_WORD = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*")


def taught_for(family: str) -> Taught:
    """
    All that the bench taught, as far as it holds for a family.

    What was taught of a part or a condition that there is no more, since a family's file or the vocabulary
    changed, is left out.
    """
    from pegwood.hearing import Taught

    rows = list(TaughtWord.objects.filter(Q(family=family) | Q(family="")))
    pairs = {
        kind: tuple((row.said, row.meant) for row in rows if row.kind == kind)
        for kind in TaughtWord.Kind.values
    }
    parts = {part.id for part in named_parts(family)} if pairs[TaughtWord.Kind.PART] else set()
    known = conditions_known()
    return Taught(
        part_names=tuple(pair for pair in pairs[TaughtWord.Kind.PART] if pair[1] in parts),
        conditions=tuple(pair for pair in pairs[TaughtWord.Kind.CONDITION] if pair[1] in known),
        mishearings=pairs[TaughtWord.Kind.MISHEARD],
    )


def conditions_known(language: str = "en") -> tuple[str, ...]:
    """The keys of the vocabulary's conditions; none of a language that nobody wrote."""
    from pegwood.hearing import BadVocabulary, vocabulary

    try:
        return tuple(vocabulary(language).conditions)
    except BadVocabulary:
        return ()


@transaction.atomic
def teach(
    kind: str,
    said: str,
    meant: str,
    *,
    family: str = "",
    proposal: SaidProposal | None = None,
    by: str,
    at: datetime | None = None,
) -> TaughtWord:
    """
    Teach a word of this bench: from the next hearing on it is understood.

    What the same word meant before is struck out.

    Parameters
    ----------
    kind : str
        One of `TaughtWord.Kind`.
    said : str
        As it is said here, or as a recogniser hears it.
    meant : str
        The part's id, a key of the conditions, or the word that was really said.
    family : str
        Of a part: whose it is.

    Raises
    ------
    Refused
        If the word is too short to stand for anything, or names another part already.
    """
    at = at or timezone.now()
    said, meant = plain_words(said), meant.strip()
    if kind not in TaughtWord.Kind.values:
        raise Refused(f"{kind[:40]!r} cannot be taught. There are: {', '.join(TaughtWord.Kind.values)}.")
    if len(said) < SHORTEST_SAID or len(said) > LONGEST_SAID or not any(map(str.isalpha, said)):
        raise Refused(f"Words that are taught have {SHORTEST_SAID} to {LONGEST_SAID} letters.")
    if not meant or len(meant) > LONGEST_SAID:
        raise Refused("Say what is meant by it.")
    if kind == TaughtWord.Kind.PART:
        other = part_called(family, said)
        if other is not None and other.id != meant:
            raise Refused(f"'{said}' is what the {other.name} is called. Give it another name.")
    else:
        family = ""
    if kind == TaughtWord.Kind.CONDITION and meant not in conditions_known():
        raise Refused(
            f"'{meant}' is no condition that can be heard. There are: {', '.join(conditions_known())}."
        )
    row = TaughtWord.objects.filter(kind=kind, family=family, said=said).first()
    if row is not None:
        if row.meant == meant:
            return row
        _strike(row, by=by, at=at)
    row = TaughtWord.objects.create(
        kind=kind, said=said, meant=meant, family=family, proposal=proposal, at=at, by=by
    )
    diary.write(
        None,
        by=by,
        at=at,
        what="taught a word",
        text=f"{said}: {meant}",
        new={"word": row.pk, "kind": kind, "said": said, "meant": meant, "family": family},
    )
    return row


@transaction.atomic
def unteach(row: TaughtWord, *, by: str, at: datetime | None = None) -> None:
    """Let a word mean again what it means to everybody. The diary keeps that it was taught."""
    row = TaughtWord.everything.select_for_update().get(pk=row.pk)
    if not row.struck_out:
        _strike(row, by=by, at=at or timezone.now())


def _strike(row: TaughtWord, *, by: str, at: datetime) -> None:
    row.struck_out = True
    row.save(update_fields=["struck_out"])
    diary.write(
        None,
        by=by,
        at=at,
        what="took a word back",
        text=str(row),
        old={"word": row.pk, "kind": row.kind, "said": row.said, "meant": row.meant, "family": row.family},
    )


def teach_part(
    said: str, part: NamedPart, family: str, *, proposal: SaidProposal | None, by: str, at: datetime
) -> TaughtWord | None:
    """
    Teach what a part was called: as a word misheard where it sounds like its name, or else as another name.

    None where the ear knows it already.
    """
    said = plain_words(said)
    names = [plain_words(one) for one in (part.name, *part.also)]
    if said in names:
        return None
    near = max(names, key=lambda one: difflib.SequenceMatcher(None, said, one).ratio())
    if difflib.SequenceMatcher(None, said, near).ratio() >= ALIKE and part_called(family, said) is None:
        heard, meant = _where_they_differ(said, near)
        return teach(TaughtWord.Kind.MISHEARD, heard, meant, proposal=proposal, by=by, at=at)
    return teach(TaughtWord.Kind.PART, said, part.id, family=family, proposal=proposal, by=by, at=at)


def _where_they_differ(said: str, name: str) -> tuple[str, str]:
    """The one word of several that was misheard; all of them where more were, or it is too short a word."""
    ours, theirs = said.split(), name.split()
    if len(ours) == len(theirs):
        apart = [(a, b) for a, b in zip(ours, theirs, strict=True) if a != b]
        if len(apart) == 1 and len(apart[0][0]) > SHORTEST_SAID:
            return apart[0]
    return said, name


def plain_words(text: str) -> str:
    """Words as they are compared here: in lower case, one space between two, no article before them."""
    words = _WORD.findall(text.lower().replace("’", "'"))
    while len(words) > 1 and words[0] in ARTICLES:
        del words[0]
    return " ".join(words)


def words_for_part(words: str, part: NamedPart | None) -> str:
    """
    Which of the words most likely named the part that the ear took; empty where that cannot be told.

    Parameters
    ----------
    words : str
        Those a proposal rests on.
    part : NamedPart or None
        What the ear took it for; None where it found no part.
    """
    if part is None:
        return ""
    said = plain_words(words).split()
    best, found = 0.0, ""
    for name in (part.name, *part.also):
        wanted = plain_words(name)
        length = len(wanted.split())
        for n in range(len(said) - length + 1):
            here = " ".join(said[n : n + length])
            ratio = difflib.SequenceMatcher(None, here, wanted).ratio()
            if ratio > best:
                best, found = ratio, here
    return found if best >= ALIKE else ""
