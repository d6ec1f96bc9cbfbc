"""The trade's tables with this workshop's own rows, as the book and the pages use them."""

from __future__ import annotations

from django.conf import settings

from pegwood.book.refusal import Refused
from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.names import find
from pegwood.trade.reference import Reference, reference_in

BETWEEN = ", "


def tables() -> Reference:
    """The tables; a workshop's own file is read again when it has changed."""
    return reference_in(settings.WORKSHOP.tables)


def materials_named(written: str) -> tuple[Material, ...]:
    """
    The materials written down, such as "brass, nickel plate".

    Raises
    ------
    Refused
        If one of them is in no table, with the nearest names; or if an own table has a slip in it.
    """
    names = [name for name in written.split(",") if name.strip()]
    try:
        return tuple(find(tables().rows(MATERIALS), name, "material") for name in names)
    except ValueError as reason:
        raise Refused(str(reason)) from None


def materials_written(materials: tuple[Material, ...]) -> str:
    """How materials are kept in the book: by their keys, each once."""
    return BETWEEN.join(dict.fromkeys(material.key for material in materials))
