"""What is told, seen and known of one camera."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from pegwood.causes.family_net import FamilyCauses


@dataclass(frozen=True, kw_only=True)
class Case:
    """
    What is told, seen and known of one camera.

    Attributes
    ----------
    told, denied : frozenset of str
        Of the story: what is so, and what the owner says is not so. The rest nobody knows.
    answers : mapping of str to tuple of float
        By sign, in the order in which they were seen: how likely what was seen is at each of its levels.
    unanswered : frozenset of str
        Signs that were asked and that nobody could answer.
    rulings : mapping of str to bool
        Faults that somebody found, or found not to be there.
    odds : mapping of str to float
        By fault: how many times as likely something seen elsewhere is if it is there, [1].
    """

    told: frozenset[str] = frozenset()
    denied: frozenset[str] = frozenset()
    answers: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    unanswered: frozenset[str] = frozenset()
    rulings: Mapping[str, bool] = field(default_factory=dict)
    odds: Mapping[str, float] = field(default_factory=dict)

    def within(self, causes: FamilyCauses) -> Case:
        """What of it the family knows: knowledge may have changed since it was written down."""
        return replace(
            self,
            answers={
                sign: seen
                for sign, seen in self.answers.items()
                if sign in causes.signs and len(seen) == len(causes.signs[sign].answers)
            },
            unanswered=self.unanswered.intersection(causes.signs),
            rulings={fault: there for fault, there in self.rulings.items() if fault in causes.faults},
            odds={fault: odds for fault, odds in self.odds.items() if fault in causes.faults},
        )
