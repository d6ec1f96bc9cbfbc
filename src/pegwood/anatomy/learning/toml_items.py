"""Arrays and inline tables for a TOML file that keeps a person's own layout."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import tomlkit
from tomlkit.items import Array, InlineTable


def array(items: Iterable[Any]) -> Array:
    """An array of items."""
    found = tomlkit.array()
    found.extend(items)
    return found


def inline(items: Mapping[str, Any]) -> InlineTable:
    """A table on one line."""
    found = tomlkit.inline_table()
    found.update(items)
    return found
