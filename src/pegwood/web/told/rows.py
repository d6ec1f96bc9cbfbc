"""A narration as rows: a stretch of its words, and beside it what was heard in them."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from pegwood.book.hearing import OfferedSign
from pegwood.book.models import SaidProposal
from pegwood.book.told import Told, moment
from pegwood.web.forms.hearing import DropForm, MendForm

#: What ends a sentence belongs to the words before it: no stretch begins with it.
BETWEEN = " \n.,;:!?"


#: So many things heard stand on a page.
AT_ONCE = 30
#: A sentence or line that is longer is cut where something was heard [characters].
LONGEST_STRETCH = 320
_STOP = re.compile(r"[.!?]+\s+|\n+")


@dataclass(kw_only=True)
class Card:
    """
    One thing heard.

    Attributes
    ----------
    told : Told
        As it stands now.
    offered : tuple of OfferedSign
        Signs that it would answer.
    mend, drop : form, optional
        Where it is being put right.
    refused : str
        Why it was not settled.
    is_next : bool
        Whether it is the first that is open.
    """

    proposal: SaidProposal
    told: Told
    offered: tuple[OfferedSign, ...] = ()
    mend: MendForm | None = None
    drop: DropForm | None = None
    refused: str = ""
    is_next: bool = False

    @property
    def number(self) -> int:
        return self.proposal.order

    @property
    def said_at(self) -> str:
        return moment(self.told.at_s)

    @property
    def details(self) -> list[tuple[str, str]]:
        """What was told beside part and condition, each with its name."""
        told = self.told
        work = told.work_said if told.kind == SaidProposal.Kind.FINDING and told.work else ""
        pairs = [
            ("where", told.place),
            ("cause, as told", told.cause),
            ("to do", work),
            ("earlier work", "somebody was in there before" if told.earlier_repair else ""),
            ("why", told.why),
        ]
        return [(name, says) for name, says in pairs if says]


@dataclass(frozen=True)
class Piece:
    """A few words, and the number of what was heard in them; 0 where nothing was."""

    text: str
    number: int = 0
    settled: bool = False


@dataclass(kw_only=True)
class Row:
    """A stretch of the narration, and what was heard in it; `before` led up to it, and said nothing."""

    before: str
    pieces: list[Piece]
    cards: list[Card] = field(default_factory=list)
    at: str = ""


def rows_of(text: str, cards: Sequence[Card]) -> list[Row]:
    """
    The whole text in rows; what is said after the last of them is a row without cards.

    A row is a sentence or a line with all that was heard in it. Of a text that goes on without a stop, it is
    cut where something heard begins and ends.

    Parameters
    ----------
    text : str
        The narration's.
    cards : sequence of Card
        In the order spoken.
    """
    stretches = _stretches(text)
    rows: list[Row] = []
    done = 0
    for begins, ends, group in _groups(cards, stretches):
        begins = max(done, begins)
        ends = max(begins, ends)
        rows.append(
            Row(
                before=text[done:begins].lstrip(BETWEEN).rstrip(),
                pieces=list(_pieces(text, begins, ends, group)),
                cards=group,
                at=next((one.said_at for one in group if one.said_at), ""),
            )
        )
        done = ends
    if rest := text[done:].lstrip(BETWEEN).rstrip():
        rows.append(Row(before=rest, pieces=[]))
    return rows


def portions_of(rows: Sequence[Row], at_once: int = AT_ONCE) -> list[list[Row]]:
    """Rows in portions with so many cards each, or a few more: a page of an hour's talk is no page."""
    portions: list[list[Row]] = [[]]
    for row in rows:
        if row.cards and sum(len(one.cards) for one in portions[-1]) >= at_once:
            portions.append([])
        portions[-1].append(row)
    return portions


def _stretches(text: str) -> list[tuple[int, int]]:
    """Sentences and lines, from the first character of each to that after it."""
    ends = [match.end() for match in _STOP.finditer(text)]
    return list(pairwise([0, *ends, len(text)]))


def _groups(cards: Iterable[Card], stretches: Sequence[tuple[int, int]]) -> list[tuple[int, int, list[Card]]]:
    """Cards that rest on the same stretch, or on words that overlap, stand in one row."""
    starts = [begins for begins, _ in stretches]
    groups: list[tuple[int, int, list[Card]]] = []
    for card in cards:
        begins, ends = card.proposal.begins, card.proposal.ends
        first, last = stretches[bisect_right(starts, begins) - 1], stretches[bisect_left(starts, ends) - 1]
        if last[1] - first[0] <= LONGEST_STRETCH:
            begins, ends = first[0], max(ends, last[1])
        if groups and begins < groups[-1][1]:
            before = groups[-1]
            groups[-1] = before[0], max(before[1], ends), [*before[2], card]
        else:
            groups.append((begins, ends, [card]))
    return groups


def _pieces(text: str, begins: int, ends: int, group: Sequence[Card]) -> Iterable[Piece]:
    """The words cut where something heard begins or ends; each piece is of the shortest that covers it."""
    marks = (c for one in group for c in (one.proposal.begins, one.proposal.ends))
    cuts = sorted({begins, ends, *marks})
    for a, b in pairwise(cuts):
        if a < begins or b > ends:
            continue
        over = [one for one in group if one.proposal.begins <= a and b <= one.proposal.ends]
        if not over:
            yield Piece(text[a:b])
            continue
        one = min(over, key=lambda card: card.proposal.ends - card.proposal.begins)
        yield Piece(text[a:b], one.number, not one.proposal.is_open)
