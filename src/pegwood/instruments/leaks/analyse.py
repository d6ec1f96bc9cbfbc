"""From a picture of a strip to where light came in."""

from __future__ import annotations

from pegwood.instruments.filmstrip import FilmFormat, Strip, film_format, perforations, read_strip
from pegwood.instruments.leaks.fog import fog_of
from pegwood.instruments.leaks.geometry import View
from pegwood.instruments.leaks.limits import checked_limit
from pegwood.instruments.leaks.model import chances, picture_weights, prior_of, source_of, thresholds
from pegwood.instruments.leaks.results import LeaksResult, Place
from pegwood.instruments.leaks.signs import Signs, read_signs
from pegwood.instruments.photographs import Photograph
from pegwood.instruments.readings import RefusedReadings
from pegwood.instruments.transport.analyse import straightened
from pegwood.instruments.transport.edges import find_edges
from pegwood.instruments.transport.frames import place_frames
from pegwood.instruments.verdicts import Bounds

__all__ = ["analyse_leaks"]

_SURE = 0.8


def analyse_leaks(
    photograph: Photograph,
    *,
    film: FilmFormat | None = None,
    view: View | None = None,
    limit: Bounds | None = None,
) -> LeaksResult:
    """
    Likely places of a light leak, from fog on a developed strip.

    Parameters
    ----------
    photograph : Photograph
        Of one strip of 135 film, lit from behind, both rows of holes in the picture.
    film : FilmFormat, optional
        24 x 36 on 135 if not given.
    view : View, optional
        How the film lay in the camera and how it was scanned; the usual way if not given.
    limit : Bounds, optional
        Density from which fog on bare film is taken for a leak's, its upper bound; `fog_limit` if not given.

    Returns
    -------
    result : LeaksResult
        With a chance for every place.

    Raises
    ------
    RefusedReadings
        If there is no strip of perforated film in the picture, or the format has no perforations; if the
        limit can be none for fog.
    """
    held, density = checked_limit(limit)
    wanted, lay = film or film_format("135"), view or View()
    if wanted.ruler != "perforations":
        raise RefusedReadings(
            f"{photograph.name}: leaks are told from fog beside the perforations, and {wanted.name} has "
            f"none. Look at "
            "the strip: fog from the edge is the back, fog inside every picture is the camera's front."
        )
    strip = read_strip(photograph, perforations())
    rectified, _, _ = straightened(strip, wanted)
    found = place_frames(rectified, find_edges(rectified), 1e3 * wanted.along_m, 1e3 * wanted.spacing_m)
    fog = fog_of(strip, found, 1e3 * wanted.across_m)
    signs = read_signs(fog, density, thresholds(), picture_weights(), lay.cassette_end)
    source, mark = source_of()
    places = tuple(
        Place(place, p, _camera(place, lay), _LOOK_AT[place], _at(place, lay), prior_of(place))
        for place, p in chances(signs).items()
    )
    return LeaksResult(
        photograph.name,
        strip.kind,
        places,
        signs,
        fog,
        lay,
        len(found.frames),
        held,
        source,
        mark,
        tuple(_advice(places, signs)),
        tuple(_warnings(strip, places, len(found.frames))),
        (
            f"Read as if the film ran {lay.travel} seen from behind, scanned "
            f"{'emulsion up' if lay.mirrored else 'emulsion down'}, pictures "
            f"{'upside down' if lay.upside_down else 'upright'}; the cassette's end is {lay.cassette_end}.",
            f"Fog on bare film counts plainly from a density of {density:g} ({held.source}; {held.mark}).",
        ),
    )


_LOOK_AT = {
    "gate side": "the sides of the gate, the joint of mirror box or body there, the shutter's light trap",
    "back seal, top": "foam or wool in the groove along that edge of the back, a bent back",
    "back seal, bottom": "foam or wool in the groove along that edge of the back, a bent back",
    "cassette": "the felt at the cassette's mouth, loading in bright light; the seal on that side of the "
    "back and its window",
    "hinge side": "foam at the hinge, the hinge's pin, screws beside it",
    "lens board or bellows": "the lens's seat, a bellows' folds and corners: a lamp inside, in the dark",
    "none": "nothing",
}


_AT = {
    "gate side": "gate",
    "cassette": "cassette",
    "hinge side": "hinge",
    "lens board or bellows": "front",
    "none": "none",
}


def _at(place: str, view: View) -> str:
    """The camera's own place in one word."""
    if place.startswith("back seal"):
        edge = view.camera_edge("top" if place.endswith("top") else "bottom")
        return "back-seal-top" if edge == "top" else "back-seal-base"
    return _AT[place]


def _camera(place: str, view: View) -> str:
    """The camera's own side, seen from behind."""
    if place.startswith("back seal"):
        edge = view.camera_edge("top" if place.endswith("top") else "bottom")
        return f"{edge} of the camera"
    if place == "cassette":
        return f"{'left' if view.travel == 'left to right' else 'right'} of the camera, seen from behind"
    if place == "hinge side":
        side = "right" if view.travel == "left to right" else "left"
        return f"{side} of the camera, seen from behind: by the take-up"
    if place == "gate side":
        return "around the gate, behind the lens"
    if place == "lens board or bellows":
        return "front of the camera"
    return "no leak"


def _advice(places: tuple[Place, ...], signs: Signs) -> list[str]:
    first = places[0]
    out = []
    if first.place != "none":
        out.append(f"Look first at the {first.camera}: {first.look_at}.")
        if signs.moving != "cannot tell":
            out.append(
                "Streaks along the travel: light came in while the film moved, or all the time."
                if signs.moving == "while moving" else "Spots with ends: light came in while the film stood."
            )  # fmt: skip
        if first.place in ("gate side", "lens board or bellows"):
            out.append(
                "Sky or a light wall at the same place of every picture looks alike: compare a frame not "
                "exposed, or another strip."
            )
    return out


def _warnings(strip: Strip, places: tuple[Place, ...], frames: int) -> list[str]:
    out = []
    if places[0].p < _SURE:
        out.append(
            f"Not sure: {places[0].place} {places[0].p:.0%}, {places[1].place} {places[1].p:.0%}. Look "
            f"at another strip "
            "of the same camera, or shine a lamp around the closed back with a fresh film in it."
        )
    if frames < 2:
        out.append("Fewer than two frames were found: what repeats with the frame cannot be told.")
    if strip.clipped > 0.02 and strip.brighter and strip.kind == "negative" and strip.clipped < 0.9:
        out.append(
            "The lamp is burnt out in the picture: an unevenly lit table can look like fog. Expose less "
            "and take it again."
        )
    return out
