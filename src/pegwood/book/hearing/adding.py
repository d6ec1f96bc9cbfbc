"""What was said and not heard, written in by hand: so that the ear learns it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from pegwood.book.hearing.settling import Mended, mend
from pegwood.book.models import Narration, SaidProposal
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused

WHY = "written in by hand"


@transaction.atomic
def add_missed(
    narration: Narration, words: str, mended: Mended, *, by: str, at: datetime | None = None
) -> SaidProposal:
    """
    Put something on the card that the narration tells and nobody heard; what it was called is taught.

    Parameters
    ----------
    words : str
        As they stand in the narration; case and line breaks do not matter.
    mended : Mended
        What they mean.

    Raises
    ------
    Refused
        If those words are not in it, or as `mend`.
    """
    at = at or timezone.now()
    narration = Narration.objects.select_for_update().select_related("job").get(pk=narration.pk)
    locked_open(narration.job)
    begins, ends = _place(narration.text, words)
    last = narration.proposals.aggregate(last=Max("order"))["last"] or 0
    at_s = narration.times[narration.text.count("\n", 0, begins)] if narration.times else None
    proposal = SaidProposal.objects.create(
        narration=narration,
        order=last + 1,
        kind=SaidProposal.Kind.UNPLACED,
        data={"why": WHY, "words": narration.text[begins:ends], "at_s": at_s},
        begins=begins,
        ends=ends,
        at_s=at_s,
    )
    return mend(proposal, mended, by=by, at=at)


def _place(text: str, words: str) -> tuple[int, int]:
    """Where words stand in a text."""
    wanted = " ".join(words.split()).casefold()
    if not wanted:
        raise Refused("Which words were missed? Write them as they stand in the narration.")
    plain = text.replace("\n", " ").casefold()
    # a letter that is two in lower case ("ẞ") would shift every place behind it
    found = plain.find(wanted) if len(plain) == len(text) else text.find(words.strip())
    if found < 0:
        raise Refused("Those words are not in the narration. Write them as they stand in it.")
    return found, found + len(wanted)
