"""Mean light of every frame in the region where it changes; two passes through the file, memory flat."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.video._frames import Frame, VideoFile
from pegwood.instruments.video._transfer import Transfer, light_of_codes

__all__ = ["BANDS", "Region", "Trace", "find_region", "read_trace"]

BANDS = 8
_CELLS = 48  # along the longer side
_PIXELS = 8  # looked at along the side of a cell: enough to find the light
_LEAST_CHANGE = 8.0  # of 255: less is noise, or a shutter that is not in the picture
_SHARE_OF_BEST = 0.5
_CLIPPED_PIXELS = 0.02  # of a cell at its brightest

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Region:
    """
    Part of the frame that is read.

    Parameters
    ----------
    x, y, width, height : int
        Rectangle around it, [pixel].
    mask : array of bool, shape (height, width)
        Which of its pixels are read.
    is_found : bool
        True where it was found, False where it was given.
    is_clipped : bool
        True where the brightest frame is white there.
    """

    x: int
    y: int
    width: int
    height: int
    mask: NDArray[np.bool_]
    is_found: bool
    is_clipped: bool


@dataclass(frozen=True)
class Trace:
    """
    What is kept of a video.

    Parameters
    ----------
    stamps_s : array, shape (n,)
        Time stamps as recorded, rising, [s].
    light : array, shape (n,)
        Mean light of the region, 1 at white, [-].
    bands : array, shape (n, BANDS)
        The same in `BANDS` strips of rows, from the top of the stored picture; NaN where a strip is empty.
    rows : array, shape (BANDS,)
        Mean row of each strip, [pixel].
    repeats : array of bool, shape (n,)
        Frames whose region holds the very values of the frame before.
    dropped : int
        Frames left out for a missing or repeated stamp.
    """

    stamps_s: Array
    light: Array
    bands: Array
    rows: Array
    repeats: NDArray[np.bool_]
    dropped: int


def find_region(
    video: VideoFile, given: tuple[int, int, int, int] | None, tell: Callable[[int], None]
) -> Region:
    """
    Where the light changes, leaving out what is white at its brightest.

    Parameters
    ----------
    video : VideoFile
        The video.
    given : tuple of int or None
        x, y, width, height of a rectangle to take instead, [pixel].
    tell : callable
        Called with the number of frames seen.

    Returns
    -------
    region : Region
        What to read.

    Raises
    ------
    RefusedRecording
        If nothing changes there, or the given rectangle does not lie in the frame.
    """
    if given is not None:
        _check_given(video, given)
    size = max(2, -(-max(video.width, video.height) // _CELLS))
    every = max(1, size // _PIXELS)
    size = size // every * every
    white = (2**video.bits - 1) if video.is_full_range else 235 * 2 ** (video.bits - 8)
    low = high = clipped = None
    count = 0
    for frame in video.frames():
        luma = frame.luma[::every, ::every]
        cells = _cell_means(luma, size // every)
        if low is None or high is None or clipped is None:
            low, high = cells.copy(), cells.copy()
            clipped = np.zeros_like(cells)
        np.minimum(low, cells, out=low)
        brighter = cells > high
        if brighter.any():
            np.maximum(high, cells, out=high)
            white_share = _cell_means(luma >= white, size // every)
            np.maximum(clipped, white_share, out=clipped)
        count += 1
        tell(count)
    if low is None or high is None or clipped is None or count < 2:
        raise RefusedRecording(f"{video.name}: {count} frame. Film a whole firing with some dark around it.")
    change = (high - low) / 2.0 ** (video.bits - 8)
    white_cells = clipped > _CLIPPED_PIXELS
    if given is not None:
        if _inside(given, change, size).max(initial=0.0) < _LEAST_CHANGE:
            x, y, w, h = given
            raise RefusedRecording(
                f"{video.name}: nothing in the region {x},{y},{w},{h} gets brighter and darker. Give the "
                "place where the light is seen through the shutter, or leave it out: then it is looked for."
            )
        return _rectangle(given, white_cells, size)
    usable = np.where(white_cells, 0.0, change)
    is_clipped = usable.max() < max(_LEAST_CHANGE, 0.1 * change.max())
    if is_clipped:
        usable = change
    if usable.max() < _LEAST_CHANGE:
        raise RefusedRecording(
            f"{video.name}: nothing in the picture gets brighter and darker. Film against the lamp, through "
            "the shutter, and fire it while the phone films."
        )
    spots, _ = ndimage.label(usable >= _SHARE_OF_BEST * usable.max())
    best = spots == spots[np.unravel_index(int(np.argmax(usable)), usable.shape)]
    rows, columns = np.flatnonzero(best.any(axis=1)), np.flatnonzero(best.any(axis=0))
    inside = best[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    mask = np.kron(inside, np.ones((size, size), bool)).astype(bool)
    x, y = int(columns[0]) * size, int(rows[0]) * size
    return Region(x, y, mask.shape[1], mask.shape[0], mask, True, bool(is_clipped))


def read_trace(video: VideoFile, region: Region, transfer: Transfer, tell: Callable[[int], None]) -> Trace:
    """
    Mean light of the region in every frame.

    Parameters
    ----------
    video : VideoFile
        The video.
    region : Region
        What to read.
    transfer : Transfer
        How light was stored.
    tell : callable
        Called with the number of frames seen.

    Returns
    -------
    trace : Trace
        One row a frame.

    Raises
    ------
    RefusedRecording
        If its stamps run backwards or are missing throughout.
    """
    light_of = light_of_codes(transfer, video.bits, video.is_full_range)
    down, across = slice(region.y, region.y + region.height), slice(region.x, region.x + region.width)
    in_row = region.mask.sum(axis=1)
    strips = np.array_split(np.arange(region.height), BANDS)
    stamps: list[float] = []
    light, bands, repeats = [], [], []
    dropped, seen, last_print = 0, 0, None
    for frame in video.frames():
        seen += 1
        tell(seen)
        stamp = frame.stamp_s
        if stamp is None or (stamps and stamp <= stamps[-1]):
            if stamp is not None and stamp < stamps[-1]:
                raise RefusedRecording(
                    f"{video.name}: the time stamps run backwards at frame {seen}. Copy it as it was stored."
                )
            dropped += 1
            continue
        print_of = _print_of(frame, down, across)
        values = np.where(region.mask, light_of[frame.luma[down, across]], 0)
        by_row = values.sum(axis=1, dtype=np.float64)
        stamps.append(stamp)
        light.append(float(by_row.sum()) / float(in_row.sum()))
        bands.append([by_row[s].sum() / in_row[s].sum() if in_row[s].sum() else np.nan for s in strips])
        repeats.append(print_of == last_print)
        last_print = print_of
    if len(stamps) < 2:
        raise RefusedRecording(f"{video.name}: its frames carry no time stamps. Copy it as it was stored.")
    rows = np.array([region.y + (s.mean() if len(s) else np.nan) for s in strips])
    return Trace(np.array(stamps), np.array(light), np.array(bands), rows, np.array(repeats), dropped)


def _print_of(frame: Frame, down: slice, across: slice) -> int:
    return zlib.crc32(np.ascontiguousarray(frame.luma[down, across]).tobytes())


def _cell_means(values: NDArray[Any], size: int) -> NDArray[np.float32]:
    """Means over squares of `size` values; what is left over at the right and below is left out."""
    h, w = (side // size * size for side in values.shape)
    cells = values[:h, :w].reshape(h // size, size, w // size, size)
    means: NDArray[np.float32] = cells.mean(axis=(1, 3), dtype=np.float32)
    return means


def _check_given(video: VideoFile, given: tuple[int, int, int, int]) -> None:
    x, y, w, h = given
    inside = x >= 0 and y >= 0 and w >= 2 and h >= 2 and x + w <= video.width and y + h <= video.height
    if not inside:
        raise RefusedRecording(
            f"{video.name}: no region {x},{y},{w},{h} in frames of {video.width} x {video.height}: "
            "give x,y,width,height in pixels from the upper left corner."
        )


def _inside(given: tuple[int, int, int, int], cells: NDArray[Any], size: int) -> NDArray[Any]:
    """The cells that a rectangle touches, each as its pixels."""
    x, y, w, h = given
    return np.kron(cells, np.ones((size, size), cells.dtype))[y : y + h, x : x + w]


def _rectangle(given: tuple[int, int, int, int], white_cells: NDArray[Any], size: int) -> Region:
    x, y, w, h = given
    white = _inside(given, white_cells, size)
    return Region(x, y, w, h, np.ones((h, w), bool), False, bool(white.size and white.mean() > 0.05))
