"""How a recording was made: what each channel holds, the lens it was made with, where the sensors sat."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

from pegwood.book.refusal import Refused
from pegwood.instruments.shutter import RefusedCurtains, Sensors
from pegwood.instruments.shutter.stops import stops_below

MOST_CHANNELS = 64
KEY = "arrangement"
"""Its name among the settings of a measurement."""
_GEOMETRY = ("gate_m", "sensor_m", "gap_m", "f_number")


@dataclass(frozen=True, kw_only=True)
class Arrangement:
    """
    What the instrument has to be told of a recording beside its samples. Nothing: one light channel.

    Parameters
    ----------
    contact : int or None
        Channel that holds a flash contact, counted from 0.
    widest : float or None
        f-number of a leaf shutter's lens, wide open, [-]: asks for the smaller stops.
    places_m : tuple of float
        Sensors across the gate, one for each channel, along the travel, [m].
    gate_m, sensor_m, gap_m, f_number : float or None
        What more is known of the gate: see `pegwood.instruments.shutter.Sensors`.
    """

    contact: int | None = None
    widest: float | None = None
    places_m: tuple[float, ...] = ()
    gate_m: float | None = None
    sensor_m: float | None = None
    gap_m: float | None = None
    f_number: float | None = None

    @property
    def sensors(self) -> Sensors | None:
        """
        The sensors across the gate; None where there is one light channel.

        Raises
        ------
        RefusedCurtains
            If the numbers can't be those of a gate.
        """
        if not self.places_m:
            return None
        return Sensors(places_m=self.places_m, **{name: getattr(self, name) for name in _GEOMETRY})

    @classmethod
    def from_gate(
        cls, sensors: Sensors | None, *, contact: int | None = None, widest: float | None = None
    ) -> Arrangement:
        """
        The arrangement of sensors that are known already.

        Parameters
        ----------
        sensors : Sensors or None
            Across the gate.
        contact, widest : int and float or None
            As for the arrangement itself.
        """
        if sensors is None:
            return cls(contact=contact, widest=widest)
        geometry = {name: getattr(sensors, name) for name in _GEOMETRY}
        return cls(contact=contact, widest=widest, places_m=sensors.places_m, **geometry)

    def check(self, shutter: str) -> None:
        """
        Refuse what would do nothing, contradicts itself or does not fit the kind of shutter.

        Parameters
        ----------
        shutter : str
            ``"leaf"``, ``"focal-plane"``, or empty where the kind is not known.

        Raises
        ------
        Refused
            In one line.
        """
        across = bool(self.places_m)
        if shutter == "leaf" and across:
            raise Refused(
                "Sensors across a gate are for focal-plane shutters: a leaf shutter has no curtains."
            )
        if shutter == "focal-plane" and self.widest is not None:
            raise Refused("Smaller stops are for a leaf shutter. Leave out the stop it was recorded at.")
        if across and (self.contact is not None or self.widest is not None):
            raise Refused(
                "A flash contact and smaller stops need one light channel. Leave them out, or the sensors."
            )
        if self.contact is not None and not 0 <= self.contact < MOST_CHANNELS:
            raise Refused(f"No channel {self.contact} for the contact: channels count from 0.")
        if not across and any(getattr(self, name) is not None for name in _GEOMETRY):
            raise Refused("Gate, window, distance and stop need the sensors' places: such as 0, 18, 36.")
        self._check_numbers()

    def check_channels(self, n: int) -> None:
        """
        Refuse a recording whose channels are not those of the arrangement.

        Parameters
        ----------
        n : int
            Channels of the recording.

        Raises
        ------
        Refused
            In one line.
        """
        channels = f"{n} channel{'s' if n > 1 else ''}"
        if self.places_m and n != len(self.places_m):
            raise Refused(
                f"{len(self.places_m)} places were given and the recording has {channels}: give one place "
                "for each channel, in their order."
            )
        if self.contact is not None and not self.contact < n:
            raise Refused(
                f"The recording has {channels}, and no channel {self.contact} for the contact: they count "
                "from 0, and the light needs one of its own."
            )
        if self.contact is not None and n < 2:
            raise Refused("One channel only. Record the light and the contact in a channel each.")

    def _check_numbers(self) -> None:
        numbers = [*self.places_m, *(getattr(self, name) for name in (*_GEOMETRY, "widest"))]
        if not all(math.isfinite(number) for number in numbers if number is not None):
            raise Refused("Lengths and stops are plain numbers, such as 36 or 2.8.")
        try:
            if self.widest is not None:
                stops_below(self.widest)
            _ = self.sensors
        except (RefusedCurtains, ValueError) as error:
            raise Refused(f"{str(error).rstrip('.')}.") from None

    def to_settings(self) -> dict[str, Any]:
        """What was said of it, as plain data in SI units; nothing where nothing was."""
        said = {name: value for name, value in asdict(self).items() if value not in (None, ())}
        if "places_m" in said:
            said["places_m"] = list(self.places_m)
        return {KEY: said} if said else {}

    @classmethod
    def of(cls, settings: Mapping[str, Any]) -> Arrangement:
        """
        The arrangement in a measurement's settings.

        Parameters
        ----------
        settings : mapping
            As `Measurement.settings` holds them; a name this Pegwood does not know is left aside.

        Returns
        -------
        arrangement : Arrangement
        """
        known = {field.name for field in fields(cls)}
        said = {name: value for name, value in settings.get(KEY, {}).items() if name in known}
        return cls(**{**said, "places_m": tuple(said.get("places_m", ()))})
