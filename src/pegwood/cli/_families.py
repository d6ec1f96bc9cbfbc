"""Families named on the command line: those that came, and the workshop's own."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from pegwood.cli._open import OneLine

if TYPE_CHECKING:
    from pegwood.anatomy.construction import Construction
    from pegwood.anatomy.own_families import Known

FIRST = "Common practice. The maker's service sheet comes first."
FAMILY = click.argument("family")


@contextmanager
def told_in_one_line() -> Iterator[None]:
    """Turn a part or family that is not there, a slip in a file, or a way that is closed into one line."""
    try:
        yield
    except ValueError as reason:
        raise OneLine(str(reason), 2) from None


def known_families() -> Known:
    """The families that came and the workshop's own; what of those was left aside is told."""
    from pegwood.anatomy.own_families import constructions_in
    from pegwood.frame.workshop import current
    from pegwood.trade.reference import reference_in

    here = current()
    known = constructions_in(here.root, reference_in(here.tables))
    for slip in known.slips:
        click.echo(f"pegwood: left aside: {slip}", err=True)
    return known


def construction_named(slug: str) -> Construction:
    """
    How cameras of that family are put together.

    Raises
    ------
    ValueError
        If there is no such family, with the nearest.
    """
    from pegwood.trade.names import nearest

    known = known_families().constructions
    if slug not in known:
        near = ", ".join(nearest(slug, known)) or "none"
        raise ValueError(f"{slug!r} is no family whose construction is known. Nearest: {near}.")
    return known[slug]
