"""The shelf in plain numbers: what may be done there, and what each move does. The book is not asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field


@dataclass
class Moved:
    """What a move did: by how many more lie there, and by how many more of these are held for a job."""

    spare: int
    lies: int = 0
    held: int = 0
    job: int | None = None
    #: A counter-entry, or what one undid.
    settled: bool = False

    @property
    def back(self) -> Moved:
        return Moved(self.spare, -self.lies, -self.held, self.job, settled=True)


@dataclass
class Lying:
    """What should be there of a spare."""

    name: str
    #: What one cost, in minor units; None where nobody wrote it.
    cost: int | None
    lies: int = 0
    #: By job.
    held: Counter[int] = field(default_factory=Counter)
    used: Counter[int] = field(default_factory=Counter)

    @property
    def free(self) -> int:
        return self.lies - sum(self.held.values())

    def after(self, move: Moved) -> Lying:
        """As it is once that has moved."""
        then = Lying(self.name, self.cost, self.lies + move.lies, self.held.copy(), self.used.copy())
        if move.job is not None:
            then.held[move.job] += move.held
            then.used[move.job] -= move.lies
        return then

    def can_be(self, over: Collection[int]) -> bool:
        """Whether such a state may come to be; nothing is held for the jobs that are over."""
        counts = (self.lies, self.free, *self.held.values(), *self.used.values())
        return min(counts) >= 0 and not any(self.held[job] for job in over)
