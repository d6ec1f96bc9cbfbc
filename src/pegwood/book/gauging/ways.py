"""Every way of gauging there is: what it takes, and which instrument reads it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, BinaryIO, Literal

from pegwood.book.models import Measurement
from pegwood.book.refusal import Refused

Takes = Literal["figures", "photographs"]
INSTRUMENTS = ("meter", "iris", "focus", "rangefinder", "transport", "leaks", "glass")


@dataclass(frozen=True)
class GaugeFile:
    """One file of a gauging: where it lies or what it holds, what it was called, its kind."""

    source: Path | BinaryIO
    name: str
    media_type: str


Reader = Callable[[Sequence[GaugeFile], Mapping[str, Any]], dict[str, Any]]


@dataclass(frozen=True, kw_only=True)
class Way:
    """
    One way of gauging.

    Attributes
    ----------
    id : str
        Its name in addresses and in the book: "meter", "rangefinder".
    instrument : str
        One of `INSTRUMENTS`; several ways may be one instrument's.
    words : str
        What is measured, as the diary and the page say it: "exposure meter".
    takes : "figures" or "photographs"
    fewest, most : int
        How many files.
    columns : tuple of str
        The names of the figures' columns, for typed readings.
    reader : str
        "module:function" of what reads it; imported when it is first used.
    marked : str
        What the mark is called that it may be about, such as "stop"; empty where there is one reading of a
        camera.
    always_marked : str
        What is said behind the words in place of a mark: "diaphragm set twice". A name and no more: readings
        of two ways are told apart by the way itself.
    """

    id: str
    instrument: str
    words: str
    takes: Takes
    reader: str
    fewest: int = 1
    most: int = 1
    columns: tuple[str, ...] = ()
    marked: str = ""
    always_marked: str = ""

    def __post_init__(self) -> None:
        if self.marked and self.always_marked:
            raise ValueError(f"{self.id}: a mark is told, or always the same.")

    def read(self, files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
        """
        What the instrument answers, as plain data.

        Raises
        ------
        RefusedReadings
            If it refuses the whole of it; one line.
        """
        module, _, name = self.reader.partition(":")
        reader: Reader = getattr(import_module(module), name)
        return reader(files, said)


_READERS = "pegwood.book.gauging.readers."
WAYS: dict[str, Way] = {
    way.id: way
    for way in (
        Way(
            id="meter",
            instrument="meter",
            words="exposure meter",
            takes="figures",
            columns=("reference_ev", "shown_ev", "direction"),
            reader=_READERS + "meter:read",
        ),
        Way(
            id="rangefinder",
            instrument="rangefinder",
            words="rangefinder",
            takes="figures",
            columns=("true_m", "shown_m", "round"),
            reader=_READERS + "rangefinder:read",
        ),
        Way(
            id="take-up",
            instrument="transport",
            words="take-up spool",
            takes="figures",
            columns=("core_mm",),
            reader=_READERS + "take_up:read",
        ),
        Way(
            id="friction",
            instrument="transport",
            words="torque",
            takes="figures",
            columns=("force_n",),
            reader=_READERS + "friction:read",
            marked="part that turns",
        ),
        Way(
            id="iris-photo",
            instrument="iris",
            words="diaphragm",
            takes="photographs",
            most=4,
            reader=_READERS + "iris:photographed",
            marked="stop",
        ),
        Way(
            id="iris-calliper",
            instrument="iris",
            words="diaphragm by calliper",
            takes="figures",
            columns=("marked", "diameter_mm", "direction"),
            reader=_READERS + "iris:by_calliper",
        ),
        Way(
            id="iris-returns",
            instrument="iris",
            words="diaphragm",
            takes="photographs",
            fewest=2,
            most=2,
            reader=_READERS + "iris:set_twice",
            always_marked="set twice",
        ),
        Way(
            id="glass-side",
            instrument="glass",
            words="glass",
            takes="photographs",
            reader=_READERS + "glass:side_lit",
        ),
        Way(
            id="glass-cleaned",
            instrument="glass",
            words="glass",
            takes="photographs",
            fewest=2,
            most=2,
            reader=_READERS + "glass:cleaned",
            always_marked="cleaned",
        ),
        Way(
            id="glass-glare",
            instrument="glass",
            words="glass",
            takes="photographs",
            most=2,
            reader=_READERS + "glass:glare",
            always_marked="glare",
        ),
        Way(
            id="transport-strip",
            instrument="transport",
            words="frame spacing",
            takes="photographs",
            reader=_READERS + "strip:spacing",
        ),
        Way(
            id="leaks",
            instrument="leaks",
            words="light leaks",
            takes="photographs",
            reader=_READERS + "strip:leaks",
        ),
        Way(
            id="meter-matched",
            instrument="meter",
            words="needle-matched exposure meter",
            takes="figures",
            columns=("reference_ev", "shown_f_number", "shown_time", "direction"),
            reader=_READERS + "meter:read",
        ),
        Way(
            id="meter-cell",
            instrument="meter",
            words="pair of meter cells",
            takes="figures",
            columns=("illuminance_lx", "in_the_camera_ua", "spare_ua"),
            reader=_READERS + "meter:read_cells",
        ),
        Way(
            id="focus-scale",
            instrument="focus",
            words="distance scale",
            takes="figures",
            columns=("marked_m", "found_m", "error_mm"),
            reader=_READERS + "focus:read_scale",
            always_marked="infinity to near",
        ),
        Way(
            id="focus-flange",
            instrument="focus",
            words="register",
            takes="figures",
            columns=("depth_mm", "x_mm", "y_mm", "to"),
            reader=_READERS + "focus:read_flange",
            always_marked="flange to film",
        ),
        Way(
            id="focus-edge",
            instrument="focus",
            words="sharpness",
            takes="photographs",
            fewest=4,
            most=30,
            reader=_READERS + "focus:read_edge",
            always_marked="through focus",
        ),
        Way(
            id="focus-tilt",
            instrument="focus",
            words="tilt",
            takes="photographs",
            fewest=4,
            most=30,
            reader=_READERS + "focus_series:read_tilt",
            always_marked="five places",
        ),
        Way(
            id="focus-stops",
            instrument="focus",
            words="focus shift",
            takes="photographs",
            fewest=8,
            most=50,
            reader=_READERS + "focus_series:read_stops",
            always_marked="with the stop",
        ),
    )
}


def way_of(measurement: Measurement) -> Way | None:
    """The way a measurement was taken; None of a shutter, and of a way that this Pegwood does not know."""
    return WAYS.get(str(measurement.settings.get("way", "")))


def way_called(name: str) -> Way:
    """
    A way by its name.

    Raises
    ------
    Refused
        If there is none.
    """
    if name not in WAYS:
        raise Refused(f"Nothing is gauged as {name[:40]!r}. There are: {', '.join(WAYS)}.")
    return WAYS[name]
