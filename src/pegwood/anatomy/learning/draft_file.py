"""
A drafted family as a file, and the same file learned anew with what a person changed in it kept.

Beside each part the file keeps, under ``[[learned]]``, what the jobs taught when it was written. What of a
part's ``after`` differs from that was a person's: it stays whatever further jobs show. A part that a person
took out stays out. Names, materials, minutes and all else of a part are never written over.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import AoT, Comment, Table

from pegwood.anatomy.construction import WITHIN, Construction, read_construction
from pegwood.anatomy.learning.draft import DraftFamily
from pegwood.anatomy.learning.naming import fresh_id
from pegwood.anatomy.learning.precedence import Evidence, Pair, rings, thinned
from pegwood.anatomy.learning.toml_items import array, inline
from pegwood.anatomy.mechanism import Mechanism
from pegwood.anatomy.parts import Part, Way
from pegwood.trade.names import plain
from pegwood.trade.reference import Reference

HEAD = (
    "Drafted from strip-downs: look each part over, name what is open, take out what need not be.",
    "What you change here stays when more jobs are learned from.",
)


@dataclass(frozen=True, kw_only=True)
class Relearned:
    """A file learned anew: its text, and what was told or seen that does not go together, a line each."""

    toml: str
    contradictions: tuple[str, ...]


def written(draft: DraftFamily) -> str:
    """A draft as a family's file."""
    doc = tomlkit.document()
    for line in HEAD:
        doc.add(_comment(line))
    for line in draft.contradictions:
        doc.add(_comment(f"Does not go together: {line}"))
    doc["id"], doc["name"] = draft.id, draft.name
    doc["source"], doc["mark"] = _source(draft.jobs), "practice"
    parts = tomlkit.aot()
    for part in draft.parts:
        parts.append(_part_table(part, draft.open.get(part.id, ())))
    doc["part"] = parts
    doc["learned"] = _learned({part.id: part.ways[0].after for part in draft.parts}, draft.pairs)
    return tomlkit.dumps(doc)


def relearned(
    text: str,
    where: str,
    draft: DraftFamily,
    known: Mapping[str, Mechanism],
    reference: Reference | None = None,
) -> Relearned:
    """
    A family's file with what more jobs teach.

    Parameters
    ----------
    text, where : str
        The file as it is, and what to call it in an error.
    draft : DraftFamily
        Drafted from all jobs, those that the file was learned from too.
    known : mapping of str to Mechanism
        The mechanisms that it may use.

    Raises
    ------
    TableError
        If the file is amiss, as `read_construction`.
    """
    file = read_construction(text, where, known, reference, own=True)
    ids = _matched(file, draft)
    base = {one.part: set(one.after) for one in file.learned}
    gone = base.keys() - file.parts.keys()
    new = [part for part in draft.parts if part.id not in ids and part.id not in gone]
    for part in new:
        ids[part.id] = fresh_id(part.id, (*file.parts, *ids.values()))
    free = {part.id for part in file.parts.values() if _is_learned(part)} | {ids[part.id] for part in new}
    is_there = {(first, part.id) for part in file.parts.values() for first in _always_before(part)}
    was = {(first, then) for then, those in base.items() for first in those}
    added = is_there - was
    removed = {pair for pair in was - is_there if set(pair) <= file.parts.keys()}
    seen = {
        (ids[first], ids[then]): one
        for (first, then), one in draft.pairs.items()
        if first in ids and then in ids
    }
    says = list(draft.contradictions)
    wanted = {pair: one for pair, one in seen.items() if pair not in removed and pair[1] in free}
    fixed = {pair for pair in is_there if pair[1] not in free} | added
    while ring := rings((*wanted, *fixed)):
        inside = {pair for pair in wanted if any(set(pair) <= those for those in ring)} - fixed
        wanted = {pair: one for pair, one in wanted.items() if pair not in inside}
        says += [
            f"{', '.join(sorted(those))}: what you wrote and what was seen go in a ring; yours stays."
            for those in ring
        ]
    fewest = thinned({*wanted, *fixed}) | {pair for pair in added if pair[1] in free}
    order = tuple(dict.fromkeys((*file.parts, *ids.values())))
    after = {then: [first for first in order if (first, then) in fewest] for then in order if then in free}
    doc = tomlkit.parse(text)
    if str(doc["source"]) in {_source(n) for n in range(1, draft.jobs + 1)}:  # no person wrote it
        doc["source"] = _source(draft.jobs)
    _write_after(doc, after)
    for part in new:
        _add(doc, part, ids, after, draft)
    taught = {
        then: [one for one in those if (one, then) not in added]
        + [first for first, other in sorted(removed) if other == then]
        for then, those in after.items()
    }
    taught |= {then: sorted(base[then]) for then in sorted(gone)}
    doc.pop("learned", None)
    doc["learned"] = _learned(taught, seen)
    found = tomlkit.dumps(doc)
    read_construction(found, where, known, reference, own=True)  # what cannot be read is not handed out
    return Relearned(toml=found, contradictions=tuple(dict.fromkeys(says)))


def _source(jobs: int) -> str:
    return f"drafted from {jobs} strip-down{'s' if jobs > 1 else ''} at this bench"


def _always_before(part: Part) -> set[str]:
    """What must be off before a part, whichever way it comes off."""
    return set.intersection(*(set(way.after) for way in part.ways)) if part.ways else set()


def _is_learned(part: Part) -> bool:
    """Whether what more jobs teach may change it: of the file itself, with one way."""
    return WITHIN not in part.id and len(part.ways) == 1


def _matched(file: Construction, draft: DraftFamily) -> dict[str, str]:
    """By the draft's id: the file's part that answers to one of its names."""
    names: dict[str, str] = {}
    for part in file.parts.values():
        for name in (part.id, part.name, *part.also):
            names.setdefault(plain(name), part.id)
    found: dict[str, str] = {}
    for part in draft.parts:
        for name in (part.id, part.name, *part.also):
            if meant := names.get(plain(name)):
                found[part.id] = meant
                break
    return found


def _write_after(doc: tomlkit.TOMLDocument, after: Mapping[str, list[str]]) -> None:
    for table in doc.get("part", ()):
        if table["id"] in after:
            way = table["ways"][0]
            if list(way.get("after", ())) != after[table["id"]]:
                way["after"] = array(after[table["id"]])


def _add(
    doc: tomlkit.TOMLDocument,
    part: Part,
    ids: Mapping[str, str],
    after: Mapping[str, list[str]],
    draft: DraftFamily,
) -> None:
    table = _part_table(part, draft.open.get(part.id, ()), ids)
    table["id"] = ids[part.id]
    table["ways"][0]["after"] = array(after[ids[part.id]])
    if "part" not in doc:
        doc["part"] = tomlkit.aot()
    parts = doc["part"]
    assert isinstance(parts, AoT)
    parts.append(table)


# --- tables ---------------------------------------------------------------------------------------------


def _part_table(part: Part, left: Iterable[str], ids: Mapping[str, str] | None = None) -> Table:
    table = tomlkit.table()
    for line in left:
        table.add(_comment(line))
    table["id"], table["name"] = part.id, part.name
    for field in ("also", "materials"):
        if those := getattr(part, field):
            table[field] = array(those)
    if part.not_in_all:
        table["not_in_all"] = True
    if part.source:
        table["source"], table["mark"] = part.source, part.mark or "practice"
    if part.joins:
        table["joins"] = array(inline(_join(one, ids)) for one in part.joins)
    if part.shims:
        table["shims"] = array(inline(vars(one)) for one in part.shims)
    ways = tomlkit.aot()
    ways.append(_way_table(part.ways[0]))
    table["ways"] = ways
    return table


def _join(join: Any, ids: Mapping[str, str] | None) -> dict[str, Any]:
    told = {name: value for name, value in vars(join).items() if value not in ("", None)}
    return {
        name: (ids or {}).get(value, value) if name in ("to", "under") else value
        for name, value in told.items()
    }


def _way_table(way: Way) -> Table:
    table = tomlkit.table()
    table["side"], table["tool"] = way.side, way.tool
    table["minutes"] = inline(vars(way.minutes))
    table["after"] = array(way.after)
    if way.before:
        table["before"] = array(inline(vars(one)) for one in way.before)
    return table


def _learned(after: Mapping[str, Iterable[str]], pairs: Mapping[Pair, Evidence]) -> AoT:
    """What the jobs taught, with the evidence for each as a comment."""
    found = tomlkit.aot()
    for then, those in after.items():
        table = tomlkit.table()
        for first in those:
            if one := pairs.get((first, then)):
                table.add(_comment(f"after {first}: {one.says}"))
        table["part"] = then
        table["after"] = array(those)
        found.append(table)
    return found


def _comment(text: str) -> Comment:
    """One line of what TOML lets a comment hold, whatever a name held."""
    return tomlkit.comment(" ".join("".join(c if c.isprintable() else " " for c in text).split()))
