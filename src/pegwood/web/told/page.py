"""A narration's page: which part of it is shown, what is next, what may be undone."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.book import hearing
from pegwood.book.hearing import told_of
from pegwood.book.hearing.parts import named_parts
from pegwood.book.hearing.teaching import conditions_known
from pegwood.book.models import Job, Narration, SaidProposal
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.web.forms.findings import StrikeOutForm
from pegwood.web.forms.hearing import MissedForm
from pegwood.web.told.rows import Card, Row, portions_of, rows_of

Kind = SaidProposal.Kind
#: The fields' ids of the form for what was missed: it stands beside others.
MISSED = "id_missed_%s"


@dataclass(frozen=True, kw_only=True)
class NarrationPage:
    """
    A narration and what was heard in it.

    Attributes
    ----------
    rows : list of Row
        In the order spoken; remarks have their marks there, and their cards in `remarks`.
    remarks : list of Card
        Knowledge about such cameras, not findings of this one.
    """

    job: Job
    narration: Narration
    rows: list[Row]
    remarks: list[Card]
    next: Card | None
    settled: int
    all: int
    plain: int
    last: str
    parts: list[str]
    conditions: list[str]
    aside: StrikeOutForm
    missed: MissedForm
    open_only: bool = False
    portion: int = 1
    portions: int = 1
    is_next_here: bool = True

    @property
    def earlier(self) -> int:
        """The portion before; 0 where this is the first."""
        return self.portion - 1

    @property
    def later(self) -> int:
        """The portion behind; 0 where this is the last."""
        return self.portion + 1 if self.portion < self.portions else 0

    @property
    def is_done(self) -> bool:
        return self.settled == self.all


def page_of(
    narration: Narration,
    here: int | None = None,
    portion: int | None = None,
    *,
    open_only: bool = False,
    aside: StrikeOutForm | None = None,
    missed: MissedForm | None = None,
) -> NarrationPage:
    """
    What the page of a narration shows: of a long one that portion which is asked for, by its number or by one
    of its proposals; else the one with the first that is open.
    """
    rows_in_book = narration.proposals.select_related("finding", "work", "remark")
    proposals = list(rows_in_book.order_by("begins", "order"))
    cards = [Card(proposal=one, told=told_of(one)) for one in proposals]
    # knowledge stands below the rest of the page: it comes last
    still_open = sorted(
        (card for card in cards if card.proposal.is_open), key=lambda card: card.proposal.kind == Kind.REMARK
    )
    following = still_open[0] if still_open else None
    rows = rows_of(narration.text, cards)
    if open_only:
        for row in rows:
            row.cards = [one for one in row.cards if one.proposal.is_open]
        rows = [row for row in rows if row.cards]
    portions = portions_of(rows)
    number = _portion(portions, here, portion, following)
    rows = portions[number - 1]
    shown = [card for row in rows for card in row.cards]
    _offer(narration.job, shown)
    if following is not None:
        following.is_next = True
    remarks = [card for card in shown if card.proposal.kind == Kind.REMARK]
    for row in rows:
        row.cards = [one for one in row.cards if one.proposal.kind != Kind.REMARK]
    family = strip_down_of(narration.job).family
    return NarrationPage(
        job=narration.job,
        narration=narration,
        rows=rows,
        remarks=remarks,
        next=following,
        settled=sum(not card.proposal.is_open for card in cards),
        all=len(cards),
        plain=sum(card.told.is_plain for card in cards if card.proposal.is_open),
        last=_last(cards),
        parts=[part.name for part in named_parts(family)],
        conditions=list(conditions_known(narration.language)),
        aside=aside or StrikeOutForm(),
        missed=missed or MissedForm(auto_id=MISSED, initial={"kind": "finding", "certainty": "plain"}),
        open_only=open_only,
        portion=number,
        portions=len(portions),
        is_next_here=following in shown,
    )


def _portion(portions: list[list[Row]], here: int | None, portion: int | None, following: Card | None) -> int:
    """Which portion is shown, from 1."""
    if portion is not None:
        return min(max(1, portion), len(portions))
    wanted = here or (following.number if following else 0)
    for n, rows in enumerate(portions, 1):
        if any(card.number == wanted for row in rows for card in row.cards):
            return n
    return 1


def _offer(job: Job, cards: list[Card]) -> None:
    """Give those that are open the signs they would answer."""
    still_open = [card for card in cards if card.proposal.is_open]
    if still_open and not job.is_over:
        offered = hearing.signs_offered(job, [card.told for card in still_open])
        for card, signs in zip(still_open, offered, strict=True):
            card.offered = signs


def _last(cards: list[Card]) -> str:
    """What undo would take back, in words."""
    act = max((card.proposal.act or 0 for card in cards), default=0)
    if not act:
        return ""
    last = [card for card in cards if card.proposal.act == act]
    return last[0].told.in_short if len(last) == 1 else f"{len(last)} kept at once"
