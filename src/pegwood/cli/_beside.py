"""What stands beside the speeds in a shutter's reading: smaller stops and flash contacts, for a person."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console


def show_stops(console: Console, stops: list[dict[str, Any]]) -> None:
    """A small table of what the shutter gives at each stop."""
    from rich import box
    from rich.table import Table

    if not stops:
        return
    table = Table("stop", "effective", "", box=box.SIMPLE)
    for one in stops:
        gain = "" if one is stops[0] else f"{one['gain_ev']:+.2f} EV"
        half = _half_width(one["effective_95_s"])
        table.add_row(f"f/{one['f_number']:g}", _milliseconds(one["effective_s"], half), gain)
    console.print(table)
    console.print(
        "The blades uncover a small stop sooner and cover it later: at the same speed it gets more light "
        "for its size."
    )


def show_contacts(console: Console, contacts: list[dict[str, Any]], channel: int) -> None:
    """When the flash contact closed, what that is good for, and by whose figures."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    from pegwood.instruments.shutter.contacts import CAUTION

    console.print(Text.assemble(("caution:", "bold"), f" {CAUTION}"))
    if not contacts:
        return
    table = Table(box=box.SIMPLE)
    for head in ("to fully open", "closed", "bounces"):
        table.add_column(head, no_wrap=True)
    for setting in contacts[0]["verdict"]:
        table.add_column(setting)
    for one in contacts:
        table.add_row(_delay(one), _closed(one), _bounces(one), *one["verdict"].values())
    console.print(table)
    console.print("To fully open: positive where the contact closes before the shutter is fully open.")
    said = dict.fromkeys((s["asks"], s["source"], s["mark"]) for one in contacts for s in one["source"])
    for asks, source, mark in said:
        console.print(Text(f"{asks} ({source}; {mark})"))
    for warning in dict.fromkeys(w for one in contacts for w in one["warnings"]):
        console.print(Text.assemble(("note:", "bold"), f" contact in channel {channel}: {warning}"))


def _delay(contact: dict[str, Any]) -> str:
    if contact["delay_s"] is None:
        return "–"
    return _milliseconds(contact["delay_s"], _half_width(contact["delay_95_s"]), "+")


def _closed(contact: dict[str, Any]) -> str:
    return "–" if contact["closed_s"] is None else f"{contact['closed_s'] * 1e3:.4g} ms"


def _bounces(contact: dict[str, Any]) -> str:
    if not contact["bounces"]:
        return "–" if contact["bounces"] is None else "0"
    return f"{contact['bounces']} ({contact['bounce_s'] * 1e3:.2f} ms)"


def _half_width(interval: list[float | None] | None) -> float:
    low, high = interval or (None, None)
    return 0.0 if low is None or high is None else (high - low) / 2


def _milliseconds(seconds: float, half_width: float, sign: str = "") -> str:
    """Two digits of the uncertainty, and the value to the same place."""
    value, half = seconds * 1e3, half_width * 1e3
    if half <= 0:
        return f"{value:{sign}.4g} ms"
    digits = min(max(0, 1 - math.floor(math.log10(half))), 4)
    return f"{value:{sign}.{digits}f} ± {half:.{digits}f} ms"
