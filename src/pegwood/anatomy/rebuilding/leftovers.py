"""What was kept and is not back: a screw left over, a shim forgotten under a part that is closed again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.anatomy.bench_log import Kept, TakenOff
from pegwood.anatomy.construction import Construction
from pegwood.anatomy.rebuilding.before import Before, before
from pegwood.trade.names import plain
from pegwood.trade.numbers import figure

#: What lies under the part it belongs to, not over it: it must be in before the part is.
UNDER_IT = frozenset({"shim", "washer", "spring", "ball"})


@dataclass(frozen=True, kw_only=True)
class Leftover:
    """Something that is out and that nobody has explained, and the part that it came off with."""

    kept: Kept
    of: TakenOff

    @property
    def says(self) -> str:
        """What it is, where it belongs and where it lies, for a person."""
        left = self.kept.count - self.kept.back
        number = f"{left} of {self.kept.count}: " if self.kept.count > 1 else ""
        where = belongs(self.kept, self.of)
        return f"{number}{told(self.kept)}. It belongs to {where}; {lies(self.kept.pocket)}."


@dataclass(frozen=True, kw_only=True)
class Forgotten:
    """
    Something that is out though what lies over it is back.

    Attributes
    ----------
    over : TakenOff
        What is back over it.
    of : TakenOff
        The part that is out, or whose kept thing is.
    kept : Kept, optional
        The thing; None for the part itself.
    """

    over: TakenOff
    of: TakenOff
    kept: Kept | None = None

    @property
    def says(self) -> str:
        """What is forgotten, where it belongs and where it lies, for a person."""
        if self.kept is None:
            what, where = f"the {self.of.name} itself", lies(self.of.pocket)
        else:
            what, where = f"{told(self.kept)} of {belongs(self.kept, self.of)}", lies(self.kept.pocket)
        return f"Under the {self.over.name} something is missing: {what}; {where}."


def told(kept: Kept) -> str:
    """What a kept thing is: "screw, M1.7x0.35, 4.2 mm long, short one"."""
    words: list[str] = ["" if kept.kind in ("part", "other") else kept.kind, kept.thread, kept.head]
    if kept.length_mm is not None:
        words.append(f"{figure(kept.length_mm)} mm long")
    if kept.thickness_mm is not None:
        words.append(f"{figure(kept.thickness_mm)} mm thick")
    words.append(kept.what)
    return ", ".join(filter(None, words)) or kept.kind


def belongs(kept: Kept, of: TakenOff) -> str:
    """Where a kept thing belongs: "the front plate: left strut, under"."""
    where = ", ".join(filter(None, (kept.place, kept.side)))
    return f"the {of.name}" + (f": {where}" if where else "")


def lies(pocket: str) -> str:
    """Where something lies, as a clause."""
    return f"it lies in {pocket}" if pocket else "it lies beside the trays"


def leftovers(log: Iterable[TakenOff]) -> tuple[Leftover, ...]:
    """
    Everything kept that is not back and not explained, in the order of the log.

    The part itself, where it is kept as a thing, is back when its part is.
    """
    return tuple(
        Leftover(kept=kept, of=one)
        for one in sorted(log, key=lambda one: one.number)
        for kept in one.kept
        if kept.is_out and not (kept.kind == "part" and (one.is_back or one.explained))
    )


def forgotten_under(
    log: Iterable[TakenOff], part_id: str, construction: Construction | None = None
) -> tuple[Forgotten, ...]:
    """
    What is still out and belongs under a part that goes back, or is back.

    Parameters
    ----------
    log : iterable of TakenOff
    part_id : str
        The part: its id in the family, the log's own key, or its name.
    construction : Construction, optional
        The family's; without one, all that came off after the part lies under it.

    Returns
    -------
    forgotten : tuple of Forgotten
        What must be in before it: parts, what was kept of them, and its own shims, washers, springs.

    Raises
    ------
    ValueError
        If the log has no such part.
    """
    log = tuple(log)
    graph = before(log, construction)
    named = [one for one in graph.order if part_id in (one.id, one.part) or plain(part_id) == plain(one.name)]
    exact = [one for one in named if one.id == part_id] or named
    if not exact:
        raise ValueError(f"{part_id!r} is not in the log.")
    return tuple(found for one in exact for found in under(graph, one))


def under(graph: Before, over: TakenOff) -> tuple[Forgotten, ...]:
    """As `forgotten_under`, where the graph is there already."""
    below = graph.under(over.id)
    found: list[Forgotten] = []
    for one in graph.order:
        if one.id == over.id:
            own = [kept for kept in one.kept if kept.is_out and _under_it(kept)]
            found += [Forgotten(over=over, of=one, kept=kept) for kept in own]
        elif one.id in below and not one.explained:
            if not one.is_back:
                found.append(Forgotten(over=over, of=one))
            out = [kept for kept in one.kept if kept.is_out and kept.kind != "part"]
            found += [Forgotten(over=over, of=one, kept=kept) for kept in out]
    return tuple(found)


def _under_it(kept: Kept) -> bool:
    """Whether it lies under its part; a washer under a screw's head does not."""
    return kept.kind in UNDER_IT and "head" not in f"{kept.place} {kept.side}".lower()
