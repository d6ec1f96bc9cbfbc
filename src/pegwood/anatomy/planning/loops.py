"""Parts that wait for each other, named one by one."""

from __future__ import annotations

from pegwood.anatomy.planning.problem import StripDown


def loop_among(strip_down: StripDown) -> tuple[str, ...]:
    """
    A ring of parts of which each waits for the next, the first named again at the end; empty if there is
    none.

    Only parts that can never come off are in such a ring: where one has another way out there is no loop.
    """
    stuck = {part for part, ways in strip_down.ways.items() if ways} - strip_down.removable
    seen: list[str] = []
    part = min(stuck, default="")
    while part and part not in seen:
        seen.append(part)
        waits = {one for way in strip_down.ways[part] for one in way.after if one in stuck}
        part = min(waits, default="")
    return (*seen[seen.index(part) :], part) if part else ()
