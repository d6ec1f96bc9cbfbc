"""The kinds of camera the workshop knows, read from ``families.toml``."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Literal

from pegwood.trade.typed_toml import Source, built

Mark = Literal["seen", "memory", "practice"]
Shutter = Literal["leaf", "focal-plane", ""]
#: The kind of camera that is none of the others; it stands last.
OTHER = "other"


@dataclass(frozen=True, kw_only=True)
class Family:
    """
    A kind of construction.

    Attributes
    ----------
    slug, name : str
        Its short and its full name.
    shutter : str
        ``"leaf"``, ``"focal-plane"``, or empty where it may be either.
    parts : tuple of str
        Parts a repairer names most often when looking such a camera over.
    source, mark : str
        Where this comes from, and how far that can be trusted (``seen``, ``memory``, ``practice``); the
        table's own where a family says nothing else.
    """

    slug: str
    name: str
    shutter: Shutter
    parts: tuple[str, ...]
    source: str = ""
    mark: Mark | None = None

    def __post_init__(self) -> None:
        if not (self.slug and self.name and self.parts and all(self.parts)):
            raise ValueError("a family needs a slug, a name and at least one part, none of them empty.")


@dataclass(frozen=True, kw_only=True)
class _Table:
    source: str
    mark: Mark
    family: tuple[Family, ...]


def read_families(text: str, where: str = "families.toml") -> dict[str, Family]:
    """
    Families from a table's text, by slug, in the table's order.

    Raises
    ------
    TableError
        If the text is not TOML, or a family is not as `Family` says; the message names file, line and field.
    """
    source = Source(text, where)
    table = built(_Table, source.table(), source)
    found: dict[str, Family] = {}
    for place, family in enumerate(table.family):
        if family.slug in found:
            raise source.error(("family", place, "slug"), f"{family.slug!r} stands there twice.")
        found[family.slug] = replace(
            family, source=family.source or table.source, mark=family.mark or table.mark
        )
    return found


def families(own: Iterable[Family] = ()) -> dict[str, Family]:
    """
    The kinds of camera by slug: those that came in the order of their table, then the workshop's own.

    Parameters
    ----------
    own : iterable of Family
        The workshop's own; one with the slug of one that came stands in its place.
    """
    came = _came()
    if not (mine := {one.slug: one for one in own}):
        return dict(came)
    known = {**came, **mine}
    return {slug: known[slug] for slug in (*(one for one in known if one != OTHER), OTHER)}


def family(slug: str, own: Iterable[Family] = ()) -> Family:
    """The family of that slug; an unknown one is ``other``, so that an old job stays readable."""
    known = families(own)
    return known.get(slug, known[OTHER])


@cache
def _came() -> dict[str, Family]:
    return read_families(files("pegwood.anatomy").joinpath("families.toml").read_text(encoding="utf-8"))
