"""How a statement is known: its source, and how far that can be trusted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, Literal, TypeVar, get_args

Mark = Literal["seen", "memory", "practice"]

#: From what bears the most to what bears the least: read in the source; common at the bench, without a
#: source; recalled and not read again.
FIRMEST_FIRST: tuple[Mark, ...] = ("seen", "practice", "memory")
assert set(FIRMEST_FIRST) == set(get_args(Mark))


@dataclass(frozen=True, order=True)
class Ground:
    """
    Where one statement comes from.

    Attributes
    ----------
    source : str
        Title, edition, clause; or in plain words whose practice it is.
    mark : str
        ``"seen"``: read in the source named; ``"memory"``: recalled, not read again; ``"practice"``: common
        at the bench, without a source.
    own : bool
        Whether it comes from the workshop's own tables.

    Raises
    ------
    ValueError
        If the source is empty or the mark is none of the three.
    """

    source: str
    mark: Mark
    own: bool = False

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise ValueError("a statement from outside needs its source.")
        if self.mark not in get_args(Mark):
            raise ValueError(f"the mark is {self.mark!r}. Expected one of: {', '.join(get_args(Mark))}.")


Grounds = tuple[Ground, ...]


@dataclass(frozen=True, kw_only=True)
class Grounded:
    """
    A row of a table, or something inside a row that has a source of its own.

    Attributes
    ----------
    source, mark : str
        As `Ground`.
    own : bool
        Whether the workshop wrote it; said by the reader of the tables (`owned`), never by a table.

    Raises
    ------
    ValueError
        As `Ground`.
    """

    source: str
    mark: Mark
    own: bool = field(default=False, metadata={"in_table": False})

    def __post_init__(self) -> None:
        Ground(self.source, self.mark)  # refuses an empty source

    @property
    def grounds(self) -> Grounds:
        """What it rests on."""
        return (Ground(self.source, self.mark, self.own),)


G = TypeVar("G")


def owned(told: G) -> G:
    """The same row, marked as the workshop's own with everything inside it that has a source of its own."""
    if isinstance(told, tuple):
        return type(told)(owned(one) for one in told)
    if not is_dataclass(told) or isinstance(told, type):
        return told
    inside = {one.name: owned(getattr(told, one.name)) for one in fields(told) if one.init}
    return replace(told, **(inside | ({"own": True} if isinstance(told, Grounded) else {})))


def joined(*several: Iterable[Ground]) -> Grounds:
    """The grounds of something that rests on all of these: each once, in the order first met."""
    return tuple(dict.fromkeys(ground for grounds in several for ground in grounds))


def weakest(grounds: Grounds) -> Mark:
    """The mark of a conclusion: no firmer than the least firm of what it rests on."""
    return max((ground.mark for ground in grounds), key=FIRMEST_FIRST.index)


def sourced(grounds: Grounds, **figures: Any) -> dict[str, Any]:
    """
    Figures for JSON with what they rest on beside them: keys ``source`` and ``mark``, and ``own`` where the
    workshop's own tables had a say.

    Raises
    ------
    ValueError
        If there are no grounds.
    """
    if not grounds:
        raise ValueError(f"{', '.join(figures) or 'nothing'}: a figure from outside needs its source.")
    own = {"own": True} if any(ground.own for ground in grounds) else {}
    return {**figures, "source": "; ".join(g.source for g in grounds), "mark": weakest(grounds), **own}
