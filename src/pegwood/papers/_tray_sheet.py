"""From the content of a tray sheet to what its template draws."""

from __future__ import annotations

from typing import Any

from pegwood.papers import figures
from pegwood.papers._shared import Words, one_line
from pegwood.papers.tray_sheet import Lying, Trays


def trays(content: Trays, said: Words) -> dict[str, Any]:
    """Each tray with all its pockets, also the empty ones, and what lies beside them."""
    made_at, locale = content.head.made_at, content.head.workshop.locale
    used = [{pocket.number: pocket.lying for pocket in tray.pockets} for tray in content.trays]
    return {
        "columns": content.columns,
        "rows": content.rows,
        "trays": [
            {
                "number": str(tray.number),
                "pockets": [
                    {"number": str(number), **_drawn(pockets.get(number, ()), said)}
                    for number in range(1, content.columns * content.rows + 1)
                ],
            }
            for tray, pockets in zip(content.trays, used, strict=True)
        ],
        "beside": _drawn(content.beside, said),
        "as_of": said["trays.as.of"].format(
            date=figures.long_date(made_at, locale), time=figures.hour_of(made_at, locale)
        ),
    }


def _drawn(lying: tuple[Lying, ...], said: Words) -> dict[str, Any]:
    """
    The lines of a pocket, and what is said where only so many of them have room.

    `more` holds the words for one line left out, for two, and so on; `short` the same for a small pocket.
    """
    left_out = range(1, len(lying))
    return {
        "lines": [
            {
                "step": str(line.step) if line.role in {"part", "of"} else "",
                "role": line.role,
                "text": said["trays.of"].format(name=one_line(line.text))
                if line.role == "of"
                else one_line(line.text),
                "aside": _aside(line, said),
                "out": line.out,
            }
            for line in lying
        ],
        "more": [said["trays.more.1" if n == 1 else "trays.more"].format(n=n) for n in left_out],
        "short": [said["trays.more.short"].format(n=n) for n in left_out],
    }


def _aside(line: Lying, said: Words) -> str:
    asides = (
        said["trays.waits"].format(where=one_line(line.waits)) if line.waits else "",
        said["trays.back"].format(n=line.back) if line.back else "",
        said["trays.explained"].format(why=one_line(line.explained)) if line.explained.strip() else "",
    )
    return " ".join(filter(None, asides))
