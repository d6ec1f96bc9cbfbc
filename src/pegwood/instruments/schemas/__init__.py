"""
What each instrument answers, as JSON Schema (draft 2020-12): one file for each, and what they share.

The files are the published word: `pegwood schema measure.meter` prints one whole, and the tests hold every
instrument's answer to it.
"""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from typing import Any

__all__ = ["schema", "schema_names"]

_ENDING = ".schema.json"
_SHARED = "shared"


def schema_names() -> tuple[str, ...]:
    """Names of the answers described, such as "measure.meter", in alphabetical order."""
    found = (one.name.removesuffix(_ENDING) for one in _folder().iterdir() if one.name.endswith(_ENDING))
    return tuple(sorted(name for name in found if name != _SHARED))


@cache
def schema(name: str) -> dict[str, Any]:
    """
    The schema of an answer, whole: what it shares with others is among its own ``$defs``.

    Parameters
    ----------
    name : str
        One of `schema_names`.

    Returns
    -------
    schema : dict
        JSON Schema, draft 2020-12.

    Raises
    ------
    KeyError
        If there is none of that name.
    """
    if name not in schema_names():
        raise KeyError(name)
    own = _read(name)
    return {**own, "$defs": {**_read(_SHARED)["$defs"], **own.get("$defs", {})}}


def _folder() -> Any:
    return resources.files(__package__)


def _read(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(_folder().joinpath(name + _ENDING).read_text(encoding="utf-8"))
    return found
