"""A photograph of a developed strip: how the film moved, and where light came in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from pegwood.book.gauging.limits import limit_in
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.filmstrip import film_format, perforations
from pegwood.instruments.leaks import View, analyse_leaks
from pegwood.instruments.photographs import open_photograph
from pegwood.instruments.transport import TransportLimits, analyse_transport

#: As a hole pitch measured with a rule over some forty holes is known, [mm].
HOLE_PITCH_U_MM = 0.002


def spacing(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    Frame spacing of a strip.

    Parameters
    ----------
    files : sequence of GaugeFile
        One picture.
    said : mapping
        `format`; `hole_pitch_mm` where it was measured on this film; `image_width_mm` of roll film; and
        the limits in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    film = film_format(said.get("format") or "135")
    pitch, width = said.get("hole_pitch_mm"), said.get("image_width_mm")
    return analyse_transport(
        open_photograph(files[0].source, files[0].name),
        film=film,
        holes=None if pitch is None else perforations(pitch * 1e-3, HOLE_PITCH_U_MM * 1e-3),
        image_width_m=None if width is None else width * 1e-3,
        limits=TransportLimits(
            spacing=limit_in(said, "transport.spacing_m"),
            scatter=limit_in(said, "transport.scatter_m"),
            square=limit_in(said, "transport.square_rad"),
            gap=limit_in(said, "transport.gap_m"),
        ),
    ).to_json()


def leaks(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    Likely places of a light leak.

    Parameters
    ----------
    files : sequence of GaugeFile
        One picture.
    said : mapping
        `format`, `travel`, `turned` (emulsion up), `upside_down`; and the limit in use.

    Raises
    ------
    RefusedReadings
        One line.
    """
    view = View(
        travel="right to left" if said.get("travel") == "right to left" else "left to right",
        mirrored=bool(said.get("turned")),
        upside_down=bool(said.get("upside_down")),
    )
    film = film_format(said.get("format") or "135")
    photograph = open_photograph(files[0].source, files[0].name)
    return analyse_leaks(
        photograph, film=film, view=view, limit=limit_in(said, "leaks.fog_density")
    ).to_json()
