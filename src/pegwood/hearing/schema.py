"""What `hear` answers as plain data, as JSON Schema (draft 2020-12): the published word."""

from __future__ import annotations

import json
from functools import cache
from importlib import resources
from typing import Any


@cache
def schema() -> dict[str, Any]:
    """The schema of `as_data`; the tests hold every answer to it."""
    text = resources.files("pegwood.hearing").joinpath("hear.schema.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found
