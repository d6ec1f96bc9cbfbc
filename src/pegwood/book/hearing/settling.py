"""A person keeps, mends or drops what was heard: only then does it stand on the card."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from pegwood.book import diary, search
from pegwood.book.arriving import remark
from pegwood.book.benchwork import log_work
from pegwood.book.hearing.offered import signs_offered
from pegwood.book.hearing.parts import part_called
from pegwood.book.hearing.teaching import teach, teach_part
from pegwood.book.hearing.wording import details_of, told_of
from pegwood.book.looking import LONGEST, note_finding
from pegwood.book.models import Job, Narration, SaidProposal, TaughtWord
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.book.told import Told
from pegwood.book.weighing.answering import answer_sign
from pegwood.hearing import Certainty

LONGEST_REASON = 240
Kind, State = SaidProposal.Kind, SaidProposal.State


@dataclass(frozen=True, kw_only=True)
class Mended:
    """
    What a person made of something heard.

    Attributes
    ----------
    kind : str
        What it is: a finding, work or a remark.
    part, condition, grade, place, certainty, denied, work, done
        As in `Told`; the part by any name it has, or one that the family does not know.
    words : str
        Of a remark: what is to be remembered; empty for the words as they were said.
    called, condition_called : str
        The words that meant the part, and the condition; where it was heard as another, they are taught, so
        that the next hearing knows.
    """

    kind: str
    part: str = ""
    condition: str = ""
    grade: int | None = None
    place: str = ""
    certainty: Certainty = "plain"
    denied: bool = False
    work: tuple[str, ...] = ()
    done: bool = False
    words: str = ""
    called: str = ""
    condition_called: str = ""


@transaction.atomic
def keep(
    proposal: SaidProposal, *, by: str, signs: Mapping[str, str] | None = None, at: datetime | None = None
) -> SaidProposal:
    """
    Put what was heard on the card, as it was heard.

    Parameters
    ----------
    signs : mapping of str to str, optional
        Those of the signs offered with it (`signs_offered`) that the person confirmed, with the answer.

    Raises
    ------
    Refused
        If it is settled already, no part or condition is known of it, a sign was not offered, or the job is
        over.
    """
    at = at or timezone.now()
    proposal = _open(proposal)
    if proposal.kind == Kind.UNPLACED:
        raise Refused("It is not known what it is about. Mend it: name the part, or drop it.")
    _write(proposal, State.KEPT, signs, act=_next_act(proposal.narration), by=by, at=at)
    return proposal


@transaction.atomic
def keep_plain(narration: Narration, *, by: str, at: datetime | None = None) -> int:
    """
    Keep all that was said plainly of a known part, at once; say how many that were.

    Conjectures, work that is only planned, remarks and what could not be placed stay open. `undo` takes all
    of it back at once. Signs are left to a person.
    """
    at = at or timezone.now()
    narration = Narration.objects.select_for_update().select_related("job").get(pk=narration.pk)
    act = _next_act(narration)
    plain = [one for one in narration.proposals.filter(state=State.OPEN) if told_of(one).is_plain]
    with search.once():
        for proposal in plain:
            proposal.narration = narration
            _write(proposal, State.KEPT, None, act=act, by=by, at=at)
    return len(plain)


@transaction.atomic
def mend(
    proposal: SaidProposal,
    mended: Mended,
    *,
    by: str,
    signs: Mapping[str, str] | None = None,
    at: datetime | None = None,
) -> SaidProposal:
    """
    Put what was heard on the card as the person puts it right; what was misheard is taught.

    Raises
    ------
    Refused
        If it is settled already, what it needs is missing, a word cannot be taught, or the job is over.
    """
    at = at or timezone.now()
    proposal = _open(proposal)
    family = strip_down_of(proposal.narration.job).family
    part = part_called(family, mended.part) if mended.part.strip() else None
    _check(mended)
    said = proposal.data
    proposal.mended = {
        "kind": mended.kind,
        "part": part.name if part else mended.part.strip(),
        "part_id": part.id if part else "",
        "condition": mended.condition.strip(),
        "grade": mended.grade,
        "place": mended.place.strip(),
        "certainty": mended.certainty,
        "denied": mended.denied,
        "work": list(mended.work),
        "done": mended.done,
        **({"words": mended.words.strip()} if mended.words.strip() else {}),
        # what was said of another condition is not true of this one
        **({"cause": "", "measured": ""} if mended.condition.strip() != said.get("condition") else {}),
    }
    _write(proposal, State.MENDED, signs, act=_next_act(proposal.narration), by=by, at=at)
    if mended.called.strip() and part is not None and part.id != said.get("part_id"):
        teach_part(mended.called, part, family, proposal=proposal, by=by, at=at)
    if mended.condition_called.strip() and mended.condition.strip() not in ("", said.get("condition")):
        kind = TaughtWord.Kind.CONDITION
        teach(kind, mended.condition_called, mended.condition, proposal=proposal, by=by, at=at)
    return proposal


@transaction.atomic
def drop(
    proposal: SaidProposal,
    *,
    by: str,
    reason: str = "",
    heard: str = "",
    meant: str = "",
    at: datetime | None = None,
) -> SaidProposal:
    """
    Let what was heard be nothing; it stays with the narration, with the reason.

    Parameters
    ----------
    heard, meant : str
        A word that was misheard, and what was really said; both or neither. It is taught.

    Raises
    ------
    Refused
        If it is settled already, the reason is too long, or a word cannot be taught.
    """
    at = at or timezone.now()
    proposal = _open(proposal)
    reason = reason.strip()
    if len(reason) > LONGEST_REASON:
        raise Refused(f"The reason is longer than {LONGEST_REASON} characters. Make it shorter.")
    if bool(heard.strip()) != bool(meant.strip()):
        raise Refused("To teach a word that was misheard, write both: what was heard, and what was said.")
    _settle(proposal, State.DROPPED, act=_next_act(proposal.narration), by=by, at=at, reason=reason)
    diary.write(
        proposal.narration.job,
        by=by,
        at=at,
        what="dropped what was heard",
        text=": ".join(filter(None, (told_of(proposal).in_short, reason))),
        old={"proposal": proposal.pk, "words": proposal.data.get("words", "")},
    )
    if heard.strip():
        teach(TaughtWord.Kind.MISHEARD, heard, meant, proposal=proposal, by=by, at=at)
    return proposal


def _check(mended: Mended) -> None:
    if mended.kind not in (Kind.FINDING, Kind.WORK, Kind.REMARK):
        raise Refused("Is it a finding, work or a remark? Choose one.")
    if mended.kind == Kind.WORK and not any(one.strip() for one in mended.work):
        raise Refused("What is to be done, or was? Choose the work.")
    for name in ("part", "place", "condition"):
        if len(getattr(mended, name).strip()) > LONGEST[name]:
            raise Refused(f"The {name} is longer than {LONGEST[name]} characters. Make it shorter.")
    if len(mended.words) > LONGEST["note"]:
        raise Refused(f"The remark is longer than {LONGEST['note']} characters. Make it shorter.")


def _open(proposal: SaidProposal) -> SaidProposal:
    """The proposal as it stands, held until the transaction ends; one that is settled is refused."""
    narrations = Narration.everything.select_for_update().select_related("job")
    narration = narrations.get(pk=proposal.narration_id)
    locked_open(narration.job)
    proposal = SaidProposal.objects.get(pk=proposal.pk)
    proposal.narration = narration
    if narration.struck_out:
        raise Refused("That narration was struck out.")
    if not proposal.is_open:
        raise Refused(f"That one is {proposal.state} already. Undo it first.")
    return proposal


def _next_act(narration: Narration) -> int:
    return (narration.proposals.aggregate(last=Max("act"))["last"] or 0) + 1


def _settle(proposal: SaidProposal, state: str, *, act: int, by: str, at: datetime, reason: str = "") -> None:
    proposal.state = state
    proposal.act = act
    proposal.reason = reason
    proposal.decided_at, proposal.decided_by = at, by
    proposal.save()


def _write(
    proposal: SaidProposal, state: str, signs: Mapping[str, str] | None, *, act: int, by: str, at: datetime
) -> None:
    job, told = proposal.narration.job, told_of(proposal)
    if told.kind == Kind.FINDING:
        offered = {one.sign: one.answers for one in signs_offered(job, [told])[0]} if signs else {}
        proposal.finding = note_finding(job, details_of(told), by=by, at=at)
        for sign, answer in (signs or {}).items():
            if answer not in offered.get(sign, ()):
                raise Refused(f"{sign[:60]!r} is no sign that this answers so.")
            proposal.sign_answers.add(answer_sign(job, sign, answer, by=by, at=at))
    elif told.kind == Kind.WORK and told.done:
        done = told.work_said
        proposal.work = log_work(job, done[:1].upper() + done[1:], part=told.part, by=by, at=at)
    elif told.kind == Kind.WORK:
        proposal.remark = remark(job, f"To do: {told.work_said}. {told.quoted()}", by=by, at=at)
    else:
        own = (proposal.mended or {}).get("words")
        proposal.remark = remark(job, own or f"Of such cameras. {told.quoted()}", by=by, at=at)
    _settle(proposal, state, act=act, by=by, at=at)


# --- and back again --------------------------------------------------------------------------------------


@transaction.atomic
def undo(narration: Narration, *, by: str, at: datetime | None = None) -> int:
    """
    Take back what was decided last: what it put on the card is struck out, what it taught is untaught.

    What was kept at one press is taken back at one. A remark stays in the diary, and beside it that it was
    taken back.

    Returns
    -------
    back : int
        How many are open again.

    Raises
    ------
    Refused
        If nothing of the narration was decided yet, or the job is over.
    """
    from pegwood.book.hearing.undoing import take_back_all

    at = at or timezone.now()
    narration = Narration.objects.select_for_update().select_related("job").get(pk=narration.pk)
    job: Job = locked_open(narration.job)
    act = narration.proposals.aggregate(last=Max("act"))["last"]
    if act is None:
        raise Refused("Nothing was kept, mended or dropped yet.")
    last = list(narration.proposals.filter(act=act).select_related("finding", "work", "remark"))
    with search.once():
        take_back_all(job, last, by=by, at=at)
    return len(last)


def as_mended(told: Told, **changed: Any) -> Mended:
    """What was heard as a person would type it, with some of it changed."""
    names = ("kind", "part", "condition", "grade", "place", "certainty", "denied", "work", "done")
    return replace(Mended(**{name: getattr(told, name) for name in names}), **changed)
