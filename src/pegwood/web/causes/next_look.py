"""Which look comes next: of those that need nothing more off, the one that can tell most for its minutes."""

from __future__ import annotations

from collections.abc import Mapping

from pegwood.causes.case import Case
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Sign


def next_look(
    causes: FamilyCauses, case: Case, chances: Mapping[str, float], off: frozenset[str]
) -> Sign | None:
    """
    The look that is proposed.

    Parameters
    ----------
    chances : mapping of str to float
        Of all faults now, [1].
    off : frozenset of str
        Parts that are off.

    Returns
    -------
    Sign or None
        None where all that can be looked at as the camera is was looked at.
    """
    asked = case.answers.keys() | case.unanswered
    open_now = [sign for sign in causes.signs.values() if sign.id not in asked and off.issuperset(sign.off)]
    return max(open_now, key=lambda sign: _tells(sign, chances) / (1 + sign.minutes), default=None)


def _tells(sign: Sign, chances: Mapping[str, float]) -> float:
    """How undecided the faults are that the look bears on, and how plainly they would show."""
    return sum(
        chances[one.fault] * (1 - chances[one.fault]) * (1 - one.shows[0]) for one in sign.shown_by
    )
