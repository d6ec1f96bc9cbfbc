"""Photographs of a lens's glass: in side light, before and after cleaning, of a black patch through it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.limits import limit_in
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.glass import Glass, GlassLimits, Patch, analyse_glass, analyse_veil
from pegwood.instruments.photographs import Photograph, open_photograph
from pegwood.instruments.readings import RefusedReadings


def side_lit(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    The grade of one photograph.

    Parameters
    ----------
    files : sequence of GaugeFile
        One photograph.
    said : mapping
        `kind`; `glass` ("x, y, radius") and `white` ("left, top, width, height") in pixels; and the
        limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return _graded(files[:1], said)


def cleaned(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    What cleaning changed; `side_lit` tells what is said beside the two photographs.

    Raises
    ------
    RefusedReadings
        One line.
    """
    return _graded(files, said)


def glare(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    Veiling glare.

    Parameters
    ----------
    files : sequence of GaugeFile
        Through the lens; and the same by the camera alone, if it was taken.
    said : mapping
        `patch`: "left, top, width, height" in pixels; and the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    patch = said.get("patch")
    place = Patch(*_numbers(patch, 4)) if patch else None
    own = _picture(files[1]) if len(files) > 1 else None
    return analyse_veil(_picture(files[0]), patch=place, own=own, limits=_limits(said)).to_json()


def _graded(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    circle, white = said.get("glass"), said.get("white")
    card: Any = _numbers(white, 4) if white else None
    return analyse_glass(
        *(_picture(one) for one in files),
        glass=Glass(*_numbers(circle, 3)) if circle else None,
        white=card,
        kind=said.get("kind") or "marks",
        limits=_limits(said),
    ).to_json()


def _limits(said: Mapping[str, Any]) -> GlassLimits:
    return GlassLimits(
        share=limit_in(said, "glass.share_percent"),
        haze=limit_in(said, "glass.haze_percent"),
        come=limit_in(said, "glass.come_percent"),
        glare=limit_in(said, "glass.glare_percent"),
    )


def _picture(file: GaugeFile) -> Photograph:
    return open_photograph(file.source, file.name)


def _numbers(text: str, n: int) -> tuple[float, ...]:
    """Whole or decimal figures between blanks, commas or semicolons, [pixel]."""
    try:
        found = tuple(float(one) for one in text.replace(";", " ").replace(",", " ").split())
    except ValueError:
        found = ()
    if len(found) != n or not all(abs(one) < 1e6 for one in found):
        raise RefusedReadings(f"{text[:40]!r} is no place in a picture. Write {n} figures, in pixels.")
    return found
