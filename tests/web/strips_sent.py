"""Strips of film as a browser sends them, drawn small by what the instruments' tests draw them with."""

from __future__ import annotations

from functools import cache

import numpy as np
from django.core.files.uploadedfile import SimpleUploadedFile

from instruments.strips import Camera, at_spacing, picture

CAMERA = Camera(size=(860, 300), samples=2)


@cache
def _drawn(spacings: tuple[float, ...], fogged: int) -> bytes:
    """`fogged` is -1 for fog along the scan's upper edge, 1 for its lower one, 0 for none."""
    fog = None
    if fogged:
        fog = lambda _x, y: 0.3 * np.exp(-(17.49 - fogged * y) / 4.0)  # noqa: E731
    return picture(at_spacing(list(spacings), seed=3, fog=fog), CAMERA).getvalue()


def strip(spacings=(38.0, 38.0), fogged=0, name="strip.jpg") -> SimpleUploadedFile:
    """Frames so far apart, [mm]."""
    return SimpleUploadedFile(name, _drawn(tuple(spacings), fogged), content_type="image/jpeg")
