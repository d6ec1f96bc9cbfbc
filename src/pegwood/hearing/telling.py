"""What was heard, as plain data for `--json`."""

from __future__ import annotations

from typing import Any

from pegwood.hearing.results import Heard, NamedPart


def as_data(heard: Heard) -> dict[str, Any]:
    """
    What was heard, as JSON holds it.

    Parameters
    ----------
    heard : Heard

    Returns
    -------
    data : dict
        Under "findings", "remarks", "work" and "unplaced".
    """
    return {
        "findings": [
            {
                "part": one.part.name,
                "part_id": one.part.id,
                "condition": one.condition,
                "grade": one.grade,
                "place": one.place,
                "certainty": one.certainty,
                "denied": one.denied,
                "cause": one.cause,
                "work": list(one.work),
                "measured": one.measured,
                "earlier_repair": one.earlier_repair,
                "at_s": one.at_s,
                "words": one.words,
            }
            for one in heard.findings
        ],
        "remarks": [{"at_s": one.at_s, "words": one.words} for one in heard.remarks],
        "work": [
            {**_part(one.part), "work": one.work, "done": one.done, "at_s": one.at_s, "words": one.words}
            for one in heard.work
        ],
        "unplaced": [
            {
                **_part(one.part),
                "condition": one.condition or None,
                "why": one.why,
                "at_s": one.at_s,
                "words": one.words,
            }
            for one in heard.unplaced
        ],
    }


def _part(part: NamedPart | None) -> dict[str, str | None]:
    return {"part": part.name if part else None, "part_id": part.id if part else None}
