"""
A diary entry as somebody reads it: what happened, and what it was before. Pure.

Entries hold plain values under the names of columns; here they get their words back.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from pegwood.book.states import Standing
from pegwood.pricing.money import Money, MoneyError
from pegwood.web import words

#: Of use to a machine only: numbers of rows, hashes, what the words of the entry say already.
HIDDEN = frozenset(
    {
        *("finding", "photo", "measurement", "owner", "currency", "sha256", "budget", "before"),
        *("taken_off", "step", "family_part", "spare", "donor", "narration", "proposal", "word"),
    }
)
SAID = {
    "price_minor": "price",
    "agreed_up_to_minor": "agreed up to",
    "paid_minor": "paid",
    "total_minor": "sum",
    "deposit_minor": "deposit",
    "valid_until": "stands until",
    "goes_back": "goes back",
    "standing": "stands at",
    "promised_on": "promised for",
    "year_made": "year",
    "lens_serial": "lens no.",
    "serial": "no.",
    "family": "kind",
    "n": "firings",
    "effective_s": "effective",
    "contact": "flash contact in channel",
    "widest": "wide open at f/",
    "places_m": "sensors at",
    "gate_m": "gate",
    "sensor_m": "window of a sensor",
    "gap_m": "curtain to film",
    "how_many": "how many",
    "on_the_shelf": "on the shelf then",
    "cost_minor": "cost",
    "worth_minor": "worth",
    "good_from": "of use from",
    "f_number": "stop f/",
}
LONGEST = 160


@dataclass(frozen=True)
class Change:
    """One value of an entry: its name, what it was before (empty where nothing was) and what it is."""

    name: str
    old: str
    new: str


def changes(
    old: Mapping[str, Any] | None, new: Mapping[str, Any] | None, locale: str, currency: str
) -> list[Change]:
    """
    What an entry says beside its words, line by line.

    Parameters
    ----------
    old, new : mapping
        As the diary keeps them.
    locale, currency : str
        How money and days are written; the money of entries that do not name theirs.
    """
    before, after = dict(_flat(old or {})), dict(_flat(new or {}))
    currency = str((new or old or {}).get("currency") or currency)
    found = []
    for name in [*before, *(name for name in after if name not in before)]:
        was = _value(name, before.get(name), locale, currency)
        now = _value(name, after.get(name), locale, currency)
        if (was or now) and was != now:
            found.append(Change(SAID.get(name, name.replace("_", " ").replace(".", ": ")), was, now))
    return found


def _flat(values: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for name, value in values.items():
        if name in HIDDEN or name.endswith(("_u_s", "_u_ev", "_95_s", "_95_ev")):
            continue
        if isinstance(value, Mapping):
            yield from _flat(value)
        else:
            yield name, value


def _value(name: str, value: Any, locale: str, currency: str) -> str:
    if value is None or value == "" or value == []:
        return ""
    if (name.endswith("_minor") or name == "hourly_rate") and isinstance(value, int):
        return _money(value, currency, locale)
    if name.endswith("_on") or name.endswith("_until"):
        return _day(value, locale)
    if name.endswith("_m"):
        return f"{', '.join(f'{1e3 * length:g}' for length in _as_list(value))} mm"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.4g}".replace("-", "−")
    if isinstance(value, list):
        return "; ".join(_line(one, locale, currency) for one in value)
    text = str(value)
    return text if len(text) <= LONGEST else f"{text[:LONGEST].rstrip()}…"


def _as_list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _line(one: Any, locale: str, currency: str) -> str:
    """A line of a price as the diary keeps it, [what, ..., amount in minor units]; anything else as it is."""
    if isinstance(one, list) and len(one) > 1 and isinstance(one[-1], int):
        return f"{one[0]} {_money(one[-1], currency, locale)}"
    return str(one)


def _money(minor: int, currency: str, locale: str) -> str:
    try:
        return Money(minor, currency).format(locale)
    except MoneyError:
        return f"{minor} (minor units)"


def _day(value: Any, locale: str) -> str:
    try:
        return words.day(date.fromisoformat(str(value)), locale)
    except ValueError:
        return str(value)


def is_move(new: Mapping[str, Any] | None) -> bool:
    """Whether an entry took the job on, to another place on its gauge."""
    return (new or {}).get("standing") in set(Standing)
