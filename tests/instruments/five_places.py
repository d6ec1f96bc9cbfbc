"""
Pictures with a slanted edge in the middle and in each corner; shares nothing with the analysis.

Each edge is a `slanted.Scene` of its own, of known blur, laid into its ninth of a grey picture.
"""

from __future__ import annotations

import math

import numpy as np

from instruments.slanted import Blur, Scene, encoded, kept

#: Middles of the five ninths from the picture's middle, in ninths: to the right, and up.
CELLS = ((0, 0), (-1, 1), (1, 1), (-1, -1), (1, -1))


def five(best_at, z, rng, side=180, growth=12.0):
    """
    A picture at position `z`, as a file.

    `best_at(right, up)` is the position at which that cell is sharp; off it the blur grows by `growth` pixels
    for each unit, beside a Gaussian of 1 pixel, by their squares.
    """
    light = np.full((3 * side, 3 * side), 0.6)
    for right, up in CELLS:
        blur = Blur(math.hypot(1.0, growth * (z - best_at(right, up))))
        scene = Scene(blur=blur, degrees=5, width=side, height=side).light(rng)
        top, left = (1 - up) * side, (1 + right) * side
        light[top : top + side, left : left + side] = scene
    return kept(encoded(light), 70).read()
