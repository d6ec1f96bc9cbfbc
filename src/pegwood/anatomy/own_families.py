"""
The families and mechanisms that a workshop wrote itself, beside those that came.

They lie in the workshop's folder: ``families/*.toml``, and ``mechanisms/*.toml`` for the families to use.
One broken file takes nothing else with it: it is left aside, and a line says what is amiss and where.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from pegwood.anatomy.construction import Construction, constructions, read_construction
from pegwood.anatomy.families import Family
from pegwood.anatomy.mechanism import Mechanism, mechanisms, read_mechanism
from pegwood.trade.reference import Reference, stamped, text_of
from pegwood.trade.typed_toml import TableError

#: In a workshop's folder.
FAMILIES = "families"
MECHANISMS = "mechanisms"


@dataclass(frozen=True, kw_only=True)
class Known:
    """
    All families that a workshop knows.

    Attributes
    ----------
    constructions : mapping of str to Construction
        By id: those that came, then the workshop's own (`Construction.ground` has ``own``).
    mechanisms : mapping of str to Mechanism
        By id: what a family's file may use.
    slips : tuple of str
        Why a file was left aside: one line each, with file and line.
    replaced : tuple of str
        What of the workshop's own stands in the place of something that came: one line each.
    """

    constructions: Mapping[str, Construction]
    mechanisms: Mapping[str, Mechanism]
    slips: tuple[str, ...] = ()
    replaced: tuple[str, ...] = ()

    @property
    def own(self) -> tuple[Construction, ...]:
        """The workshop's own families."""
        return tuple(one for one in self.constructions.values() if one.ground.own)

    @property
    def families(self) -> tuple[Family, ...]:
        """The workshop's own as kinds of camera, for `pegwood.anatomy.families.families`."""
        return tuple(one.family() for one in self.own)


_kept: dict[Path, tuple[object, Reference, Known]] = {}


def constructions_in(folder: Path | None, reference: Reference | None = None) -> Known:
    """
    All families of a workshop, kept from call to call; read anew when a file or the tables changed.

    Parameters
    ----------
    folder : Path, optional
        The workshop's; neither it nor the folders in it need exist. Without one, what came.
    reference : Reference, optional
        The trade's tables with the workshop's own rows, as `pegwood.trade.reference.reference_in` gives them.
    """
    if folder is None:
        return Known(constructions=constructions(), mechanisms=mechanisms())
    stamp = (stamped(folder / FAMILIES), stamped(folder / MECHANISMS))
    if folder in _kept:
        before, tables, known = _kept[folder]
        if before == stamp and (tables is reference or reference is None):
            return known
    tables = reference or Reference()
    known = _read(folder, tables)
    _kept[folder] = stamp, tables, known
    return known


def _read(folder: Path, reference: Reference) -> Known:
    slips: list[str] = []
    replaced: list[str] = []
    usable = dict(mechanisms())
    mine: dict[str, str] = {}  # by id: the file it is from
    for path in sorted((folder / MECHANISMS).glob("*.toml")):
        try:
            found = read_mechanism(text_of(path), _told(path), reference, own=True)
            _check_once(found.id, "mechanism", path, mine)
        except TableError as slip:
            slips.append(_one_line(slip))
            continue
        if found.id in mechanisms():
            replaced.append(
                f"{_told(path)}: your own families use this {found.id!r}, not the mechanism that came."
            )
        usable[found.id] = found
    known = dict(constructions())
    mine = {}
    for path in sorted((folder / FAMILIES).glob("*.toml")):
        try:
            family = read_construction(text_of(path), _told(path), usable, reference, own=True)
            _check_once(family.id, "family", path, mine)
        except TableError as slip:
            slips.append(_one_line(slip))
            continue
        if family.id in constructions():
            replaced.append(f"{_told(path)}: your own {family.id!r} stands in place of the one that came.")
        known[family.id] = family
    return Known(constructions=known, mechanisms=usable, slips=tuple(slips), replaced=tuple(replaced))


def _check_once(named: str, what: str, path: Path, mine: dict[str, str]) -> None:
    if named in mine:
        raise TableError(f"{_told(path)}: {named!r} is the {what} in {mine[named]} too. Rename one.")
    mine[named] = _told(path)


def _told(path: Path) -> str:
    """A file as a person finds it in the workshop's folder."""
    return f"{path.parent.name}/{path.name}"


def _one_line(slip: TableError) -> str:
    return " ".join(str(slip).split())
