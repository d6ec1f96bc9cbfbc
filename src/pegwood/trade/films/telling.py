"""What is told of a film format."""

from __future__ import annotations

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.films.table import FILMS, Film, Frame
from pegwood.trade.grounds import Ground, joined, sourced
from pegwood.trade.names import find
from pegwood.trade.numbers import figure
from pegwood.trade.practice import BENCH
from pegwood.trade.reference import Reference

UNSEEN = Ground("ISO 1754 and JIS B 7115 (picture sizes), titles only; tolerances not seen", "seen")
NITRATE = Ground("film of cellulose nitrate: burns fiercely, gives acid gas; sold until about 1950", "memory")


def tell_film(reference: Reference, word: str) -> Answer:
    """
    Width, frames, spacing, perforation and spool of a film format.

    Parameters
    ----------
    reference : Reference
    word : str
        The format: ``"135"``, ``"120"``.

    Raises
    ------
    UnknownWord
        If the tables know no such film.
    """
    film = find(reference.rows(FILMS), word, "film format")
    names = ", ".join(frame.name for frame in film.frames)
    cautions: tuple[Statement, ...] = ()
    if film.nitrate:
        cautions = (
            Statement(
                says="Film from before about 1950 may be nitrate: no heat, no flame, no closed box.",
                grounds=(NITRATE,),
            ),
        )
    return Answer(
        subject="film",
        understood=film.name,
        headline=Statement(
            label=film.name,
            says=f"{film.width.mm:g} mm wide; {names}{_every(film)}.",
            grounds=joined(film.width.grounds, *(frame.grounds for frame in film.frames)),
        ),
        sections=(
            Section(title="Frames", lines=tuple(_frame(frame) for frame in film.frames)),
            Section(title="The film", lines=tuple(_film(film))),
            Section(title="The gate", lines=tuple(_gate())),
        ),
        cautions=cautions,
        data={
            "film": sourced(
                joined(film.width.grounds, film.grounds),
                key=film.key,
                width_m=film.width.mm / 1000,
                width_within_m=film.width.within_mm and film.width.within_mm / 1000,
                pitch_m=film.pitch_mm and film.pitch_mm / 1000,
                standard=film.standard,
            ),
            "frames": [
                sourced(
                    frame.grounds,
                    name=frame.name,
                    across_m=frame.across_mm / 1000,
                    along_m=frame.along_mm / 1000,
                    count=frame.count,
                    spacing_m=frame.spacing_mm and frame.spacing_mm / 1000,
                )
                for frame in film.frames
            ],
        },
    )


def _every(film: Film) -> str:
    first = film.frames[0]
    if first.spacing_mm is None:
        return ""
    told = f"; {first.name} every {first.spacing_mm:g} mm"
    if film.pitch_mm:
        told += f" ({round(first.spacing_mm / film.pitch_mm)} perforations)"
    return told


def _frame(frame: Frame) -> Statement:
    told = [f"{frame.across_mm:g} mm across the film, {frame.along_mm:g} along it"]
    told.append(f"{figure(frame.diagonal_mm)} mm corner to corner")
    if frame.count:
        told.append(f"{frame.count} to a usual film")
    if frame.spacing_mm:
        told.append(f"{figure(frame.spacing_mm - frame.along_mm)} mm between frames")
    else:
        told.append("spacing not known here")
    return Statement(label=frame.name, says="; ".join(told) + ".", grounds=frame.grounds)


def _film(film: Film) -> list[Statement]:
    width = f"{film.width.mm:g} mm"
    if film.width.within_mm:
        width += f", give or take {film.width.within_mm:g}"
    holes = film.perforation
    if film.pitch_mm:
        holes += f", every {figure(film.pitch_mm, 4)} mm"
    told = {
        "backing": film.backing,
        "perforation": holes,
        "spool": film.spool,
        "standard": film.standard,
    }
    return [
        Statement(label="width", says=f"{width}.", grounds=film.width.grounds),
        *(Statement(label=label, says=f"{says}.", grounds=film.grounds) for label, says in told.items()),
        *(Statement(label="mind", says=f"{note.says}.", grounds=note.grounds) for note in film.notes),
    ]


def _gate() -> list[Statement]:
    return [
        Statement(
            label="tolerance",
            verdict="not known",
            says="No table of gate tolerances was seen: compare with a sound camera of the same kind.",
            grounds=(UNSEEN,),
        ),
        Statement(
            label="spacing",
            says="Measure edge to edge over ten frames of a scrap film, and look for the one that overlaps.",
            grounds=(BENCH,),
        ),
    ]
