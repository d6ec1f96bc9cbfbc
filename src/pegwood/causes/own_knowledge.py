"""
What a workshop knows of faults by itself, beside what came along.

It lies in the workshop's folder: ``knowledge/*.toml``, one file for each mechanism, that came or is its own.
A fault or a sign in it with an id that came stands in place of that one, another is added; with
``instead = true`` above the rows the file stands in place of all that came for its mechanism. One broken file
takes nothing else with it: it is left aside, and a line says what is amiss and where.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pegwood.anatomy.own_families import Known
from pegwood.causes.doubts import doubts
from pegwood.causes.known import AllKnowledge, Fault, Knowledge, Sign, knowledge, read_knowledge
from pegwood.trade.reference import Reference, stamped, text_of
from pegwood.trade.typed_toml import Source, TableError

#: In a workshop's folder: what it wrote itself, and what other workshops learned and handed on.
KNOWLEDGE, HANDED_ON = "knowledge", "lessons"


@dataclass(frozen=True, kw_only=True)
class KnownCauses:
    """
    All that a workshop knows of faults.

    Attributes
    ----------
    knowledge : mapping of str to Knowledge
        By mechanism.
    slips : tuple of str
        Why a file was left aside: one line each, with file and line.
    replaced : tuple of str
        What of the workshop's own stands in the place of something that came: one line each.
    """

    knowledge: Mapping[str, Knowledge]
    slips: tuple[str, ...] = ()
    replaced: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class CheckedKnowledge:
    """
    What a check of a file found.

    Attributes
    ----------
    file : str
        As it was given.
    found : Knowledge, optional
        What it says by itself; None where it cannot be read.
    slip : str
        Why it cannot be read: one line, with file and line. Empty where it can.
    doubts : tuple of str
        What can be read and makes little sense: one line each, with file and line.
    """

    file: str
    found: Knowledge | None
    slip: str = ""
    doubts: tuple[str, ...] = ()


_kept: dict[Path, tuple[object, Known, Reference | None, KnownCauses]] = {}


def knowledge_in(folder: Path | None, known: Known, reference: Reference | None = None) -> KnownCauses:
    """
    All knowledge of a workshop, kept from call to call; read anew when a file, mechanism or table changed.

    Parameters
    ----------
    folder : Path, optional
        The workshop's; neither it nor the folder in it need exist. Without one, what came.
    known : Known
        The workshop's families and mechanisms, as `constructions_in` gives them.
    reference : Reference, optional
        The trade's tables with the workshop's own rows: an agent of its own may be named.
    """
    if folder is None:
        return KnownCauses(knowledge=knowledge())
    stamp = stamped(folder / KNOWLEDGE)
    if folder in _kept:
        before, families, tables, found = _kept[folder]
        if before == stamp and families is known and tables is reference:
            return found
    found = _read(folder, known, reference or Reference())
    _kept[folder] = stamp, known, reference, found
    return found


def check_knowledge(
    *paths: Path, known: Known, reference: Reference | None = None
) -> tuple[CheckedKnowledge, ...]:
    """
    Whether files of knowledge can be read, and what of them makes little sense.

    Parameters
    ----------
    *paths : Path
        They need not lie in a workshop's folder.
    known : Known
    reference : Reference, optional
    """
    return tuple(_checked(path, known, reference or Reference()) for path in paths)


def _checked(path: Path, known: Known, reference: Reference) -> CheckedKnowledge:
    try:
        text = text_of(path)
        found = read_knowledge(text, str(path), known.mechanisms, reference, onto=_onto(path))
    except TableError as slip:
        return CheckedKnowledge(file=str(path), found=None, slip=_one_line(slip))
    together = _together(found, _onto(path).get(found.mechanism))
    source = Source(text, str(path))
    mine = {
        "fault": {one.id: n for n, one in enumerate(found.fault)},
        "sign": {one.id: n for n, one in enumerate(found.sign)},
    }
    rows: dict[str, tuple[Fault, ...] | tuple[Sign, ...]] = {"fault": together.fault, "sign": together.sign}
    lines = []
    for (what, n), says in doubts(together):
        at = mine[str(what)].get(rows[str(what)][int(n)].id)
        if at is not None:
            lines.append(_one_line(source.error((what, at), says)))
    return CheckedKnowledge(file=str(path), found=found, doubts=tuple(lines))


def _onto(path: Path) -> Mapping[str, Knowledge]:
    """What a file adds to: nothing where it is itself one of those that came."""
    came = Path(__file__).parent / KNOWLEDGE
    return {} if path.resolve().parent == came.resolve() else knowledge()


def _read(folder: Path, known: Known, reference: Reference) -> KnownCauses:
    slips: list[str] = []
    replaced: list[str] = []
    own: dict[str, Knowledge] = {}
    mine: dict[str, str] = {}  # by mechanism: the file it is from
    for path in sorted((folder / KNOWLEDGE).glob("*.toml")):
        told = f"{KNOWLEDGE}/{path.name}"
        try:
            found = read_knowledge(text_of(path), told, known.mechanisms, reference, onto=knowledge())
            if found.mechanism in mine:
                raise TableError(
                    f"{told}: what you know of {found.mechanism!r} is in {mine[found.mechanism]} already. "
                    "Put both into one file."
                )
        except TableError as slip:
            slips.append(_one_line(slip))
            continue
        mine[found.mechanism] = told
        came = knowledge().get(found.mechanism)
        own[found.mechanism] = _together(found, came)
        if came:
            replaced += _replaced(found, came, told)
    return KnownCauses(knowledge=AllKnowledge(own), slips=tuple(slips), replaced=tuple(replaced))


def _replaced(found: Knowledge, came: Knowledge, told: str) -> list[str]:
    """One line for each row that stands in place of one that came, or one for all of them."""
    if found.instead:
        return [f"{told}: stands in place of all that came for {found.mechanism!r}."]
    ids = {"fault": {one.id for one in came.fault}, "sign": {one.id for one in came.sign}}
    return [
        f"{told}: your own {what} {one.id!r} stands in place of the one that came."
        for what, rows in (("fault", found.fault), ("sign", found.sign))
        for one in rows
        if one.id in ids[what]
    ]


def _together(found: Knowledge, came: Knowledge | None) -> Knowledge:
    """What came with the workshop's own rows; each says where it is from."""
    if came is None or found.instead:
        return found
    faults = {one.id: one for one in came.fault}
    faults |= {one.id: replace(one, **_ground(one, found)) for one in found.fault}
    signs = {one.id: one for one in came.sign}
    signs |= {one.id: replace(one, **_ground(one, found)) for one in found.sign}
    return replace(came, fault=tuple(faults.values()), sign=tuple(signs.values()))


def _ground(row: Fault | Sign, found: Knowledge) -> dict[str, Any]:
    return {"source": row.source or found.source, "mark": row.mark or found.mark}


def _one_line(slip: TableError) -> str:
    return " ".join(str(slip).split())
