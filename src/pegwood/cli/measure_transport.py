"""Film transport from a picture of a strip, at the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pegwood.cli._open import OneLine
from pegwood.cli._pictures import each_photograph
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from rich.console import Console


@click.command(epilog="Example: pegwood measure transport strip.jpg --format 135 --json")
@click.argument("photos", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--format",
    "key",
    default="135",
    show_default=True,
    help="135, 135-half, 135-square, 6x4.5, 6x6, 6x7, 6x9.",
)
@click.option(
    "--hole-pitch-mm", type=float, help="Perforation pitch measured on this film: old film has shrunk."
)
@click.option(
    "--hole-pitch-u-mm", type=float, default=0.002, show_default=True, help="Its standard uncertainty."
)
@click.option(
    "--image-width-mm", type=float, help="Roll film: width of the picture across the film, measured."
)
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object a line for each picture.")
def transport(
    photos: tuple[Path, ...],
    key: str,
    hole_pitch_mm: float | None,
    hole_pitch_u_mm: float,
    image_width_mm: float | None,
    as_json: bool,
) -> None:
    """
    Measure frame spacing from a picture of a developed strip.

    A scan, or a photograph on a light table, negative or positive; both rows of perforations to be seen.
    They are the ruler, so neither the scanner's scale nor the lens matters. Overlaps, the gate's edges and
    scratches along the travel are told as well. Keep film off a hot lamp; wear
    gloves: it belongs to somebody.
    """
    from pegwood.instruments.filmstrip import film_format, perforations
    from pegwood.instruments.photographs import open_photograph
    from pegwood.instruments.readings import RefusedReadings
    from pegwood.instruments.transport import analyse_transport

    if not photos:
        raise OneLine("Give at least one picture: pegwood measure transport PHOTO.", 2)
    try:
        film = film_format(key)
        holes = None
        if hole_pitch_mm is not None:
            holes = perforations(hole_pitch_mm * 1e-3, hole_pitch_u_mm * 1e-3)
    except RefusedReadings as error:
        raise OneLine(str(error), 2) from None
    each_photograph(
        photos,
        lambda photo: analyse_transport(
            open_photograph(photo),
            film=film,
            holes=holes,
            image_width_m=None if image_width_mm is None else image_width_mm * 1e-3,
        ).to_json(),
        lambda name, result: _show(terminal(), name, result),
        as_json=as_json,
    )


def _show(console: Console, photo: str, result: dict[str, Any]) -> None:
    """A result for a person: lengths in millimetres, 95 %."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    count = len(result["frames"])
    console.print(Text.assemble((photo, "bold"), f"  {result['format']}, {result['kind']}, {count} frames"))
    if result["pitch_m"] is None:
        console.print("spacing: cannot tell")
    else:
        limit = result["pitch_limit"]
        console.print(
            f"spacing: {mm(result, 'pitch')}, nominal {1e3 * result['nominal_m']:.2f} mm: "
            f"{result['verdict']} "
            f"(limit {1e3 * limit['low_m']:.2f} to {1e3 * limit['high_m']:.2f} mm, {limit['mark']}: "
            f"{limit['source']})"
        )
        console.print(f"overlaps: {result['overlaps']}")
    if result["narrowest_gap_m"] is not None:
        console.print(f"narrowest gap: {mm(result, 'narrowest_gap')}: {result['gap_verdict']}")
    if result["scatter_m"] is not None:
        console.print(
            f"scatter: {1e3 * result['scatter_m']:.3f} mm from frame to frame: {result['scatter_verdict']}"
        )
        console.print(f"trend: {mm(result, 'trend')} longer from frame to frame")
    if result["gate_width_m"] is not None:
        console.print(f"gate: {mm(result, 'gate_width')} wide")
    if result["lean_rad"] is not None:
        low, high = result["lean_95_rad"]
        console.print(
            f"gate's edges: {57.29578 * result['lean_rad']:.2f} ± {57.29578 * (high - low) / 2:.2f}° "
            f"from square: "
            f"{result['lean_verdict']}"
        )
    table = Table("frame", "starts at", "wide", "gap after", "seen by", box=box.SIMPLE)
    for n, frame in enumerate(result["frames"], 1):
        table.add_row(str(n), mm(frame, "start"), mm(frame, "width"), mm(frame, "gap"), frame["seen"])
    console.print(table)
    for scratch in result["scratches"]:
        kind = "dark" if scratch["density"] > 0 else "clear"
        console.print(
            f"scratch: {mm(scratch, 'from_top')} from the upper edge, {kind}, on {scratch['share']:.0%} "
            f"of the strip"
        )
    for kind in ("advice", "warnings", "notes"):
        for line in result[kind]:
            console.print(
                Text(line, "dim") if kind == "notes" else Text.assemble((f"{kind}: ", "bold"), line)
            )


def mm(figures: dict[str, Any], name: str) -> str:
    """A length with its 95 % half-width, in millimetres."""
    value, interval = figures[f"{name}_m"], figures[f"{name}_95_m"]
    if value is None or interval is None or interval[0] is None:
        return "–"
    half = 500 * (interval[1] - interval[0])
    digits = 3 if half < 0.0995 else 2 if half < 0.995 else 1
    return f"{1e3 * value:.{digits}f} ± {half:.{digits}f} mm"
