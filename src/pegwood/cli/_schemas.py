"""Every published schema, whichever room it belongs to."""

from __future__ import annotations

from typing import Any

HEAR = "hear"


def schema_names() -> tuple[str, ...]:
    """Names of the answers described, in alphabetical order."""
    from pegwood.instruments.schemas import schema_names as of_instruments

    return tuple(sorted((*of_instruments(), HEAR)))


def schema(name: str) -> dict[str, Any]:
    """
    The schema of an answer, whole.

    Raises
    ------
    KeyError
        If there is none of that name.
    """
    if name == HEAR:
        from pegwood.hearing.schema import schema as of_hearing

        return of_hearing()
    from pegwood.instruments.schemas import schema as of_instrument

    return of_instrument(name)
