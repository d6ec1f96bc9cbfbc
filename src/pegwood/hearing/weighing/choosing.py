"""Which of the rated claims of one cue hold."""

from __future__ import annotations

import math
from collections.abc import Iterable

from pegwood.hearing.weighing.claims import Claim

#: How likely another part must be, beside the likeliest, to be told of together with it by the same word [1].
TOGETHER = 0.4
#: Ways a part came up that leave it open which is meant, and how much likelier one must be than the next [1].
OPEN = ("open", "open topic")
PLAINLY = 2.0
#: A claim, and how likely it is told [1].
Rated = tuple[float, Claim]


def chosen(rated: Iterable[Rated], least: float) -> list[Rated]:
    """
    Of rated claims of one cue, those that hold; none where a name may mean one part as well as another.

    At most one condition is told by a cue, so that claims share one probability: what is told of several
    parts together is as likely as all of them.
    """
    ordered = sorted(rated, key=lambda one: -one[0])
    if not ordered:
        return []
    likeliest, best = ordered[0]
    held = [ordered[0]]
    for probability, claim in ordered[1:]:
        if claim.condition != best.condition:
            continue
        if claim.how == best.how and claim.how in OPEN and probability * PLAINLY > likeliest:
            return []
        together = claim.how == best.how == "together" or (
            claim.draft is not None and claim.draft is best.draft
        )
        if together and probability >= TOGETHER * likeliest:
            held.append((probability, claim))
    likely = math.fsum(probability for probability, _ in held)
    return [(likely, claim) for _, claim in held] if likely >= least else []
