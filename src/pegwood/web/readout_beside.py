"""What stands beside a reading's time: a contact's closings, places across the gate. Pure: data to text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pegwood.book.arrangement import Arrangement
from pegwood.papers.beside import NONE, figure_words, time_words


@dataclass(frozen=True, kw_only=True)
class Closing:
    """A flash contact's closing in one firing, as a row of a table."""

    number: int
    at: str
    delay: str
    closed: str
    bounces: str
    verdicts: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Place:
    """What one sensor across the gate saw, as a row of a table."""

    at: str
    opens: str
    closes: str
    effective: str
    first_speed: str
    second_speed: str
    slit: str
    slit_efficiency: str


def settings_of_contact(result: Mapping[str, Any]) -> tuple[str, ...]:
    """Settings that a contact was judged for, in the order of `Closing.verdicts`."""
    contacts = result.get("contacts") or [{"verdict": {}}]
    return tuple(contacts[0]["verdict"])


def closings(result: Mapping[str, Any], locale: str) -> tuple[Closing, ...]:
    """Every closing of the flash contact, in words."""
    return tuple(
        Closing(
            number=number,
            at=f"{one['at_s']:.2f} s",
            delay=time_words(one["delay_s"], one["delay_95_s"], locale),
            closed=time_words(one["closed_s"], one["closed_95_s"], locale),
            bounces=_bounces(one, locale),
            verdicts=tuple(one["verdict"].values()),
        )
        for number, one in enumerate(result.get("contacts") or (), 1)
    )


def _bounces(one: Mapping[str, Any], locale: str) -> str:
    if one["bounces"] is None:
        return NONE
    if not one["bounces"]:
        return "none"
    u = one["bounce_u_s"] or 0.0
    interval = None if one["bounce_s"] is None else (one["bounce_s"] - 1.96 * u, one["bounce_s"] + 1.96 * u)
    return f"{one['bounces']}, open for {time_words(one['bounce_s'], interval, locale)}"


def places(result: Mapping[str, Any], locale: str) -> tuple[Place, ...]:
    """Every place across the gate, in words."""
    found = (result.get("curtains") or {}).get("places") or ()
    return tuple(
        Place(
            at=f"{1e3 * one['at_m']:g} mm",
            opens="0 ms" if one.get("opens_s") == 0 else figure_words(one, "opens", "s", locale),
            closes=figure_words(one, "closes", "s", locale),
            effective=figure_words(one, "effective", "s", locale),
            first_speed=figure_words(one, "first_speed", "m_s", locale),
            second_speed=figure_words(one, "second_speed", "m_s", locale),
            slit=figure_words(one, "slit", "m", locale),
            slit_efficiency=figure_words(one, "slit_efficiency", "", locale),
        )
        for one in found
    )


def place_of_channel(result: Mapping[str, Any], channel: int) -> str:
    """Where the sensor of a channel sits; empty where channels are no places."""
    found = (result.get("curtains") or {}).get("places") or ()
    return next((f"{1e3 * one['at_m']:g} mm" for one in found if one["channel"] == channel), "")


def arrangement_words(settings: Mapping[str, Any]) -> str:
    """How a recording was made, in one line; empty for one light channel."""
    said = Arrangement.of(settings)
    words = []
    if said.contact is not None:
        words.append(f"flash contact in channel {said.contact}")
    if said.widest is not None:
        words.append(f"lens wide open at f/{said.widest:g}")
    if said.places_m:
        words.append(f"sensors at {', '.join(f'{1e3 * place:g}' for place in said.places_m)} mm")
    lengths = (("gate", said.gate_m), ("window of a sensor", said.sensor_m), ("curtain to film", said.gap_m))
    words += [f"{name} {1e3 * length:g} mm" for name, length in lengths if length is not None]
    if said.f_number is not None:
        words.append(f"stop f/{said.f_number:g}")
    return "; ".join(words)
