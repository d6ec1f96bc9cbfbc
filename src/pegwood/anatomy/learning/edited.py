"""
A family's file with parts changed, added and taken out, as a page sends them; all else of it stays as it is.

Comments, the order of what is not touched and the evidence under ``[[learned]]`` are kept. Where a part is
taken out, what waited for it waits for what it waited for itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import AoT

from pegwood.anatomy.construction import WITHIN, Construction
from pegwood.anatomy.learning.draft import BETWEEN_STAND_INS, STAND_INS
from pegwood.anatomy.learning.toml_items import array, inline
from pegwood.anatomy.parts import Minutes, Part, Scarce, Side, Tool
from pegwood.trade.typed_toml import TableError


@dataclass(frozen=True, kw_only=True)
class WayEdit:
    """How a part comes off that has one way."""

    side: Side
    tool: Tool
    minutes: Minutes
    after: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PartEdit:
    """
    A part of the file itself as it is to be.

    Attributes
    ----------
    id : str
        The file's; one that it does not have is a new part.
    name, also, materials, scarce, not_in_all
        As `pegwood.anatomy.parts.Part`.
    way : WayEdit, optional
        None leaves the ways as they are: of a part that has several, or none.
    """

    id: str
    name: str
    also: tuple[str, ...] = ()
    materials: tuple[str, ...] = ()
    scarce: Scarce = "scarce"
    not_in_all: bool = False
    way: WayEdit | None = None


def own_parts(construction: Construction) -> tuple[Part, ...]:
    """The parts that stand in the family's own file, rather than in a mechanism it uses."""
    return tuple(part for part in construction.parts.values() if WITHIN not in part.id)


def as_it_is(part: Part) -> PartEdit:
    """A part that is not to be changed."""
    return PartEdit(
        id=part.id,
        name=part.name,
        also=part.also,
        materials=part.materials,
        scarce=part.scarce,
        not_in_all=part.not_in_all,
    )


def edited(text: str, where: str, name: str, parts: Sequence[PartEdit]) -> str:
    """
    The file's text with its name and the parts of its own as given; one that is not given is taken out.

    Parameters
    ----------
    text, where : str
        The file as it is, which can be read, and what to call it in an error.
    name : str
        The family's.
    parts : sequence of PartEdit

    Raises
    ------
    TableError
        If the file is written so that its parts cannot be told apart here. Whether the family still holds
        together `read_construction` says.
    """
    doc = tomlkit.parse(text)
    if doc["name"] != name:
        doc["name"] = name
    if "part" not in doc:
        doc["part"] = tomlkit.aot()
    tables = doc["part"]
    if not isinstance(tables, AoT):
        raise TableError(f"{where}: write each part under its own [[part]], or change it as a file.")
    wanted = {one.id: one for one in parts}
    gone = _take_out(tables, wanted.keys())
    learned = {one["part"]: list(one.get("after", ())) for one in doc.get("learned", ())}
    for one in doc.get("learned", ()):
        after = learned[one["part"]]
        if more := [first for first in _bridged(after, learned, gone) if first not in after]:
            one["after"] = array([*after, *more])
    for table in tables:
        _write_part(table, wanted.pop(str(table["id"])), gone)
    for one in wanted.values():
        table = tomlkit.table()
        table["id"] = one.id
        tables.append(table)
        _write_part(table, one, gone)
    return tomlkit.dumps(doc)


def _take_out(tables: AoT, stays: Iterable[str]) -> dict[str, list[str]]:
    """Take out the parts that do not stay; by id: what each waited for, whichever way it came off."""
    keep = set(stays)
    gone: dict[str, list[str]] = {}
    for place in reversed(range(len(tables))):
        table = tables[place]
        if table["id"] not in keep:
            ways = [list(map(str, way.get("after", ()))) for way in table.get("ways", ())]
            always = [one for one in ways[0] if all(one in way for way in ways)] if ways else []
            gone[str(table["id"])] = always
            del tables[place]
    return gone


def _bridged(after: Iterable[str], befores: Mapping[str, Iterable[str]], gone: Iterable[str]) -> list[str]:
    """What to wait for where some of it is gone: what that waited for."""
    found: dict[str, None] = {}
    out, met = set(gone), set[str]()
    ahead = [str(one) for one in after]
    while ahead:
        one = ahead.pop(0)
        if one not in out:
            found[one] = None
        elif one not in met:
            met.add(one)
            ahead = [*map(str, befores.get(one, ())), *ahead]
    return list(found)


def _write_part(table: Any, part: PartEdit, gone: Mapping[str, list[str]]) -> None:
    _set(table, "name", part.name)
    _set(table, "also", list(part.also))
    _set(table, "materials", list(part.materials))
    _set(table, "scarce", part.scarce, usual="scarce")
    _set(table, "not_in_all", part.not_in_all, usual=False)
    for join in table.get("joins", ()):
        for field in ("to", "under"):
            if join.get(field) in gone:
                del join[field]
    if part.way is None:
        for way in table.get("ways", ()):
            if "after" in way:
                _set(way, "after", _bridged(way["after"], gone, gone))
        return
    if "ways" not in table:
        ways = tomlkit.aot()
        ways.append(tomlkit.table())
        table["ways"] = ways
    way, told = table["ways"][0], part.way
    _drop_stand_ins(table, way, told)
    _set(way, "side", told.side)
    _set(way, "tool", told.tool)
    if dict(way.get("minutes", {})) != vars(told.minutes):
        way["minutes"] = inline({name: _short(value) for name, value in vars(told.minutes).items()})
    after = [one for one in _bridged(told.after, gone, gone) if one != part.id]
    if set(after) != set(way.get("after", ())) or "after" not in way:
        way["after"] = array(after)


def _drop_stand_ins(table: Any, way: Any, told: WayEdit) -> None:
    """What a person has told now is no stand-in any more, and is not called one."""
    changed = {"side": way.get("side") != told.side, "tool": way.get("tool") != told.tool}
    changed["minutes"] = dict(way.get("minutes", {})) != vars(told.minutes)
    lines = str(table.get("source", "")).split(BETWEEN_STAND_INS)
    if not all(line.startswith(STAND_INS) for line in lines):
        return
    if left := [line for line in lines if not changed[line.partition(":")[0]]]:
        _set(table, "source", BETWEEN_STAND_INS.join(left))
    else:
        del table["source"]
        table.pop("mark", None)


def _set(table: Any, field: str, value: Any, *, usual: Any = None) -> None:
    """Write what differs from what is there; nothing for what need not be said."""
    if field in table:
        if table[field] == value:
            return
        if value == []:
            del table[field]
            return
    elif value in (usual, []):
        return
    table[field] = array(value) if isinstance(value, list) else value


def _short(value: float) -> float | int:
    return int(value) if value == int(value) else value
