"""Tables that leave the bench as CSV (RFC 4180), for a spreadsheet or a script."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from typing import Any

from django.http import HttpResponse
from django.utils.http import content_disposition_header


def as_csv(name: str, columns: tuple[str, ...], rows: Iterable[Mapping[str, Any]]) -> HttpResponse:
    """A table to be saved as `name`; what a row has beyond `columns` is left out."""
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = content_disposition_header(True, name) or ""
    writer = csv.DictWriter(answer, columns, extrasaction="ignore", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({k: _as_words(v) for k, v in row.items()} for row in rows)
    return answer


def _as_words(value: object) -> object:
    """Words that a spreadsheet would take for a formula are made plain words."""
    return f"'{value}" if isinstance(value, str) and value[:1] in "=+-@\t\r" and value else value
