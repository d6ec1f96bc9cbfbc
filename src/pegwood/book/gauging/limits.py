"""
The limits of the other instruments: what there is, Pegwood's default of each, and the workshop's own.

An instrument joins with one entry of `LIMITS` for each of its limits; the settings' page, `pegwood settings`,
what is kept with a measurement and what the reader is handed all follow from it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal, get_args

from pegwood.book.refusal import Refused
from pegwood.instruments.uncertainty import Mark
from pegwood.instruments.verdicts import Bounds

#: Under which name the limits in use reach a reader, among what was said beside the readings.
KEY = "limits"
OWN_SOURCE = "the workshop's own"
OWN_MARK: Mark = "practice"

Side = Literal["either way", "at most", "at least"]


@dataclass(frozen=True, kw_only=True)
class GaugeLimit:
    """
    One limit of an instrument, as one figure.

    Attributes
    ----------
    key : str
        Instrument and figure with its unit, such as "meter.error_ev": its name in the settings.
    words : str
        What may be so large.
    side : "either way", "at most" or "at least"
        Whether the figure bounds to both sides of zero, from above or from below.
    default : callable
        Pegwood's own, as `Bounds` in the data's unit; imports its instrument when it is called.
    shown : (float, str)
        What the data's unit is multiplied by for a person, and the unit then.
    range : (float, float)
        Smallest and largest figure that makes sense, in the data's unit: beyond, the unit was mistaken.
    """

    key: str
    words: str
    side: Side
    default: Callable[[], Bounds]
    shown: tuple[float, str]
    range: tuple[float, float]

    def __post_init__(self) -> None:
        if self.side not in get_args(Side) or not 0 < self.range[0] < self.range[1]:
            raise ValueError(f"{self.key}: a limit has a side, and a range above zero")

    @property
    def instrument(self) -> str:
        """Whose limit it is: one of `ways.INSTRUMENTS`."""
        return self.key.partition(".")[0]

    def own(self, figure: float) -> Bounds:
        """The workshop's figure as bounds; who meant what by it stays as it is in the default."""
        default = self.default()
        low = None if self.side == "at most" else -figure if self.side == "either way" else figure
        high = None if self.side == "at least" else figure
        return Bounds(low, high, default.unit, OWN_SOURCE, OWN_MARK, default.note)

    def stands(self, own: Mapping[str, float]) -> Bounds:
        """What holds: the workshop's own where it has one, else the default."""
        return self.own(own[self.key]) if self.key in own else self.default()

    def figure_of(self, bounds: Bounds) -> float | None:
        """The one figure that bounds are, in the data's unit."""
        return bounds.low if self.side == "at least" else bounds.high

    def in_words(self, bounds: Bounds) -> str:
        """Bounds for a person: "±0.5 EV", "at most 100 mN m"."""
        figure = self.figure_of(bounds)
        before = "±" if self.side == "either way" else f"{self.side} "
        return "none" if figure is None else f"{before}{figure * self.shown[0]:.4g} {self.shown[1]}"


def _meter(name: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.meter import default_limits

        found: Bounds = getattr(default_limits(), name)
        return found

    return default


def _circle(film_format: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.rangefinder import circle

        found = circle(film_format)
        return Bounds(
            None, found.value, "m", found.source, found.mark, f"circle of confusion of {film_format}"
        )

    return default


def _vertical() -> Bounds:
    from pegwood.instruments.rangefinder import vertical_limit

    return vertical_limit()


def _torque(what: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.transport.friction import limit_of

        return limit_of(what)

    return default


_EV, _MM, _ARCMIN, _MNM = (1.0, "EV"), (1e3, "mm"), (180 * 60 / math.pi, "arcmin"), (1e3, "mN m")

#: Every limit there is, by its key, in the order of the settings' page.
LIMITS: dict[str, GaugeLimit] = {
    one.key: one
    for one in (
        GaugeLimit(key="meter.error_ev", words="Error anywhere on the scale", side="either way",
                   default=_meter("error"), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="meter.hysteresis_ev", words="Light rising less falling", side="either way",
                   default=_meter("hysteresis"), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="meter.scatter_ev", words="Scatter of a reading", side="at most",
                   default=_meter("scatter"), shown=_EV, range=(0.01, 5)),
        *(
            GaugeLimit(key=f"rangefinder.circle_{film_format}_m", words=f"Circle of confusion, {film_format}",
                       side="at most", default=_circle(film_format), shown=_MM, range=(1e-6, 1e-3))
            for film_format in ("135", "18x24", "6x4.5", "6x6", "6x7", "6x9")
        ),
        GaugeLimit(key="rangefinder.vertical_rad", words="Height of one image over the other, at the eye",
                   side="either way", default=_vertical, shown=_ARCMIN, range=(1e-5, 2e-2)),
        GaugeLimit(key="transport.rewind_n_m", words="Torque of rewinding, film in", side="at most",
                   default=_torque("rewind"), shown=_MNM, range=(1e-3, 5)),
        GaugeLimit(key="transport.advance-empty_n_m", words="Torque of advancing, no film", side="at most",
                   default=_torque("advance-empty"), shown=_MNM, range=(1e-3, 5)),
        GaugeLimit(key="transport.advance-film_n_m", words="Torque of advancing, film in", side="at most",
                   default=_torque("advance-film"), shown=_MNM, range=(1e-3, 5)),
    )
}  # fmt: skip


def limits_of(instrument: str) -> tuple[GaugeLimit, ...]:
    """The limits of one instrument, in the order of the settings' page."""
    return tuple(one for one in LIMITS.values() if one.instrument == instrument)


def in_use(instrument: str, own: Mapping[str, float]) -> dict[str, dict[str, Any]]:
    """
    The limits an instrument is read against today, as plain data.

    They are kept with a measurement, so that it reads the same for good.

    Parameters
    ----------
    instrument : str
    own : mapping of str to float
        The workshop's own figures by key (the setting `gauge_limits`), in the data's units.

    Returns
    -------
    limits : dict of str to dict
        By key; the fields of `Bounds`.
    """
    return {one.key: asdict(one.stands(own)) for one in limits_of(instrument)}


def limit_in(said: Mapping[str, Any], key: str) -> Bounds:
    """
    The limit a reading is held against: as it was when the reading was taken in.

    Parameters
    ----------
    said : mapping
        What a reader is handed beside the readings.
    key : str
        One of `LIMITS`.

    Returns
    -------
    limit : Bounds
        Pegwood's default where none was kept: readings of before there were own limits.
    """
    kept = (said.get(KEY) or {}).get(key)
    return LIMITS[key].default() if kept is None else Bounds(**kept)


EXAMPLE = '{"meter.error_ev": 0.3}'


def checked(given: str | Mapping[str, Any]) -> dict[str, float]:
    """
    The workshop's own figures, each one that can be; an empty mapping leaves all defaults.

    Parameters
    ----------
    given : str or mapping
        JSON, or what JSON holds: figures by key, in the data's units.

    Raises
    ------
    Refused
        If a key is unknown or a figure cannot be.
    """
    try:
        held = json.loads(given) if isinstance(given, str) else dict(given)
    except ValueError:
        held = None
    if not isinstance(held, dict):
        raise Refused(f"gauge_limits: expected figures by their keys as JSON, such as {EXAMPLE}.")
    return {str(key): _figure(str(key), value) for key, value in held.items()}


def _figure(key: str, value: Any) -> float:
    if key not in LIMITS:
        raise Refused(f"gauge_limits: there is no limit {key[:60]!r}. There are: {', '.join(LIMITS)}.")
    limit = LIMITS[key]
    low, high = limit.range
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
        scale, unit = limit.shown
        raise Refused(
            f"gauge_limits: {key} is {str(value)[:30]}. Expected a number from {low:g} to {high:g} "
            f"({low * scale:.3g} to {high * scale:.3g} {unit})."
        )
    return float(value)
