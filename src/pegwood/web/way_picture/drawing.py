"""From parts and what must be off before them to boxes with their lines of text and paths between them."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from pegwood.web.way_picture.laid_out import LaidOut, Point, Sizes, lay_out
from pegwood.web.way_picture.rows import only_direct, rows_of

#: Told by shape, word and colour: see `way_picture.html`.
State = Literal["off", "step", "reach", "could", "stays", "part"]
SIZES = Sizes()
#: Boxes in a row: as many as a screen of 1280 shows side by side.
LONGEST_ROW = 6
#: Letters of a name in a line of a box beside its number, and without.
LETTERS, LETTERS_ALONE = 13, 18
TEXT_BESIDE, TEXT_ALONE = 46, 14
MOST_LINES, LEADING = 3, 17
MARGIN = 6.0
CORNERS: dict[State, int] = {"stays": 0, "reach": 12}
#: A second line within, a tick, a plus, a bar along the left side.
SIGNS: dict[State, str] = {
    "reach": "M13 5H171a8 8 0 0 1 8 8V75a8 8 0 0 1-8 8H13a8 8 0 0 1-8-8V13a8 8 0 0 1 8-8z",
    "off": "M158 70l5 6 10-12",
    "could": "M166 64v14M159 71h14",
    "stays": "M5 0V88",
}


@dataclass(frozen=True, kw_only=True)
class Node:
    """
    A part in the picture.

    Attributes
    ----------
    id, name : str
        The part's.
    state : str
        Off already (``"off"``), a ``"step"`` of the plan, to ``"reach"``, ``"could"`` be done while one is in
        there, ``"stays"``; or a ``"part"`` like any other.
    word : str
        What stands under the name: "comes off", "to reach", "+4 min".
    number : int, optional
        The step's.
    href : str
        Where a press leads; empty for nowhere.
    press : str
        What a press does, for who listens: "Reach it".
    """

    id: str
    name: str
    state: State
    word: str = ""
    number: int | None = None
    href: str = ""
    press: str = ""


@dataclass(frozen=True)
class Line:
    """A line of a box's text, and where it begins within the box, [px]."""

    x: int
    y: int
    text: str


@dataclass(frozen=True)
class Box:
    """
    A part with its place.

    Attributes
    ----------
    node : Node
    x, y : float
        Left upper corner, [px].
    lines : tuple of Line
        Its name; in small letters where it is long.
    word : Line or None
        What stands under it.
    is_small : bool
        Whether the name is in small letters.
    """

    node: Node
    x: float
    y: float
    lines: tuple[Line, ...]
    word: Line | None
    is_small: bool = False

    @property
    def told(self) -> str:
        """The part, its state and what a press does, for who listens."""
        number = f"{self.node.number}. " if self.node.number else ""
        word = f": {self.node.word}" if self.node.word else ""
        press = f"; {self.node.press}" if self.node.press else ""
        return f"{number}{self.node.name}{word}{press}"

    @property
    def corner(self) -> int:
        """How round its corners are, [px]: what stays is square."""
        return CORNERS.get(self.node.state, 5)

    @property
    def sign(self) -> str:
        """What is drawn in it beside its words, as SVG writes a path."""
        return SIGNS.get(self.node.state, "")

    @property
    def place(self) -> str:
        """Where it stands, as SVG writes it, in whatever language the page is."""
        return f"{self.x:g} {self.y:g}"


@dataclass(frozen=True)
class Picture:
    """
    What a template draws, [px at 1:1].

    Attributes
    ----------
    boxes : tuple of Box
    paths : tuple of str
        What an SVG path goes through, one per line from a part to one that comes after it.
    width, height : float
        Of the whole; every box and path lies within.
    """

    boxes: tuple[Box, ...]
    paths: tuple[str, ...]
    width: float
    height: float

    @property
    def view_box(self) -> str:
        """What of the drawing is seen: all of it."""
        return f"0 0 {self.width:g} {self.height:g}"


def draw(nodes: Sequence[Node], after: Mapping[str, Set[str]], longest_row: int = LONGEST_ROW) -> Picture:
    """
    The picture of some parts.

    Parameters
    ----------
    nodes : sequence of Node
        In the order in which they fill a row.
    after : mapping of str to set of str
        For each node's id what must be off before; parts that are no nodes are left out.

    Raises
    ------
    Ring
        If parts wait for each other.
    """
    ids = tuple(node.id for node in nodes)
    laid = _laid_out(ids, tuple(frozenset(after.get(one, ())) for one in ids), longest_row)
    boxes = tuple(_box(node, x + MARGIN, y + MARGIN) for node, (x, y) in zip(nodes, laid.boxes, strict=True))
    paths = tuple(_path([(x + MARGIN, y + MARGIN) for x, y in line]) for line in laid.lines)
    return Picture(boxes, paths, laid.width + 2 * MARGIN, laid.height + 2 * MARGIN)


@lru_cache(maxsize=256)
def _laid_out(ids: tuple[str, ...], after: tuple[frozenset[str], ...], longest_row: int) -> LaidOut:
    waits = dict(zip(ids, after, strict=True))
    row = rows_of(waits, longest_row)
    number = {one: place for place, one in enumerate(ids)}
    direct = only_direct(waits)
    edges = [(number[before], number[one]) for one in ids for before in sorted(direct[one])]
    return lay_out([row[one] for one in ids], edges, SIZES)


def _box(node: Node, x: float, y: float) -> Box:
    left = TEXT_ALONE if node.number is None else TEXT_BESIDE
    letters = LETTERS_ALONE if node.number is None else LETTERS
    names = _wrapped(node.name, letters)
    is_small = len(names) > MOST_LINES
    leading = LEADING - 2 if is_small else LEADING
    room = 68 if node.word else 88
    first = round((room - leading * len(names)) / 2) + 14
    lines = tuple(Line(left, first + leading * n, text) for n, text in enumerate(names))
    return Box(node, x, y, lines, Line(left, 77, node.word) if node.word else None, is_small)


@lru_cache(maxsize=4096)
def _wrapped(name: str, letters: int) -> list[str]:
    """A name in lines; in one more, and longer ones of smaller letters, where they would be too many."""
    lines = textwrap.wrap(name, letters)
    if len(lines) <= MOST_LINES:
        return lines
    return textwrap.wrap(name, letters + 2, max_lines=MOST_LINES + 1, placeholder="…")


def _path(points: Sequence[Point]) -> str:
    """Straight down beside the boxes, in a soft S from row to row."""
    (x, y), *further = points
    steps = [f"M{x:g} {y:g}"]
    for to_x, to_y in further:
        if to_x == x:
            steps.append(f"V{to_y:g}")
        else:
            half = (y + to_y) / 2
            steps.append(f"C{x:g} {half:g} {to_x:g} {half:g} {to_x:g} {to_y:g}")
        x, y = to_x, to_y
    return "".join(steps)
