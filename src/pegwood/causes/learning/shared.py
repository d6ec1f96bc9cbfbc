"""
What was learned, as a file for another workshop: counts, without owners, cameras, days or keys of jobs.

Only what this bench's own jobs taught is handed on, never what came from elsewhere: so nothing is counted
twice when it comes back.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.learning.gathering import Fact, Gathered, Heard, split
from pegwood.trade.names import nearest
from pegwood.trade.typed_toml import Place, Source, built

#: A file counts no more of anything than this.
MOST = 1e6
#: What is longer or shorter than the file's minutes by more than this factor, all files together, is taken as
#: this much: others' hands, not another job (practice).
MOST_OVER = 3.0


def _count(several: tuple[float, ...], what: str) -> None:
    if not all(0 <= one <= MOST for one in several):
        raise ValueError(f"{what}: {', '.join(f'{one:g}' for one in several)}. Expected counts, 0 or more.")


@dataclass(frozen=True, kw_only=True)
class SharedFault:
    """How many cameras had a fault, and how many had not; parts of jobs count as parts."""

    id: str
    was: float
    was_not: float

    def __post_init__(self) -> None:
        _count((self.was, self.was_not), self.id)


@dataclass(frozen=True, kw_only=True)
class SharedMend:
    """
    How often a mend held and failed; how often it was timed, and its minutes over the file's, that bench's
    pace taken out, [1].
    """

    fault: str
    name: str
    held: float = 0.0
    failed: float = 0.0
    timed: int = 0
    over_file: float = 1.0

    def __post_init__(self) -> None:
        _count((self.held, self.failed, float(self.timed)), self.name)
        if not 0.01 <= self.over_file <= 100:
            raise ValueError(f"over_file is {self.over_file:g}. Expected between 0.01 and 100.")


@dataclass(frozen=True, kw_only=True)
class SharedShown:
    """How many times each answer was a fault's doing."""

    fault: str
    shows: tuple[float, ...]

    def __post_init__(self) -> None:
        _count(self.shows, self.fault)


@dataclass(frozen=True, kw_only=True)
class SharedSign:
    """How many times each answer was no fault's doing, and each fault's."""

    id: str
    leak: tuple[float, ...]
    shown_by: tuple[SharedShown, ...] = ()

    def __post_init__(self) -> None:
        _count(self.leak, self.id)
        for one in self.shown_by:
            if len(one.shows) != len(self.leak):
                raise ValueError(f"{one.fault}: {len(one.shows)} counts for {len(self.leak)} answers.")


@dataclass(frozen=True, kw_only=True)
class SharedUse:
    """What was learned of a mechanism in a family, under the mechanism's ids."""

    family: str
    called: str
    mechanism: str
    fault: tuple[SharedFault, ...] = ()
    mend: tuple[SharedMend, ...] = ()
    sign: tuple[SharedSign, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _File:
    use: tuple[SharedUse, ...]


@dataclass(frozen=True, kw_only=True)
class Shared:
    """
    What another workshop learned.

    Attributes
    ----------
    uses : tuple of SharedUse
    weight : float
        How much one of its jobs counts for, against one here, [1].
    unknown : tuple of str
        What of it nobody knows here, with its line; it is left out.
    """

    uses: tuple[SharedUse, ...]
    weight: float
    unknown: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not 0 < self.weight <= 1:
            raise ValueError(f"the weight is {self.weight:g}. Expected above 0, up to 1.")

    def into(self, found: Gathered) -> None:
        """Laid beside what was gathered here."""
        for use in self.uses:
            heard = Heard((use.family, use.called), use.mechanism)
            for fault in use.fault:
                heard.faults[fault.id] = Fact(self._rows(fault.was, fault.was_not))
            for mend in use.mend:
                done = (mend.fault, mend.name)
                heard.mends[done] = Fact(self._rows(mend.held, mend.failed))
                if mend.timed:
                    before = found.over_file.get((use.mechanism, done), 1.0)
                    over = before * mend.over_file**self.weight
                    found.over_file[use.mechanism, done] = min(MOST_OVER, max(1 / MOST_OVER, over))
            for sign in use.sign:
                for cause, shows in (("", sign.leak), *((one.fault, one.shows) for one in sign.shown_by)):
                    heard.counts[sign.id, cause] = tuple(self.weight * one for one in shows)
            found.elsewhere.append(heard)

    def _rows(self, was: float, was_not: float) -> array[float]:
        return array("d", (0.5, 1.0, self.weight * was, 0.5, 0.0, self.weight * was_not))


def read_shared(text: str, where: str, families: Mapping[str, FamilyCauses], weight: float) -> Shared:
    """
    What another workshop learned, from its file.

    Parameters
    ----------
    text, where : str
        The file's text, and what to call it in an error.
    families : mapping of str to FamilyCauses
        Those known here. What is known of no mechanism here is left out and told; the family itself need not
        be known.
    weight : float
        How much one of its jobs counts for, against one here: above 0, up to 1.

    Raises
    ------
    TableError
        With file, line and place, if the text is none, a count cannot be, or something stands there twice.
    ValueError
        If the weight cannot be.
    """
    source = Source(text, where)
    file = built(_File, source.table(), source)
    _refuse_twice(file, source)
    known, kept = _known(families), _Kept(source)
    uses = tuple(
        kept.use(use, ("use", n), known[use.mechanism])
        for n, use in enumerate(file.use)
        if kept.is_known(use.mechanism, "mechanism", known, ("use", n, "mechanism"))
    )
    return Shared(uses=uses, weight=weight, unknown=tuple(kept.unknown))


def _refuse_twice(file: _File, source: Source) -> None:
    """What stands twice would count twice, or the one would silently stand for both."""
    _once(source, (), "use", [f"{use.called} in {use.family}" for use in file.use])
    for n, use in enumerate(file.use):
        at: Place = ("use", n)
        _once(source, at, "fault", [one.id for one in use.fault])
        _once(source, at, "mend", [f"{one.name} of {one.fault}" for one in use.mend])
        _once(source, at, "sign", [one.id for one in use.sign])
        for m, sign in enumerate(use.sign):
            _once(source, (*at, "sign", m), "shown_by", [one.fault for one in sign.shown_by])


def _once(source: Source, at: Place, kind: str, named: list[str]) -> None:
    seen: set[str] = set()
    for n, one in enumerate(named):
        if one in seen:
            raise source.error((*at, kind, n), f"{one!r} stands there twice. Leave one of the two out.")
        seen.add(one)


@dataclass
class _Mechanism:
    """What is known of a mechanism here: faults, each with its mends, and signs, each with its answers."""

    faults: dict[str, set[str]] = field(default_factory=dict)
    signs: dict[str, int] = field(default_factory=dict)


def _known(families: Mapping[str, FamilyCauses]) -> dict[str, _Mechanism]:
    found: dict[str, _Mechanism] = {}
    for causes in families.values():
        for fault in causes.faults.values():
            called, own = split(fault.id)
            here = found.setdefault(causes.mechanisms.get(called, ""), _Mechanism())
            here.faults[own] = {mend.name for mend in fault.mends}
        for sign in causes.signs.values():
            called, own = split(sign.id)
            found.setdefault(causes.mechanisms.get(called, ""), _Mechanism()).signs[own] = len(sign.leak)
    return found


class _Kept:
    """Goes through a file and keeps what is known here; the rest is told with its line."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.unknown: list[str] = []

    def is_known(self, word: str, what: str, known: Iterable[str], at: Place) -> bool:
        if word in known:
            return True
        near = ", ".join(nearest(word, list(known))) or "none"
        says = f"{word!r} is no {what} known here and is left out. Nearest: {near}."
        self.unknown.append(str(self.source.error(at, says)))
        return False

    def use(self, use: SharedUse, at: Place, of: _Mechanism) -> SharedUse:
        return replace(
            use,
            fault=tuple(
                one
                for n, one in enumerate(use.fault)
                if self.is_known(one.id, "fault", of.faults, (*at, "fault", n, "id"))
            ),
            mend=tuple(
                one
                for n, one in enumerate(use.mend)
                if self.is_known(one.fault, "fault", of.faults, (*at, "mend", n, "fault"))
                and self.is_known(one.name, "mend", of.faults[one.fault], (*at, "mend", n, "name"))
            ),
            sign=tuple(
                self._sign(one, (*at, "sign", n), of)
                for n, one in enumerate(use.sign)
                if self.is_known(one.id, "sign", of.signs, (*at, "sign", n, "id"))
                and self._has_answers(one, of.signs[one.id], (*at, "sign", n, "leak"))
            ),
        )

    def _sign(self, sign: SharedSign, at: Place, of: _Mechanism) -> SharedSign:
        shown = tuple(
            one
            for n, one in enumerate(sign.shown_by)
            if self.is_known(one.fault, "fault", of.faults, (*at, "shown_by", n, "fault"))
        )
        return replace(sign, shown_by=shown)

    def _has_answers(self, sign: SharedSign, here: int, at: Place) -> bool:
        if len(sign.leak) == here:
            return True
        says = f"{sign.id!r} has {here} answers here, {len(sign.leak)} there, and is left out."
        self.unknown.append(str(self.source.error(at, says)))
        return False
