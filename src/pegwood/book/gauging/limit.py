"""One limit of an instrument: its default, the workshop's own, and how both are said."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from pegwood.instruments.uncertainty import Mark
from pegwood.instruments.verdicts import Bounds

__all__ = ["GaugeLimit", "Side"]

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
    also : tuple of str
        Further instruments that are held against it.
    """

    key: str
    words: str
    side: Side
    default: Callable[[], Bounds]
    shown: tuple[float, str]
    range: tuple[float, float]
    also: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.side not in get_args(Side) or not 0 <= self.range[0] < self.range[1]:
            raise ValueError(f"{self.key}: a limit has a side, and a range from zero up")
        if self.side != "at least" and self.range[0] == 0:
            raise ValueError(f"{self.key}: nothing is within a limit of zero")

    @property
    def instrument(self) -> str:
        """Whose limit it is: one of `ways.INSTRUMENTS`."""
        return self.key.partition(".")[0]

    def is_of(self, instrument: str) -> bool:
        """Whether an instrument is held against it."""
        return instrument in (self.instrument, *self.also)

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
        return "none" if figure is None else f"{before}{figure * self.shown[0]:.3g} {self.shown[1]}"
