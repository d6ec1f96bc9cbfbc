"""Which thread a measured screw has."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pegwood.cli._open import OneLine
from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line
from pegwood.trade.numbers import INCH_M

if TYPE_CHECKING:
    from pegwood.trade.answers import Answer
    from pegwood.trade.threads.rows import Crest

ONCE = "Give the pitch once: a second figure (2.48 0.45), --turns 10 --over 4.5, or --tpi 56."


@click.command(epilog="Example: pegwood trade thread 2.48 0.45 --from japan")
@click.argument("diameter", type=float, required=False)
@click.argument("pitch", type=float, required=False)
@click.option(
    "--turns", type=float, metavar="N", help="Instead of the pitch: turns, crest to crest, with --over."
)
@click.option("--over", type=float, metavar="MM", help="The length of those turns.")
@click.option("--u-over", type=float, metavar="MM", help="Its standard uncertainty.  [default: 0.03]")
@click.option("--tpi", type=float, metavar="N", help="Instead of the pitch: threads per inch.")
@click.option("--inch", is_flag=True, help="Diameter, pitch, lengths and their uncertainties are in inches.")
@click.option("--angle", type=float, metavar="DEGREES", help="The angle between the flanks, if measured.")
@click.option("--u-angle", type=float, metavar="DEGREES", help="Its standard uncertainty.  [default: 2]")
@click.option("--crest", type=click.Choice(["flat", "rounded"]), help="The form of the crests, if seen.")
@click.option("--from", "origin", metavar="ORIGIN", help="japan, continent, britain, america or watch.")
@click.option("--u-diameter", type=float, metavar="MM", help="Its standard uncertainty.  [default: 0.02]")
@click.option("--u-pitch-percent", type=float, metavar="PERCENT", help="Of the pitch.  [default: 2]")
@click.option(
    "--photo",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Instead of all figures: the screw from the side on a light ground.",
)
@click.option("--mm-per-px", type=float, metavar="MM", help="The photograph's scale.")
@click.option("--u-scale-percent", type=float, metavar="PERCENT", help="Of the scale.  [default: 0.5]")
@json_option
def thread(
    diameter: float | None,
    pitch: float | None,
    turns: float | None,
    over: float | None,
    u_over: float | None,
    tpi: float | None,
    inch: bool,
    angle: float | None,
    u_angle: float | None,
    crest: Crest | None,
    origin: str | None,
    u_diameter: float | None,
    u_pitch_percent: float | None,
    photo: Path | None,
    mm_per_px: float | None,
    u_scale_percent: float | None,
    as_json: bool,
) -> None:
    """Ask which thread a measured screw has."""
    from pegwood.trade.threads import tell_thread
    from pegwood.trade.threads.measured import U_ANGLE_DEG, U_DIAMETER_M

    unit = INCH_M if inch else 1e-3
    with told_in_one_line():
        if photo is not None:
            figures = (diameter, pitch, turns, over, u_over, tpi, angle, u_angle, u_diameter, u_pitch_percent)
            if any(one is not None for one in figures):
                raise ValueError(
                    "Give figures or --photo, not both: the photograph tells diameter, pitch and angle."
                )
            answer = _from_photo(photo, mm_per_px, u_scale_percent, crest, origin)
        elif diameter is None:
            raise ValueError("Give the outside diameter and the pitch in millimetres, such as 2.48 0.45.")
        else:
            pitch_m, u_pitch_m = _pitch(pitch, turns, over, u_over, tpi, unit)
            if u_pitch_percent is not None:
                u_pitch_m = pitch_m * u_pitch_percent / 100
            answer = tell_thread(
                reference(),
                diameter * unit,
                pitch_m,
                u_diameter_m=U_DIAMETER_M if u_diameter is None else u_diameter * unit,
                u_pitch_m=u_pitch_m,
                angle_deg=angle,
                u_angle_deg=U_ANGLE_DEG if u_angle is None else u_angle,
                crest=crest,
                origin=origin,
            )
    show(answer, as_json)


def _pitch(
    pitch: float | None,
    turns: float | None,
    over: float | None,
    u_over: float | None,
    tpi: float | None,
    unit: float,
) -> tuple[float, float | None]:
    """Pitch and its standard uncertainty, where given, [m], from whichever way it was told."""
    from pegwood.trade.threads import pitch_of_turns

    if sum(given is not None for given in (pitch, turns, tpi)) != 1:
        raise ValueError(ONCE)
    if turns is not None:
        if over is None:
            raise ValueError(
                "--turns needs --over, the length of those turns, such as --turns 10 --over 4.5."
            )
        return pitch_of_turns(turns, over * unit, 0.03e-3 if u_over is None else u_over * unit)
    if tpi is not None:
        if not tpi > 0:
            raise ValueError(f"{tpi:g} threads per inch. Give a number above zero, such as --tpi 56.")
        return INCH_M / tpi, None
    return (pitch or 0.0) * unit, None


def _from_photo(
    photo: Path,
    mm_per_px: float | None,
    u_scale_percent: float | None,
    crest: Crest | None,
    origin: str | None,
) -> Answer:
    from pegwood.trade.threads.picture import ADD_IT, U_SCALE_SHARE, can_read_pictures, read_screw
    from pegwood.trade.threads.picture.telling import tell_picture

    if not can_read_pictures():
        raise OneLine(ADD_IT)
    if mm_per_px is None:
        raise ValueError(
            "--photo needs --mm-per-px, its scale: photograph a ruler at the same distance and divide its "
            "millimetres by the pixels they cover."
        )
    from pegwood.cli.trade._picture import brightness_of

    share = U_SCALE_SHARE if u_scale_percent is None else u_scale_percent / 100
    return tell_picture(
        reference(), read_screw(brightness_of(photo), mm_per_px * 1e-3, share), crest=crest, origin=origin
    )
