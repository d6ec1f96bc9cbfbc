"""A family that no file describes yet, drafted from strip-downs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import cast, get_args

from pegwood.anatomy.bench_log import Kept, TakenOff
from pegwood.anatomy.learning.naming import fresh_id
from pegwood.anatomy.learning.precedence import Evidence, Pair, named, precedence, thinned
from pegwood.anatomy.part_materials import usual_materials
from pegwood.anatomy.parts import Join, JoinKind, Minutes, Note, Part, Shim, Side, Tool, Way
from pegwood.trade.names import UnknownWord, plain
from pegwood.trade.reference import Reference
from pegwood.trade.threads import find_thread

#: Where nobody told from which side.
SIDE: Side = "front"
#: Where nobody timed a step, [min].
NOT_TIMED = Minutes(low=2, likely=5, high=15)
#: How a line begins that tells what was put in the place of something nobody told.
STAND_INS = ("minutes: never", "side: not", "tool: not")
BETWEEN_STAND_INS = "; "
#: A step's low and high from its usual minutes, where the times themselves lie no further apart: practice.
LOW, HIGH = 0.5, 3.0


@dataclass(frozen=True, kw_only=True)
class DraftFamily:
    """
    A family drafted from strip-downs.

    Attributes
    ----------
    id, name : str
    jobs : int
        How many strip-downs it rests on.
    parts : tuple of Part
        In the order in which they first came off; what must be off before each is thinned to what does not
        follow from the rest.
    pairs : mapping of (first, then) to Evidence
        All that comes before what, by the parts' ids, those that follow from others too.
    contradictions : tuple of str
        What was told and seen otherwise, with the parts' names.
    open : mapping of str to tuple of str
        By part: what nobody told, and what was put in its place.
    """

    id: str
    name: str
    jobs: int
    parts: tuple[Part, ...]
    pairs: Mapping[Pair, Evidence]
    contradictions: tuple[str, ...]
    open: Mapping[str, tuple[str, ...]]

    def as_toml(self) -> str:
        """As a family's file, the evidence as comments; `read_construction` reads the same graph back."""
        from pegwood.anatomy.learning.draft_file import written

        return written(self)


def draft(
    jobs: Sequence[Sequence[TakenOff]],
    family_id: str,
    name: str,
    reference: Reference | None = None,
) -> DraftFamily:
    """
    A family from strip-downs of such cameras.

    Parameters
    ----------
    jobs : sequence of logs
        One for each strip-down, the oldest first; parts are matched by name.
    family_id, name : str
        What the family is to be called.
    reference : Reference, optional
        The trade's tables; those that came where none is given.

    Raises
    ------
    ValueError
        If nothing came off in any of them.
    """
    reference = reference or Reference()
    met: dict[str, list[TakenOff]] = {}
    for log in jobs:
        for entry in sorted(log, key=lambda one: one.number):
            met.setdefault(plain(entry.name), []).append(entry)
    met = {key: those for key, those in met.items() if any(one.met != "never fitted" for one in those)}
    if not met:
        raise ValueError("nothing came off in these jobs: there is nothing to draft a family from.")
    ids = _ids(met)
    found = precedence(jobs)
    pairs = {
        (ids[first], ids[then]): one
        for (first, then), one in found.pairs.items()
        if first in ids and then in ids
    }
    fewest = thinned(pairs)
    spoken = [named(log) for log in jobs]
    opened: dict[str, tuple[str, ...]] = {}
    parts = []
    for key, entries in met.items():
        after = tuple(ids[other] for other in met if (ids[other], ids[key]) in fewest)
        part, left = _part(entries, ids, key, after, spoken, reference)
        parts.append(part)
        opened[part.id] = left
    return DraftFamily(
        id=family_id,
        name=name,
        jobs=len(jobs),
        parts=tuple(parts),
        pairs=pairs,
        contradictions=found.contradictions,
        open=opened,
    )


def _ids(names: Iterable[str]) -> dict[str, str]:
    """A short id for each name, each its own."""
    found: dict[str, str] = {}
    for name in names:
        found[name] = fresh_id(name, found.values())
    return found


def _part(
    entries: list[TakenOff],
    ids: Mapping[str, str],
    key: str,
    after: tuple[str, ...],
    spoken: Sequence[Mapping[str, str]],
    reference: Reference,
) -> tuple[Part, tuple[str, ...]]:
    """A part from all that the jobs tell of it, and what they leave open."""
    left: list[str] = []
    last = entries[-1]
    usual = usual_materials(last.name)
    if usual is None:
        left.append("materials: nobody has said")
    joins = _joins(entries, ids, key, spoken, reference, left)
    side = _most(one.side for one in entries if one.side in get_args(Side))
    tool = _most(one.tool for one in entries if one.tool in get_args(Tool))
    if not side:
        left.append(f"side: not told, {SIDE} taken")
    if not tool:
        tool = "screwdriver" if any(join.kind == "screw" for join in joins) else "fingers"
        left.append(f"tool: not told, {tool} taken")
    way = Way(
        side=cast(Side, side or SIDE),
        tool=cast(Tool, tool),
        minutes=_minutes([one.minutes for one in entries if one.minutes is not None], left),
        after=after,
        before=_notes(entries),
    )
    part = Part(
        id=ids[key],
        name=last.name.strip(),
        materials=usual.materials if usual else (),
        also=tuple(
            dict.fromkeys(one.name.strip() for one in entries if one.name.strip() != last.name.strip())
        ),
        not_in_all=any(one.met == "never fitted" for one in entries),
        joins=joins,
        shims=_shims(entries, left),
        ways=(way,),
    )
    stand_ins = [line for line in left if line.startswith(STAND_INS)]
    if stand_ins:  # told wherever the part is: a figure that nobody measured must not pass for one
        part = replace(part, source=BETWEEN_STAND_INS.join(stand_ins), mark="practice")
    return part, tuple(left)


def _most(words: Iterable[str]) -> str:
    counted = Counter(words).most_common(1)
    return counted[0][0] if counted else ""


def _minutes(times: list[float], left: list[str]) -> Minutes:
    if not times:
        left.append(f"minutes: never timed, {NOT_TIMED.likely:g} taken")
        return NOT_TIMED
    likely = float(f"{median(times):.3g}")
    low, high = min(LOW * likely, *times), max(HIGH * likely, *times)
    left.append(
        f"minutes: {len(times)} timed; low and high at least {LOW:g} and {HIGH:g} times the usual, practice"
    )
    return Minutes(
        low=min(likely, float(f"{low:.3g}")), likely=likely, high=max(likely, float(f"{high:.3g}"))
    )


def _notes(entries: list[TakenOff]) -> tuple[Note, ...]:
    latest = {note.kind: note.says for entry in entries for note in entry.notes}
    return tuple(Note(kind=kind, says=f"Last time: {says}") for kind, says in latest.items())


def _joins(
    entries: list[TakenOff],
    ids: Mapping[str, str],
    key: str,
    spoken: Sequence[Mapping[str, str]],
    reference: Reference,
    left: list[str],
) -> tuple[Join, ...]:
    """Screws and pins as they came out last; the parts they go into and lie under, as told in any job."""
    kept = next((found for one in reversed(entries) if (found := _held_by(one))), [])
    to = _first(key, (name for one in entries for name in one.held_to), ids, spoken)
    under = _first(key, (name for one in entries for name in one.hidden_under), ids, spoken)
    joins: dict[Join, int] = {}
    for one in kept:
        kind = cast(JoinKind, one.kind)
        thread = one.thread if one.kind == "screw" else ""
        if thread:
            try:
                find_thread(reference, thread)
            except UnknownWord:
                left.append(f"thread: {thread} is in no table")
                thread = ""
        length = one.length_mm if one.length_mm is not None and one.length_mm < 60 else None
        head = one.head if one.kind == "screw" else ""
        join = Join(kind=kind, to=to, under=under, thread=thread, length_mm=length, head=head)
        joins[join] = joins.get(join, 0) + one.count
    return tuple(replace(join, count=count) for join, count in joins.items())


def _held_by(entry: TakenOff) -> list[Kept]:
    return [one for one in entry.kept if one.kind in ("screw", "pin")]


def _first(
    key: str, names: Iterable[str], ids: Mapping[str, str], spoken: Sequence[Mapping[str, str]]
) -> str:
    """The first of some told names that is another part of the draft, by its id; empty for none."""
    for name in names:
        for known in spoken:
            meant = known.get(name) or known.get(plain(name), "")
            if meant in ids and meant != key:
                return ids[meant]
    return ""


def _shims(entries: list[TakenOff], left: list[str]) -> tuple[Shim, ...]:
    """By place and side, as thick as they were over all jobs."""
    thick: dict[tuple[str, str], list[float]] = {}
    for one in (kept for entry in entries for kept in entry.kept if kept.kind in ("shim", "washer")):
        where = (one.place or "not told", one.side or "not told")
        if one.thickness_mm is None or one.thickness_mm >= 5:
            left.append(f"{one.kind} at {where[0]}: its thickness was not measured")
            continue
        thick.setdefault(where, []).append(one.thickness_mm)
    return tuple(
        Shim(place=place, side=side, low_mm=min(those), high_mm=max(those))
        for (place, side), those in thick.items()
    )
