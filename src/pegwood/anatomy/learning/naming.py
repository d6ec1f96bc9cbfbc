"""Logs told in the words of a family's file, so that a part that was renamed stays one part."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from pegwood.anatomy.bench_log import TakenOff
from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Part
from pegwood.trade.names import plain


def part_called(construction: Construction, named: str) -> Part | None:
    """The part of that id, name or other name, the first where several answer to it; None for none."""
    if named in construction.parts:
        return construction.parts[named]
    wanted = plain(named)
    others: Part | None = None
    for part in construction.parts.values():
        if plain(part.name) == wanted:
            return part
        if others is None and wanted in map(plain, (part.id, *part.also)):
            others = part
    return others


def in_words_of(construction: Construction, log: Iterable[TakenOff]) -> tuple[TakenOff, ...]:
    """The same log with every part that the family knows under the name it has there."""
    called: dict[str, Part | None] = {}

    def name_of(said: str) -> str:
        if said not in called:
            called[said] = part_called(construction, said)
        part = called[said]
        return part.name if part else said

    return tuple(
        replace(
            entry,
            name=name_of(entry.part if entry.part in construction.parts else entry.name),
            held_to=tuple(map(name_of, entry.held_to)),
            hidden_under=tuple(map(name_of, entry.hidden_under)),
        )
        for entry in log
    )


def fresh_id(name: str, taken: Iterable[str]) -> str:
    """A short id for a part of that name, like none of those that are taken."""
    short = re.sub(r"[\W_]+", "-", plain(name)).strip("-") or "part"
    others = set(taken)
    one, n = short, 2
    while one in others:
        one, n = f"{short}-{n}", n + 1
    return one
