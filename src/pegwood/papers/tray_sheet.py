"""What stands on a tray sheet: what lies in which pocket, in the order of its coming off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from pegwood.papers._typed import BadContent, Piece, check_filled, check_positive
from pegwood.papers.pieces import Camera, Head

MOST_ACROSS = 12


@dataclass(frozen=True, kw_only=True)
class Lying(Piece):
    """
    One line of a pocket.

    Parameters
    ----------
    step : int
        Number of the step it came off in.
    role : {'part', 'of', 'note', 'kept'}
        The part itself; whose the lines below are, where the part lies elsewhere; what was written down
        before it moved; a screw, a shim or a spring that was kept.
    text : str
    waits : str
        Where it is meanwhile: `being cleaned`.
    out : bool
        Whether it still lies there: False once it is back or explained, and for what is no thing but a note
        of such a part.
    back : int
        How many of several alike are in the camera again.
    explained : str
        Why it need not go back.
    """

    step: int
    role: Literal["part", "of", "note", "kept"]
    text: str
    waits: str = ""
    out: bool = True
    back: int = 0
    explained: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Lying", text=self.text)
        check_positive("Lying", step=self.step)


@dataclass(frozen=True, kw_only=True)
class Pocket(Piece):
    """A pocket that holds something, or held it."""

    number: int
    lying: tuple[Lying, ...]


@dataclass(frozen=True, kw_only=True)
class Tray(Piece):
    """A tray: its number, and the pockets of it that were used; the others are empty."""

    number: int
    pockets: tuple[Pocket, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Trays(Piece):
    """
    The trays of a strip-down, to lie open on the bench: nothing of the owner stands on it.

    Parameters
    ----------
    head : Head
    camera : Camera
    columns, rows : int
        Of each tray; pockets are numbered from one, left to right and top to bottom.
    trays : tuple of Tray
        At least one; each becomes a page.
    beside : tuple of Lying
        What lies beside the trays and is not back.
    """

    kind: ClassVar[str] = "trays"
    head: Head
    camera: Camera
    columns: int
    rows: int
    trays: tuple[Tray, ...]
    beside: tuple[Lying, ...] = ()

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        for name, many in (("columns", self.columns), ("rows", self.rows)):
            if not 1 <= many <= MOST_ACROSS:
                raise BadContent(f"Trays.{name}: {many}. Expected 1 to {MOST_ACROSS}.")
        if not self.trays:
            raise BadContent("Trays.trays: none. Expected at least one, be it empty.")
        _once("Trays.trays", [tray.number for tray in self.trays])
        for tray in self.trays:
            _once(f"Tray {tray.number}", [pocket.number for pocket in tray.pockets])
            for pocket in tray.pockets:
                if not 1 <= pocket.number <= self.columns * self.rows:
                    raise BadContent(
                        f"Tray {tray.number}: pocket {pocket.number}. "
                        f"Expected 1 to {self.columns * self.rows}, as many as it has."
                    )


def _once(where: str, numbers: list[int]) -> None:
    if twice := next((one for one in numbers if numbers.count(one) > 1), None):
        raise BadContent(f"{where}: number {twice} stands there twice. Expected each once.")
