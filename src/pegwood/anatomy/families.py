"""The kinds of camera the workshop knows, read from ``families.toml``."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

SHUTTER_KINDS = ("leaf", "focal-plane", "")


class FamilyError(ValueError):
    """A table of families that does not say what it must."""


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
        Where this comes from, and how far that can be trusted (``seen``, ``memory``, ``practice``).
    """

    slug: str
    name: str
    shutter: str
    parts: tuple[str, ...]
    source: str
    mark: str


def read_families(text: str, where: str = "families.toml") -> dict[str, Family]:
    """
    Families from a table's text, by slug.

    Raises
    ------
    FamilyError
        If the table is not valid TOML or a family lacks a field; the message names the file and the family.
    """
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FamilyError(f"{where}: {error}") from error
    found: dict[str, Family] = {}
    for place, row in enumerate(table.get("family", []), 1):
        name = f"{where}: family {place} ({row.get('slug', 'no slug')})"
        try:
            family = Family(
                slug=row["slug"],
                name=row["name"],
                shutter=row["shutter"],
                parts=tuple(row["parts"]),
                source=row.get("source", table["source"]),
                mark=row.get("mark", table["mark"]),
            )
        except KeyError as missing:
            raise FamilyError(f"{name} has no {missing}") from missing
        if family.shutter not in SHUTTER_KINDS:
            raise FamilyError(f"{name}: shutter is {family.shutter!r}, expected one of {SHUTTER_KINDS}")
        if family.slug in found:
            raise FamilyError(f"{name} stands there twice")
        found[family.slug] = family
    return found


@cache
def families() -> dict[str, Family]:
    """The families that come with Pegwood, by slug, in the order of the table."""
    return read_families(files("pegwood.anatomy").joinpath("families.toml").read_text(encoding="utf-8"))


def family(slug: str) -> Family:
    """The family of that slug; an unknown one is ``other``, so that an old job stays readable."""
    return families().get(slug, families()["other"])
