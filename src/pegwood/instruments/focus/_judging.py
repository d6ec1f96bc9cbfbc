"""Whether an edge can be measured at all, and what makes its figure doubtful."""

from __future__ import annotations

import math

import numpy as np

from pegwood.instruments.focus._strip import Line, Strip
from pegwood.instruments.readings import RefusedReadings

__all__ = ["alike_blocks", "check_light", "check_slant", "doubts"]

LEAST_LENGTH = 24.0
LEAST_RUN = 1.5
"""An edge has to run over so many pixels sideways, or it meets every row alike, [pixel]."""
WIDEST_GAP = 0.3
"""Pixels must lie at distances from the edge no further apart than that, [pixel]."""


def check_light(strip: Strip, near: float) -> None:
    bright, dark = strip.light[strip.away > near], strip.light[strip.away < -near]
    if len(bright) < 50 or len(dark) < 50:
        raise RefusedReadings("the edge runs along the picture's end. Show both of its sides")
    if (bright > 0.995).mean() > 0.01:
        raise RefusedReadings(
            "the bright side is burnt out, and a clipped edge looks sharper than it is. Expose a stop less"
        )
    if (dark < 0.0002).mean() > 0.2:
        raise RefusedReadings(
            "the dark side has sunk into black, and a clipped edge looks sharper than it is. Expose a stop "
            "more, or use a card of dark grey"
        )
    step = float(np.median(bright) - np.median(dark))
    noise = float(np.std(bright) + np.std(dark)) / 2
    if step < 0.02 or np.median(bright) < 0.04:
        raise RefusedReadings(
            "the picture is too dark, or the edge too faint, to be measured. Give more light or expose longer"
        )
    if noise > 0.5 * step:
        raise RefusedReadings(
            "noise or a pattern is as strong as the edge itself. Use plain black and white, and more light"
        )


def check_slant(strip: Strip) -> None:
    line = strip.line
    if 2 * line.half_length < LEAST_LENGTH:
        raise RefusedReadings(
            f"only {2 * line.half_length:.0f} pixels of the edge can be seen, and {LEAST_LENGTH:.0f} are the "
            "least. Go nearer, or send the picture at its full size"
        )
    remedy = "Turn the card or the camera to about 5 degrees"
    if 2 * line.half_length * math.sin(math.radians(line.degrees)) < LEAST_RUN:
        raise RefusedReadings(f"the edge lies along the pixels, {line.degrees:.1f} degrees off. {remedy}")
    near = np.sort(strip.away[np.abs(strip.away) < 4])
    if len(near) < 50 or np.quantile(np.diff(near), 1.0) > WIDEST_GAP:
        raise RefusedReadings(
            f"the edge lies at {line.degrees:.1f} degrees, where it meets all pixels at the same few "
            f"distances. {remedy}"
        )


def alike_blocks(line: Line) -> float:
    """
    By how much storing in blocks scatters more than the parts of an edge among themselves show.

    Rounding in a block of 8 by 8 depends on where the edge runs through it. At slopes such as 1/4 or 1/5 few
    such places come back again and again: the parts agree, and all are wrong alike.
    """
    blocks = max(int(line.half_length / 4), 1)
    places = np.arange(blocks) * 8 * math.tan(math.radians(line.degrees)) % 8
    different = len(np.unique(np.floor(places / 0.25)))
    expected = 32 * (1 - math.exp(-blocks / 32))  # of 32, were they thrown at random
    return math.sqrt(max(1.0, expected / different))


_STORED_DOUBTFUL = 0.25
"""MTF50 above which storing with loss counts for more than all else, [cycles/pixel]."""


def doubts(f50: float, overshoot: float, noise: float, pixels: int, lossy: bool) -> tuple[str, ...]:
    said = []
    if lossy and f50 > _STORED_DOUBTFUL:
        said.append(
            "a picture stored with loss (JPEG) does not keep detail as fine as this: MTF50 is good to some "
            "percent only, and rather too low. Store it without loss, or take it from nearer."
        )
    if f50 > 0.5:
        said.append(
            "MTF50 lies beyond half a cycle per pixel: the picture's pixels are coarser than the image. "
            "Take it from nearer."
        )
    if overshoot > 0.05 + 4 * noise / math.sqrt(pixels / 50):
        said.append(
            f"the edge's profile overshoots by {100 * overshoot:.0f} % of its step: the picture was "
            "sharpened. MTF50 is then too high, and good only for comparing pictures taken alike; turn "
            "sharpening off."
        )
    return tuple(said)
