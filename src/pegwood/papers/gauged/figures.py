"""Figures of an instrument's answer as they stand in a row: value, half-width, unit, verdict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from pegwood.papers.beside import Side
from pegwood.papers.figures import MINUS, stated, stated_error

__all__ = ["SHOWN", "error_side", "figure_side", "limit_notes", "plain_side"]

#: How a unit of the data is shown: what it is multiplied by, and the unit of the page.
SHOWN: dict[str, tuple[float, str]] = {
    "ev": (1.0, "EV"),
    "m": (1e3, "mm"),
    "dpt": (1.0, "dpt"),
    "rad": (57.29577951308232, "°"),
    "n_m": (1e3, "mN m"),
    "turns": (1.0, "turns"),
    "frames": (1.0, "frames"),
    "per_dpt": (1.0, "/dpt"),
    "percent": (1.0, "%"),
    "nm": (1.0, "N m"),
    "a_per_lx": (1e6, "µA/lx"),
    "": (1.0, ""),
}


def _half_width(result: Mapping[str, Any], name: str, unit: str) -> tuple[float, float] | None:
    """Value and half of its 95 % interval, in the unit of the data; None where either is missing."""
    end = f"_{unit}" if unit else ""
    value, interval = result.get(f"{name}{end}"), result.get(f"{name}_95{end}")
    if value is None or not interval or None in interval:
        return None
    return float(value), (float(interval[1]) - float(interval[0])) / 2


def figure_side(
    result: Mapping[str, Any], name: str, unit: str, locale: str, verdict: str = ""
) -> Side | None:
    """
    A figure with half its 95 % interval, as one side of a row.

    Parameters
    ----------
    result : mapping
        An answer, or a part of one, that holds the figure as `plain_data.figure` writes it.
    name, unit : str
        What it is called there, and its unit there: a key of `SHOWN`.
    locale : str
    verdict : str, optional

    Returns
    -------
    side : Side or None
        None where the instrument refused it.
    """
    found = _half_width(result, name, unit)
    if found is None:
        return None
    scale, shown = SHOWN[unit]
    value, half = found[0] * scale, found[1] * scale
    if half <= 0:
        return Side(text=f"{value:.6g} {shown}".strip(), verdict=verdict)
    told = stated(value, half, shown, locale)
    return Side(text=f"{told.value} ± {told.plus_minus} {told.unit}".strip(), verdict=verdict)


def error_side(
    result: Mapping[str, Any], name: str, locale: str, verdict: str = "", unit: str = "ev"
) -> Side | None:
    """As `figure_side`, always with its sign; an error in EV is never finer than 0.01 EV."""
    found = _half_width(result, name, unit)
    if found is None:
        return None
    if unit == "ev" and found[1] > 0:
        told = stated_error(*found, locale)
        return Side(text=f"{told.value} ± {told.plus_minus} EV", verdict=verdict)
    side = figure_side(result, name, unit, locale, verdict)
    if side is None or found[0] <= 0 or side.text.startswith(("+", "\u2212", "-")):
        return side
    return Side(text=f"+{side.text}", verdict=verdict)


def plain_side(value: float | None, unit: str, _locale: str) -> Side | None:
    """A figure that has no interval of its own, to two digits; None where there is none."""
    return None if value is None else Side(text=f"{Decimal(f'{value:.2g}').normalize():f} {unit}".strip())


def limit_notes(limits: Iterable[Mapping[str, Any]], unit: str, _locale: str) -> Iterator[str]:
    """Whose limit, and by what mark: each once."""
    scale, shown = SHOWN[unit]
    told = set()
    for limit in limits:
        low, high = (
            None if side is None else side * scale
            for side in (limit.get(f"low_{unit}"), limit.get(f"high_{unit}"))
        )
        if low is None or high is None:
            ends = f"at least {low:.3g}" if high is None else f"at most {high:.3g}"
        else:
            ends = f"{low:+.3g} to {high:+.3g}"
        ends = ends.replace("-", MINUS)
        note = f"Limit {ends} {shown}: {limit['source']} ({limit['mark']})."
        if limit.get("note"):
            said = limit["note"].rstrip(".")
            # an f-number begins no sentence with a capital
            note += f" {said if said.startswith('f/') else said[0].upper() + said[1:]}."
        if note not in told:
            told.add(note)
            yield note
