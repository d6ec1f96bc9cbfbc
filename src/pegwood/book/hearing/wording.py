"""From what was heard to the finding that it becomes on the card."""

from __future__ import annotations

from pegwood.book.looking import LONGEST, FindingDetails
from pegwood.book.models import SaidProposal
from pegwood.book.told import Told, told_from


def told_of(proposal: SaidProposal) -> Told:
    """A proposal as it stands now."""
    return told_from({"kind": proposal.kind, **proposal.data, **(proposal.mended or {})})


def details_of(told: Told) -> FindingDetails:
    """The finding that it becomes; the note holds what has no field of its own, and the words."""
    more = [
        f"As told, {told.cause}." if told.cause else "",
        "Signs of earlier work." if told.earlier_repair else "",
        f"To do: {told.work_said}." if told.work else "",
        told.quoted(),
    ]
    return FindingDetails(
        part=told.part[: LONGEST["part"]],
        condition=told.condition_said,
        grade=told.grade,
        place=told.place[: LONGEST["place"]],
        note="\n".join(filter(None, more))[: LONGEST["note"]],
        outlook=told.outlook,
    )
