"""The families' constructions as the book uses them."""

from __future__ import annotations

from pegwood.anatomy.construction import Construction, constructions


def construction_of(family: str) -> Construction | None:
    """How cameras of that family are put together; None where nobody wrote that down."""
    return constructions().get(family)
