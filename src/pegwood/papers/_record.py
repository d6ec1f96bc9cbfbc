"""From the content of a strip-down record to what its template draws."""

from __future__ import annotations

from typing import Any

from pegwood.papers import figures
from pegwood.papers._shared import Words, one_line
from pegwood.papers.record import Noted, Record


def record(content: Record, said: Words) -> dict[str, Any]:
    """All of it in the order told, and once more by part; numbers lead from one to the other."""
    locale = content.head.workshop.locale
    tellings: list[dict[str, Any]] = []
    by_part: dict[str, dict[str, Any]] = {}
    number = 0
    for telling in content.tellings:
        rows = []
        for noted in telling.noted:
            number += 1
            row = {"number": str(number), **_row(noted, said)}
            rows.append(row)
            if part := one_line(noted.part):
                by_part.setdefault(part.casefold(), {"part": part, "rows": []})["rows"].append(row)
        tellings.append(
            {
                "told": said["record.told"].format(
                    date=figures.long_date(telling.on, locale), who=one_line(telling.by)
                ),
                "timed": any(row["at"] for row in rows),
                "rows": rows,
            }
        )
    every = [noted for telling in content.tellings for noted in telling.noted]
    notes = [
        said["record.surmise"] if any(noted.surmise for noted in every) else "",
        said["record.earlier"] if any(noted.earlier for noted in every) else "",
        said["record.times"] if any(noted.at for noted in every) else "",
    ]
    return {
        "tellings": tellings,
        "parts": [{"part": one["part"], "rows": one["rows"]} for one in by_part.values()],
        "notes": [note for note in notes if note],
    }


def _row(noted: Noted, said: Words) -> dict[str, Any]:
    graded = ""
    if noted.grade is not None:
        graded = f"{said['grade']} {noted.grade}, {said[f'grade.{noted.grade}']}"
    asides = [
        one_line(noted.place),
        graded,
        said["record.cause"].format(cause=one_line(noted.cause)) if noted.cause.strip() else "",
        said["record.is.earlier"] if noted.earlier else "",
    ]
    return {
        "at": noted.at,
        "part": one_line(noted.part),
        "says": one_line(noted.says),
        "kind": said[f"record.kind.{noted.kind}"],
        "seen": noted.kind == "seen",
        "surmise": noted.surmise,
        "aside": "; ".join(aside for aside in asides if aside),
        "outlook": said[f"outlook.{noted.outlook}"] if noted.outlook else "",
    }
