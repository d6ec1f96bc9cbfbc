"""Light leaks from a picture of a strip, at the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._open import OneLine
from pegwood.cli._pictures import each_photograph
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from rich.console import Console


@click.command(epilog="Example: pegwood measure leaks strip.jpg --json")
@click.argument("photos", nargs=-1, type=click.Path(path_type=Path))
@click.option("--format", "key", default="135", show_default=True, help="135, 135-half or 135-square.")
@click.option(
    "--turned", is_flag=True, help="Scanned with the emulsion up: the pictures are in mirror-writing."
)
@click.option("--upside-down", is_flag=True, help="The pictures stand on their heads in the scan.")
@click.option(
    "--travel",
    type=click.Choice(["left-to-right", "right-to-left"]),
    default="left-to-right",
    show_default=True,
    help="The way the film runs in the camera, seen from behind.",
)
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object a line for each picture.")
def leaks(
    photos: tuple[Path, ...], key: str, turned: bool, upside_down: bool, travel: str, as_json: bool
) -> None:
    """
    Tell from fog on a developed strip where light came in.

    A scan, or a photograph on a light table, of one whole strip with both rows of perforations. Edges
    are named as scanned; the camera's own side stands beside them. It
    gives chances, and says so where it is not sure. When you
    look for a leak with a lamp, keep it cool: bellows and foam burn.
    """
    from pegwood.instruments.filmstrip import film_format
    from pegwood.instruments.leaks import View, analyse_leaks
    from pegwood.instruments.photographs import open_photograph
    from pegwood.instruments.readings import RefusedReadings

    if not photos:
        raise OneLine("Give at least one picture: pegwood measure leaks PHOTO.", 2)
    try:
        film = film_format(key)
    except RefusedReadings as error:
        raise OneLine(str(error), 2) from None
    view = View(
        "left to right" if travel == "left-to-right" else "right to left",
        mirrored=turned,
        upside_down=upside_down,
    )
    each_photograph(
        photos,
        lambda photo: analyse_leaks(open_photograph(photo), film=film, view=view).to_json(),
        lambda name, result: _show(terminal(), name, result),
        as_json=as_json,
    )


def _show(console: Console, photo: str, result: dict[str, Any]) -> None:
    """A result for a person."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    console.print(Text.assemble((photo, "bold"), f"  {result['kind']}, {result['frames']} frames"))
    table = Table("place", "chance", "at the camera", "look at", box=box.SIMPLE)
    for one in result["places"]:
        if one["p"] >= 0.01:
            table.add_row(one["place"], f"{one['p']:.0%}", one["camera"], one["look_at"])
    console.print(table)
    console.print("seen: " + ", ".join(f"{name}: {word}" for name, word in result["signs"].items()))
    console.print(f"chances: {result['mark']}, {result['source']}")
    for kind in ("advice", "warnings", "notes"):
        for line in result[kind]:
            console.print(
                Text(line, "dim") if kind == "notes" else Text.assemble((f"{kind}: ", "bold"), line)
            )
