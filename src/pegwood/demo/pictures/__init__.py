"""
Pictures of cameras that never were: drawn, lit and grained like photographs from a bench.

Nobody's photograph is needed and no real camera is shown. The same subject and seed give the same JPEG, byte
for byte, with one release of Pillow.
"""

from typing import TypeVar

from pegwood.demo.pictures.cameras import FRONTS, TOPS
from pegwood.demo.pictures.canvas import SIZE, Canvas
from pegwood.demo.pictures.closeups import CLOSE_UPS

__all__ = ["CLOSE_UPS", "FRONTS", "SIZE", "TOPS", "close_up", "front", "top"]


T = TypeVar("T")


def front(kind: str, seed: int, nameplate: str = "") -> bytes:
    """
    A camera from the front.

    Parameters
    ----------
    kind : str
        One of `FRONTS`, such as "folder".
    seed : int
        Picks grain, light and small differences.
    nameplate : str
        Engraved on the camera.

    Returns
    -------
    jpeg : bytes
        1600 x 1200 pixels.

    Raises
    ------
    ValueError
        If the kind is unknown; the message lists those there are.
    """
    canvas = Canvas(seed)
    canvas.table()
    _pick(FRONTS, kind, "kind of camera")(canvas, nameplate)
    return canvas.developed()


def top(kind: str, seed: int, nameplate: str = "") -> bytes:
    """A camera from above; parameters, result and error as for `front`."""
    canvas = Canvas(seed)
    canvas.sheet()
    _pick(TOPS, kind, "kind of camera")(canvas, nameplate)
    return canvas.developed()


def close_up(subject: str, seed: int) -> bytes:
    """What a finding is about, from near: one of `CLOSE_UPS`; result and error as for `front`."""
    canvas = Canvas(seed)
    _pick(CLOSE_UPS, subject, "close-up")(canvas)
    return canvas.developed()


def _pick(table: dict[str, T], name: str, what: str) -> T:
    if name not in table:
        raise ValueError(f"Unknown {what}: {name!r}. Expected one of: {', '.join(sorted(table))}.")
    return table[name]
