"""The trade's tables with this workshop's own rows, as the book and the pages use them."""

from __future__ import annotations

from weakref import WeakKeyDictionary

from django.conf import settings

from pegwood.book.refusal import Refused
from pegwood.trade.all_tables import check
from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.names import find
from pegwood.trade.reference import Reference, reference_in

BETWEEN = ", "


#: What was found wrong in the own tables as they stood; empty where nothing was.
_slips: WeakKeyDictionary[Reference, str] = WeakKeyDictionary()


def tables() -> tuple[Reference, str]:
    """
    The tables, and what is wrong with the workshop's own: then they are left aside until that is mended.

    A file is read again when it has changed.
    """
    reference = reference_in(settings.WORKSHOP.tables)
    if reference not in _slips:
        _slips[reference] = _slip(reference)
    return (Reference(), _slips[reference]) if _slips[reference] else (reference, "")


def _slip(reference: Reference) -> str:
    try:
        check(reference)
    except ValueError as slip:
        return str(slip)
    return ""


def materials_named(written: str) -> tuple[Material, ...]:
    """
    The materials written down, such as "brass, nickel plate".

    Raises
    ------
    Refused
        If one of them is in no table, with the nearest names.
    """
    names = [name.strip() for name in written.split(",") if name.strip()]
    try:
        return tuple(find(tables()[0].rows(MATERIALS), name, "material") for name in names)
    except ValueError as reason:
        raise Refused(str(reason)) from None


def materials_written(materials: tuple[Material, ...]) -> str:
    """How materials are kept in the book: by their keys, each once."""
    return BETWEEN.join(dict.fromkeys(material.key for material in materials))
