"""What lessons changed, number by number, for a page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pegwood.causes.intervals import Interval
from pegwood.trade.numbers import figure, per_cent

#: What may change: how often cameras have a fault, what it shows of a sign, what a sign shows with no fault
#: there, how often a mend does it, how long a mend takes, this bench's pace in all of them.
What = Literal["prior", "link", "leak", "success", "minutes", "pace"]


@dataclass(frozen=True, kw_only=True)
class Change:
    """
    One number, or one row of chances, that lessons changed.

    Attributes
    ----------
    what : What
    of : tuple of str
        By the family's ids: a fault; a sign and a fault; a sign; a fault and a mend's name; nothing.
    named : str
        The same for a person.
    answers : tuple of str
        Of a link or a leak: what each chance is of.
    before, after : tuple of float
        The file's and the learned: one chance, [1]; a chance for each answer, [1]; low, likely, high, [min];
        the pace, [1].
    interval : tuple of (float, float)
        The 90 % interval of each chance; empty for minutes and pace: there low and high say it of the next
        time.
    counts : tuple of float
        Here: how often it was not so, and was so; how often each answer was its doing; how often it was
        timed. What nobody ruled and what several causes may have shown counts in parts.
    start : float
        How many jobs the starting knowledge counts for.
    others : float
        How many jobs all that comes from other families and from elsewhere counts for.
    rests_on : tuple of str
        Keys of the lessons, those of other families last.
    """

    what: What
    of: tuple[str, ...]
    named: str
    before: tuple[float, ...]
    after: tuple[float, ...]
    counts: tuple[float, ...]
    rests_on: tuple[str, ...]
    start: float
    others: float = 0.0
    interval: tuple[Interval, ...] = ()
    answers: tuple[str, ...] = ()

    @property
    def says(self) -> str:
        """For a person, with what it rests on."""
        return f"{self.named}: {self._told()}; {self._rests()}."

    def _told(self) -> str:
        if self.what == "minutes":
            return f"{figure(self.before[1], 2)} → {figure(self.after[1], 2)} min"
        if self.what == "pace":
            return f"{per_cent(self.after[0])} of the files' minutes"
        several = zip(self.before, self.after, self.interval, strict=True)
        told = [
            f"{per_cent(was)} → {per_cent(now)} ({per_cent(low)} to {per_cent(high)})"
            for was, now, (low, high) in several
        ]
        return ", ".join(
            f"{answer} {one}" if answer else one
            for answer, one in zip(self.answers or ("",) * len(told), told, strict=True)
        )

    def _rests(self) -> str:
        jobs = len(set(self.rests_on))
        words = f"from {jobs} job{'s' if jobs != 1 else ''}" if jobs else "from elsewhere"
        if self.what == "prior":
            words += f", there in {self.counts[1]:g} and not in {self.counts[0]:g} that were decided or held"
        elif self.what == "success":
            words += f", held {self.counts[1]:g} times and failed {self.counts[0]:g}"
        if self.what not in ("minutes", "pace"):
            words += f"; the starting knowledge counts as {figure(self.start, 2)}"
        if self.others >= 0.05:
            words += f", other families and elsewhere as {figure(self.others, 2)}"
        return words
