"""Focus at the command line: series of photographs, distance scales, depth gauges."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pegwood.cli._focus_shown import distance_said, show_register, show_scale, show_series
from pegwood.cli._into_job import UNREADABLE, say_why_not
from pegwood.cli._open import OneLine
from pegwood.cli._progress import progress
from pegwood.cli._terminal import terminal

if TYPE_CHECKING:
    from pegwood.instruments.focus import Region, Setting, Shot

T = TypeVar("T")
Place = tuple[float, float]
UNITS = {"mm": 1e-3, "um": 1e-6, "in": 0.0254, "other": None}


class SeriesOrCommand(click.Group):
    """Options stand for `series`: `measure focus --edge ...` is `measure focus series --edge ...`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if args and args[0].startswith("--") and args[0] != "--help":
            args = ["series", *args]
        return super().parse_args(ctx, args)


class SeveralAtOnce(click.Command):
    """An option may be followed by several values, as a shell's ``found-*.jpg`` is: ``--edge A B C``."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        several = {name for p in self.params if getattr(p, "multiple", False) for name in p.opts}
        spread: list[str] = []
        option: str | None = None
        given = 0
        for word in args:
            if word.startswith("--"):
                option, given = (word if word in several else None), 0
                spread.append(word)
            elif option is not None:
                spread += [option, word] if given else [word]
                given += 1
            else:
                spread.append(word)
        return super().parse_args(ctx, spread)


@click.group(
    cls=SeriesOrCommand, epilog="Example: pegwood measure focus --edge f*.jpg --at 0 0.1 0.2 0.3 0.4"
)
def focus() -> None:
    """Focus: series of photographs through it, distance scale, register, depth of field."""


@focus.command(
    "series",
    cls=SeveralAtOnce,
    epilog="Example: pegwood measure focus series --edge f*.jpg --at 0 0.1 0.2 0.3 0.4 --json",
)
@click.option(
    "--edge", "edges", multiple=True, type=click.Path(path_type=Path), help="Photographs of a slanted edge."
)
@click.option("--at", "positions", multiple=True, help="Position of each, growing away from the film.")
@click.option(
    "--at-unit", type=click.Choice(list(UNITS)), default="mm", show_default=True, help="What they are in."
)
@click.option("--at-u", type=float, default=0.0, help="Standard uncertainty of a position, in its unit.")
@click.option("--region", "regions", multiple=True, metavar="X,Y,W,H", help="Where the edge is, in pixels.")
@click.option(
    "--place", "places", multiple=True, metavar="X,Y", help="Where on the film each region or photo is, mm."
)
@click.option("--screw", "screws", multiple=True, metavar="X,Y", help="The standard's three screws, mm.")
@click.option("--stop", "stops", multiple=True, help="f-number, of all photographs or of each.")
@click.option("--format", "format_", help="Picture format, for the depth of focus: 24x36, 6x6 ...")
@click.option("--limit-mm", type=float, help="How far focus may be off in a corner, mm.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object.")
def series(
    edges: tuple[Path, ...],
    positions: tuple[str, ...],
    at_unit: str,
    at_u: float,
    regions: tuple[str, ...],
    places: tuple[str, ...],
    screws: tuple[str, ...],
    stops: tuple[str, ...],
    format_: str | None,
    limit_mm: float | None,
    as_json: bool,
) -> None:
    """
    Find best focus from photographs of a slanted edge; the word `series` may be left out.

    A straight edge between black and white, turned by about 5 degrees (2 to 15), photographed at four
    positions or more on both sides of best focus: MTF50 of each photograph, and where it is largest.

    With five --region and a --place for each, or five photographs at each position and five --place, also the
    tilt of the standard and, with three --screw, the shim under each. With --stop for each photograph, how
    focus moves as the lens is stopped down.

    Caution: do not look through a lens at the sun or a bright lamp, and let none shine through it onto
    anything that burns.
    """
    if not edges:
        raise OneLine("Give photographs: pegwood measure focus --edge PHOTO... --at POSITION...", 2)
    plan = _refusable(lambda: _planned(edges, positions, regions, places, stops))
    setting = _refusable(lambda: _setting(at_unit, at_u, screws, format_, limit_mm))
    shots, ended = _shots(plan)
    from pegwood.instruments.focus import read_series, series_json

    result = read_series(shots, setting)
    if as_json:
        click.echo(json.dumps(series_json(result), ensure_ascii=False))
    else:
        show_series(terminal(), result, at_unit)
    if ended:
        raise click.exceptions.Exit(ended)


@focus.command(
    "scale",
    epilog="Example: pegwood measure focus scale marks.csv --focal-mm 50 --stop 2 --format 24x36",
)
@click.argument("readings", type=click.Path(path_type=Path))
@click.option("--focal-mm", type=float, required=True, help="Focal length, mm.")
@click.option("--stop", type=float, required=True, help="Widest f-number.")
@click.option("--format", "format_", help="Picture format, for the circle of confusion: 24x36, 6x6 ...")
@click.option("--confusion-mm", type=float, help="Circle of confusion, mm, instead of the format's.")
@click.option("--lead-mm", type=float, help="How far one turn of the helicoid moves the lens, mm.")
@click.option(
    "--counted-from", type=click.Choice(["film", "lens"]), default="film", show_default=True,
    help="Where distances begin.",
)  # fmt: skip
@click.option("--limit-mm", type=float, help="How far an image may be off, mm.")
@click.option("--reading-u-mm", type=float, help="Standard uncertainty of a reading, at the image, mm.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object.")
def scale(
    readings: Path,
    focal_mm: float,
    stop: float,
    format_: str | None,
    confusion_mm: float | None,
    lead_mm: float | None,
    counted_from: Any,
    limit_mm: float | None,
    reading_u_mm: float | None,
    as_json: bool,
) -> None:
    """
    Hold a distance scale and its infinity stop against where the lens is sharp.

    READINGS is a CSV with a column `marked_m` (or `marked_ft`, or `marked` with units in it) and one of
    `found_m`, `found_ft`, `found` (where it is sharp, by collimator or ground glass; `inf` allowed) or
    `error_mm` (image side; positive: too far from the film). Several rows of a mark tell how well it is read.
    """
    if format_ is None and confusion_mm is None:
        raise OneLine("Give --format, such as 24x36, or --confusion-mm: depth of focus rests on it.", 2)
    from pegwood.instruments.focus import scale_json, scale_told
    from pegwood.instruments.readings import open_figures

    told = {
        "focal_mm": focal_mm,
        "stop": stop,
        "film_format": format_,
        "confusion_mm": confusion_mm,
        "counted_from": counted_from,
        "lead_mm": lead_mm,
        "limit_mm": limit_mm,
        "reading_u_mm": reading_u_mm,
    }
    result = _refusable(lambda: scale_told(open_figures(readings), told), readings)
    if as_json:
        click.echo(json.dumps({**scale_json(result), "file": str(readings)}, ensure_ascii=False))
    else:
        show_scale(terminal(), scale_json(result))


@focus.command(
    "flange",
    epilog="Example: pegwood measure focus flange depths.csv --nominal-mm 43.90 --bar-mm 10",
)
@click.argument("readings", type=click.Path(path_type=Path))
@click.option("--nominal-mm", type=float, help="What the register should be, mm.")
@click.option("--bar-mm", type=float, default=0.0, help="Thickness of the bar the gauge stands on, mm.")
@click.option(
    "--gauge-error-mm", type=float, default=0.01, show_default=True, help="Largest error of the gauge, mm."
)
@click.option(
    "--gauge-step-mm", type=float, default=0.01, show_default=True, help="Smallest step it shows, mm."
)
@click.option("--screw", "screws", multiple=True, metavar="X,Y", help="The mount's three screws, mm.")
@click.option("--limit-mm", type=float, help="How far the register may be off, mm.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object.")
def flange(
    readings: Path,
    nominal_mm: float | None,
    bar_mm: float,
    gauge_error_mm: float,
    gauge_step_mm: float,
    screws: tuple[str, ...],
    limit_mm: float | None,
    as_json: bool,
) -> None:
    """
    Reckon flange to film by depth gauge: mean, tilt, and the film's channel.

    READINGS is a CSV with `depth_mm`, where each was read (`x_mm`, `y_mm` from the middle, as seen from
    behind) and, if both were read, `to`: `rails` or `plate`. Read each point at least twice, lifting the
    gauge.

    Caution: keep the gauge's foot off curtains, ground glass and plates that are held by a spring.
    """
    from pegwood.instruments.focus import register_json, register_told
    from pegwood.instruments.readings import open_figures

    told = {
        "nominal_mm": nominal_mm,
        "bar_mm": bar_mm,
        "gauge_error_mm": gauge_error_mm,
        "gauge_step_mm": gauge_step_mm,
        "screws_mm": [1e3 * one for screw in screws for one in _refusable(partial(_pair, screw, "--screw"))],
        "limit_mm": limit_mm,
    }
    result = _refusable(lambda: register_told(open_figures(readings), told), readings)
    if as_json:
        click.echo(json.dumps({**register_json(result), "file": str(readings)}, ensure_ascii=False))
    else:
        show_register(terminal(), register_json(result))


@focus.command(
    "depth", cls=SeveralAtOnce, epilog="Example: pegwood measure focus depth --focal-mm 50 --stop 2 "
    "--format 24x36 --at 3 10 inf"
)  # fmt: skip
@click.option("--focal-mm", type=float, required=True, help="Focal length, mm.")
@click.option("--stop", type=float, required=True, help="f-number.")
@click.option("--format", "format_", help="Picture format, for the circle of confusion: 24x36, 6x6 ...")
@click.option("--confusion-mm", type=float, help="Circle of confusion, mm, instead of the format's.")
@click.option("--at", "distances", multiple=True, help="Focused at, from the lens: 3, 10 ft, inf.")
@click.option("--json", "as_json", is_flag=True, help="For scripts: one object.")
def depth(
    focal_mm: float,
    stop: float,
    format_: str | None,
    confusion_mm: float | None,
    distances: tuple[str, ...],
    as_json: bool,
) -> None:
    """Reckon depth of focus and depth of field."""
    result = _refusable(lambda: _depth(focal_mm / 1e3, stop, format_, confusion_mm, distances or ("inf",)))
    if as_json:
        click.echo(json.dumps(result, ensure_ascii=False))
        return
    console = terminal()
    console.print(
        f"depth of focus ±{1e3 * result['depth_of_focus_m']:.3f} mm at infinity, circle of confusion "
        f"{1e3 * result['confusion_m']:.3f} mm ({result['confusion_source']}; {result['confusion_mark']})"
    )
    console.print(f"hyperfocal distance {result['hyperfocal_m']:.2f} m")
    for one in result["distances"]:
        console.print(
            f"at {distance_said(one['distance_m'])}: sharp from {distance_said(one['near_m'])} to "
            f"{distance_said(one['far_m'])}; image {1e3 * one['image_shift_m']:.3f} mm beyond infinity's"
        )


# --- reading what was asked ---------------------------------------------------------------------------


def _refusable(read: Callable[[], T], file: Path | None = None) -> T:
    from pegwood.instruments.readings import RefusedReadings

    try:
        return read()
    except (RefusedReadings, OSError) as error:
        if file is None:
            raise OneLine(str(error), 2) from None
        say_why_not(file, error)
        raise click.exceptions.Exit(UNREADABLE) from None


def _number(text: str, what: str) -> float:
    from pegwood.instruments.readings import RefusedReadings

    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise RefusedReadings(f"{what} {text[:40]!r} is no number. Write such as 0.25.")
    return value


def _pair(text: str, what: str) -> Place:
    from pegwood.instruments.readings import RefusedReadings

    parts = text.split(",")
    if len(parts) != 2:
        raise RefusedReadings(f"{what} {text[:40]!r} is no place. Write X,Y in mm, such as 15,-10.")
    return _number(parts[0], what) / 1e3, _number(parts[1], what) / 1e3


def _region(text: str) -> Region:
    from pegwood.instruments.focus import Region
    from pegwood.instruments.readings import RefusedReadings

    parts = text.split(",")
    if len(parts) != 4 or not all(part.strip().isdecimal() for part in parts):
        raise RefusedReadings(f"--region {text[:40]!r} is none. Write X,Y,W,H in pixels: 1200,800,400,400.")
    return Region(*(int(part) for part in parts))


def _setting(
    at_unit: str, at_u: float, screws: Sequence[str], format_: str | None, limit_mm: float | None
) -> Setting:
    from pegwood.instruments.focus import Setting, picture_format
    from pegwood.instruments.readings import RefusedReadings

    if not (math.isfinite(at_u) and at_u >= 0):
        raise RefusedReadings(f"--at-u must not be below zero, not {at_u:g}.")
    if limit_mm is not None and not limit_mm > 0:
        raise RefusedReadings(f"--limit-mm must be above zero, not {limit_mm:g}.")
    return Setting(
        UNITS[at_unit],
        at_u,
        tuple(_pair(one, "--screw") for one in screws),
        None if format_ is None else picture_format(format_),
        None if limit_mm is None else limit_mm / 1e3,
    )


def _planned(
    edges: Sequence[Path],
    positions: Sequence[str],
    regions: Sequence[str],
    places: Sequence[str],
    stops: Sequence[str],
) -> list[tuple[Path, float | None, float | None, list[tuple[Region | None, Place | None]]]]:
    """Each photograph with its position, stop, and the regions to look at with their places."""
    from pegwood.instruments.readings import RefusedReadings

    if len(positions) == 1 and len(edges) > 1 and "," in positions[0]:
        positions = positions[0].split(",")
    at = [_number(one, "--at") for one in positions]
    f_numbers = [_number(one.removeprefix("f/"), "--stop") for one in stops]
    if any(one <= 0 for one in f_numbers):
        raise RefusedReadings("An f-number must be above zero, such as 2.8.")
    where = [_region(one) for one in regions]
    on_film = [_pair(one, "--place") for one in places]
    if len(set(on_film)) != len(on_film):
        raise RefusedReadings("Two --place are the same. Give each place once.")
    n = len(edges)
    if len(where) > 1 and len(on_film) != len(where):
        raise RefusedReadings(
            f"{len(where)} regions and {len(on_film)} places: give --place X,Y in mm for each --region."
        )
    each = len(on_film) if len(where) < 2 and len(on_film) > 1 else 1
    if at and len(at) * each == n and each > 1:
        at = [one for one in at for _ in range(each)]
    if at and len(at) != n:
        raise RefusedReadings(
            f"{n} photographs and {len(at)} positions"
            + (f" at {each} places" if each > 1 else "")
            + ": give --at a position for each photograph."
        )
    if len(f_numbers) not in (0, 1, n):
        raise RefusedReadings(f"{n} photographs and {len(f_numbers)} stops: give one, or one for each.")
    plan = []
    for k, file in enumerate(edges):
        if len(where) > 1:
            looked: list[tuple[Region | None, Place | None]] = list(zip(where, on_film, strict=True))
        else:
            looked = [(where[0] if where else None, on_film[k % each] if on_film else None)]
        stop = f_numbers[k if len(f_numbers) > 1 else 0] if f_numbers else None
        plan.append((file, at[k] if at else None, stop, looked))
    return plan


def _shots(
    plan: Sequence[tuple[Path, float | None, float | None, list[tuple[Region | None, Place | None]]]],
) -> tuple[list[Shot], int]:
    from pegwood.instruments.focus import Shot, measure_edge
    from pegwood.instruments.photographs import open_photograph
    from pegwood.instruments.readings import RefusedReadings

    shots, ended = [], 0
    with progress("photographs") as told:
        for k, (file, at, stop, looked) in enumerate(plan):
            try:
                photograph = open_photograph(file)
            except (RefusedReadings, OSError) as error:
                ended = UNREADABLE
                say_why_not(file, error)
                why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
                why = f"{file.name}: {why.removeprefix(file.name + ': ')}"
                shots += [Shot(str(file), at, None, why, place, stop) for _, place in looked]
                continue
            for region, place in looked:
                try:
                    figures, why = measure_edge(photograph, region), ""
                except RefusedReadings as error:
                    figures, why = None, str(error)
                shots.append(Shot(str(file), at, figures, why, place, stop))
            told(k + 1, len(plan))
    return shots, ended


def _confusion(format_: str | None, confusion_mm: float | None) -> float:
    from pegwood.instruments.focus import picture_format
    from pegwood.instruments.readings import RefusedReadings

    if confusion_mm is not None:
        return confusion_mm / 1e3
    if format_ is None:
        raise RefusedReadings("Give --format, such as 24x36, or --confusion-mm: depth of focus rests on it.")
    return picture_format(format_).confusion_m


def _depth(
    focal_m: float, stop: float, format_: str | None, confusion_mm: float | None, said: Sequence[str]
) -> dict[str, Any]:
    from pegwood.instruments import focus as optics
    from pegwood.instruments.plain_data import plain
    from pegwood.instruments.readings import metres

    confusion = _confusion(format_, confusion_mm)
    own = confusion_mm is not None or format_ is None
    kept = None if own or format_ is None else optics.picture_format(format_)
    rows = []
    for one in said:
        distance = metres(one)
        shift = optics.image_shift(focal_m, distance)
        near, far = optics.depth_of_field(focal_m, stop, confusion, distance)
        magnification = shift / focal_m
        rows.append(
            {
                "distance_m": plain(distance),
                "infinity": math.isinf(distance),
                "near_m": near,
                "far_m": plain(far),
                "image_shift_m": shift,
                "depth_of_focus_m": optics.depth_of_focus(stop, confusion, magnification),
            }
        )
    return {
        "focal_m": focal_m,
        "f_number": stop,
        "confusion_m": confusion,
        "confusion_source": "as given" if kept is None else kept.source,
        "confusion_mark": "practice" if kept is None else kept.mark,
        "hyperfocal_m": optics.hyperfocal(focal_m, stop, confusion),
        "depth_of_focus_m": optics.depth_of_focus(stop, confusion),
        "distances": rows,
    }
