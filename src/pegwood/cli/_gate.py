"""Sensors across a gate, as they are given at the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pegwood.cli._open import OneLine

if TYPE_CHECKING:
    from pegwood.instruments.shutter import Sensors


def sensors_across(
    files: tuple[Path, ...],
    sensors: str | None,
    moved: tuple[tuple[float, Path], ...],
    geometry: dict[str, float | None],
    kind: str | None,
    number: int | None,
) -> Sensors | None:
    """The sensors across a gate as they were given; words that would do nothing are refused."""
    given = ["--" + name.replace("_", "-") for name, value in geometry.items() if value is not None]
    asked = "--sensors" if sensors is not None else "--at" if moved else ""
    if not files and not moved:
        raise OneLine("Give at least one recording: pegwood measure shutter FILE.", 2)
    if moved and (sensors is not None or files):
        raise OneLine(
            "With --at each file stands behind its place, --at 0 FILE --at 18 FILE. Leave out --sensors and "
            "other files.",
            2,
        )
    if given and sensors is None:
        raise OneLine(f"{given[0]} needs sensors fired together: --sensors 0,18,36, one channel each.", 2)
    if asked and kind == "leaf":
        raise OneLine(f"{asked} is for focal-plane shutters: a leaf shutter has no curtains.", 2)
    if moved and number is not None:
        raise OneLine(
            "--at is for reading only: one reading of a speed is accepted, not one for each place. "
            "Leave out --job.",
            2,
        )
    if sensors is None:
        return None
    from pegwood.instruments.shutter import RefusedCurtains, Sensors, places_from_mm

    in_metres = {
        name.replace("_mm", "_m"): value / 1e3 if name.endswith("_mm") and value is not None else value
        for name, value in geometry.items()
    }
    try:
        return Sensors(places_m=places_from_mm(sensors), **in_metres)  # type: ignore[arg-type]
    except RefusedCurtains as error:
        raise OneLine(f"{error}.", 2) from None
