"""What a file of knowledge says that can be read and yet makes little sense: told to whoever wrote it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from pegwood.causes.known import Fault, Knowledge, Sign
from pegwood.trade.typed_toml import Place

#: An answer speaks for a fault where it is so many times as likely with it as with none (practice).
SPEAKS_FROM = 4.0
#: And where the fault shows it in so many cases, [1] (practice).
OFTEN_ENOUGH = 0.3
#: Of two kinds of thing on one scale, one fault shows the one in so many cases and hardly the other, [1].
MOSTLY, HARDLY = 0.5, 0.1


def doubts(known: Knowledge) -> Iterator[tuple[Place, str]]:
    """
    What makes little sense, with its place in the knowledge.

    Parameters
    ----------
    known : Knowledge
        All that is known of the mechanism.
    """
    for n, fault in enumerate(known.fault):
        for says in _of_fault(fault, known.sign):
            yield ("fault", n), says
    for n, sign in enumerate(known.sign):
        for says in _of_sign(sign):
            yield ("sign", n), says


def _of_fault(fault: Fault, signs: tuple[Sign, ...]) -> Iterator[str]:
    if not fault.mends:
        yield f"nothing mends {fault.id!r}. Say what puts it right."
    shown = [(sign, one.shows) for sign in signs for one in sign.shown_by if one.fault == fault.id]
    if not shown:
        yield f"no sign shows {fault.id!r}: it can never be told from the others."
    elif max(_speaks(sign, shows) for sign, shows in shown) < SPEAKS_FROM:
        yield f"no sign speaks clearly for {fault.id!r}: each answer comes nearly as often without it."


def _speaks(sign: Sign, shows: tuple[float, ...]) -> float:
    """How many times as likely the most telling answer is with the fault as without any."""
    best = 0.0
    for level in range(1, len(shows)):
        with_it, leak = math.fsum(shows[level:]), math.fsum(sign.leak[level:])
        if with_it >= OFTEN_ENOUGH:
            best = max(best, (with_it + leak - with_it * leak) / leak if leak else math.inf)
    return best


def _of_sign(sign: Sign) -> Iterator[str]:
    causes = [one.shows for one in sign.shown_by] + [one.shows for one in sign.tells_of]
    for level in range(1, len(sign.answers)):
        if math.fsum(sign.leak[level:]) >= max(math.fsum(shows[level:]) for shows in causes):
            yield f"{sign.answers[level]!r} to {sign.id!r} comes rather from nothing than from its faults."
            break
    for low in range(1, len(sign.answers)):
        for high in range(low + 1, len(sign.answers)):
            if _only(causes, low, high) and _only(causes, high, low):
                yield (
                    f"{sign.answers[low]!r} and {sign.answers[high]!r} to {sign.id!r} seem two kinds of "
                    "thing, not grades of one. If both can be there at once, ask for each by itself."
                )


def _only(causes: list[tuple[float, ...]], one: int, other: int) -> bool:
    """Whether some cause shows the one answer and hardly ever the other."""
    return any(shows[one] >= MOSTLY and shows[other] <= HARDLY for shows in causes)
