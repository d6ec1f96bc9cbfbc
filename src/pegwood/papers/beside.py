"""
What stands beside the speeds, as found and as left: smaller stops, flash contact, both curtains.

From the instrument's plain data to rows of words, for the certificate and the job card alike.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pegwood.instruments.shutter.contacts import CAUTION
from pegwood.papers.figures import stated, stated_error, stated_time

Result = Mapping[str, Any]
NONE = "–"
TAPER, CAPPING = "taper, last place against first", "capping"
HEADLINES = {
    "smaller stops": (),  # the last one: the smallest
    "flash contact": ("for electronic",),
    "both curtains": (TAPER, CAPPING),
}
#: How the labels of what one sensor across the gate says begin.
OF_A_PLACE = ("exposure at ", "slit at ")
#: The gravest first: what is said of all firings together.
GRAVEST = ("outside", "cannot tell", "too close to call", "within", "no limit given")


@dataclass(frozen=True, kw_only=True)
class Side:
    """One side of a row: the figure in words, and the verdict where there is one."""

    text: str = ""
    verdict: str = ""


@dataclass(frozen=True, kw_only=True)
class Row:
    """One figure, as found and as left; None where that was not measured."""

    label: str
    found: Side | None
    left: Side | None


@dataclass(frozen=True, kw_only=True)
class Beside:
    """
    One kind of thing measured beside one speed.

    Parameters
    ----------
    marked : str
        The speed on the dial.
    what : str
        "smaller stops", "flash contact" or "both curtains".
    rows : tuple of Row
    notes : tuple of str
        Whose figures it was held against and by what mark; what could not be had, and why.
    caution : str
        Empty where the work cannot hurt.
    """

    marked: str
    what: str
    rows: tuple[Row, ...]
    notes: tuple[str, ...]
    caution: str = ""

    @property
    def has_found(self) -> bool:
        return any(row.found for row in self.rows)

    @property
    def has_left(self) -> bool:
        return any(row.left for row in self.rows)

    @property
    def headline(self) -> Row:
        """The one row that says most: the smallest stop, electronic flash, the taper or else capping."""
        wanted = HEADLINES.get(self.what)
        if wanted is None:  # of another instrument: it names what says most first
            return self.rows[0]
        rows = {row.label: row for row in self.rows}
        return next((rows[label] for label in wanted if label in rows), self.rows[-1])


def beside(marked: str, found: Result | None, left: Result | None, locale: str) -> tuple[Beside, ...]:
    """
    All that stands beside one speed.

    Parameters
    ----------
    marked : str
        The speed on the dial.
    found, left : mapping or None
        Results as the instrument gave them, before and after the work.
    locale : str
        How figures are written.

    Returns
    -------
    beside : tuple of Beside
        Empty where only the speed itself was measured.
    """
    sides = (found or {}, left or {})
    kinds = (
        ("smaller stops", stops_of, _no_notes, ""),
        ("flash contact", contact_of, contact_notes, CAUTION),
        ("both curtains", curtains_of, curtains_notes, ""),
    )
    shown = []
    for what, sayings, notes, caution in kinds:
        told = [sayings(side, locale) for side in sides]
        rows = tuple(rows_of(told))
        if rows:
            shown.append(
                Beside(
                    marked=marked,
                    what=what,
                    rows=rows,
                    notes=with_their_sides([notes(side) for side in sides]),
                    caution=caution,
                )
            )
    return tuple(shown)


def rows_of(told: Sequence[Mapping[str, Side]]) -> Iterator[Row]:
    """
    In the order of the side that has more to say, then what only the other has.

    What neither could tell is left out: the notes say why.
    """
    found, left = told
    more, less = sorted(told, key=len, reverse=True)
    for label in dict.fromkeys((*more, *less)):
        row = Row(label=label, found=found.get(label), left=left.get(label))
        if any(side is not None and side.text != NONE for side in (row.found, row.left)):
            yield row


def with_their_sides(of_sides: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """What holds for both once; what holds for one with its side."""
    found, left = of_sides
    if not found or not left:
        return tuple(found or left)
    both = [note for note in found if note in left]
    return (
        *both,
        *(f"as found: {note}" for note in found if note not in both),
        *(f"as left: {note}" for note in left if note not in both),
    )


def _no_notes(_: Result) -> tuple[str, ...]:
    return ()


# --- smaller stops ------------------------------------------------------------------------------------


def stops_of(result: Result, locale: str) -> dict[str, Side]:
    """Effective time at each stop, and what it gains over the full aperture, by f-number."""
    stops = result.get("at_stops") or []
    told = {}
    for one in stops:
        text = time_words(one["effective_s"], one["effective_95_s"], locale)
        if one is not stops[0] and (gain := gain_words(stops[0], one, locale)):
            text = f"{text}, {gain}"
        told[f"f/{one['f_number']:g}"] = Side(text=text)
    return told


def gain_words(full: Mapping[str, Any], one: Mapping[str, Any], locale: str) -> str:
    """
    What a stop gains for its size over the full aperture, such as ``+0.41 ± 0.02 EV``.

    The uncertainties of both times are added as if they were independent. They come from the same firings and
    mostly move together, so that this says too much rather than too little.
    """
    shares = [
        half / stop["effective_s"] for stop in (full, one) if (half := half_width(stop["effective_95_s"]))
    ]
    if len(shares) < 2:
        return ""
    return error_words(one["gain_ev"], math.hypot(*shares) / math.log(2), locale)


# --- flash contact ------------------------------------------------------------------------------------


def contact_of(result: Result, locale: str) -> dict[str, Side]:
    """Each setting's verdict over all firings; when the contact closes, how long, and whether it bounces."""
    contacts = result.get("contacts") or []
    if not contacts:
        return {}
    told = {
        f"for {name}": _over_firings([c["verdict"][name] for c in contacts])
        for name in contacts[0]["verdict"]
    }
    told["closes before full opening"] = Side(text=_least_to_most(contacts, "delay_s", "delay_95_s", locale))
    told["stays closed"] = Side(text=_least_to_most(contacts, "closed_s", "closed_95_s", locale))
    bounces = [c["bounces"] for c in contacts if c["bounces"] is not None]
    text = NONE if not bounces else "none" if not any(bounces) else f"up to {max(bounces)} in a firing"
    told["bounces"] = Side(text=text)
    return told


def contact_notes(result: Result) -> tuple[str, ...]:
    """What each setting asks, by whose figures and with what mark; what stands against a closing."""
    contacts = result.get("contacts") or []
    asked = (f"{s['asks']} ({s['source']}; {s['mark']})" for c in contacts for s in c["source"])
    return tuple(dict.fromkeys((*asked, *(warning for c in contacts for warning in c["warnings"]))))


def _over_firings(verdicts: Sequence[str]) -> Side:
    gravest = min(verdicts, key=GRAVEST.index)
    n, of = verdicts.count(gravest), len(verdicts)
    return Side(verdict=gravest, text=f"{n} of {of} firings" if of > 1 else "1 firing")


def _least_to_most(contacts: Sequence[Mapping[str, Any]], name: str, interval: str, locale: str) -> str:
    """The firings' least and greatest value, with the widest of their own intervals."""
    known = [c for c in contacts if c[name] is not None and half_width(c[interval])]
    if not known:
        return NONE
    values = [c[name] for c in known]
    half = max(half_width(c[interval]) for c in known)
    ends = [stated_time(end, half, locale) for end in (min(values), max(values))]
    if ends[0].value == ends[1].value:
        return f"{ends[0].value} ± {ends[0].plus_minus} {ends[0].unit}"
    return f"{ends[0].value} to {ends[1].value} {ends[0].unit} (± {ends[0].plus_minus})"


# --- both curtains ------------------------------------------------------------------------------------

_FIGURES = (
    ("first curtain's travel", "first_travel", "s"),
    ("second curtain's travel", "second_travel", "s"),
    (TAPER, "taper", "ev"),
)


def curtains_of(result: Result, locale: str) -> dict[str, Side]:
    """Travel, taper, exposure and slit at each place, capping, and for what flash covers the gate."""
    curtains = result.get("curtains")
    if not curtains:
        return {}
    told = {label: Side(text=figure_words(curtains, name, unit, locale)) for label, name, unit in _FIGURES}
    for place in curtains["places"]:
        told[f"{OF_A_PLACE[0]}{1e3 * place['at_m']:g} mm"] = Side(
            text=figure_words(place, "effective", "s", locale)
        )
    for place in curtains["places"]:
        if place["slit_m"] is not None:
            told[f"{OF_A_PLACE[1]}{1e3 * place['at_m']:g} mm"] = Side(
                text=figure_words(place, "slit", "m", locale)
            )
    told[CAPPING] = Side(text=curtains["capping"])
    told["flash covers the gate from"] = Side(text=figure_words(curtains, "flash_shortest", "s", locale))
    told["fastest speed for flash"] = Side(text=curtains["flash_marked"] or NONE)
    told["flash covers it at this speed"] = Side(text=curtains["flash_covers"] or NONE)
    return told


def curtains_notes(result: Result) -> tuple[str, ...]:
    """What could not be had of the curtains, and why."""
    withheld = (result.get("curtains") or {}).get("withheld") or {}
    return tuple(f"{what.replace('_', ' ')}: {why}" for what, why in withheld.items())


# --- figures ------------------------------------------------------------------------------------------


def figure_words(data: Mapping[str, Any], name: str, unit: str, locale: str) -> str:
    """
    A figure of the instrument's with its 95 % half-width.

    Parameters
    ----------
    data : mapping
        Holds `name_unit` and `name_95_unit`.
    name : str
    unit : {"s", "ev", "m", "m_s", ""}
        As the instrument's names end: people see ms, EV, mm, m/s, and a share in per cent.
    locale : str

    Returns
    -------
    words : str
        A dash where there is no such figure.
    """
    end = f"_{unit}" if unit else ""
    value, half = data.get(f"{name}{end}"), half_width(data.get(f"{name}_95{end}"))
    if value is None:
        return NONE
    if unit == "s":
        return time_words(value, data.get(f"{name}_95{end}"), locale)
    if unit == "ev":
        return error_words(value, half, locale)
    scale, shown = {"m": (1e3, "mm"), "m_s": (1.0, "m/s"), "": (100.0, "%")}[unit]
    if not half:
        return NONE
    figure = stated(scale * value, scale * half, shown, locale)
    return f"{figure.value} ± {figure.plus_minus} {figure.unit}"


def time_words(seconds: float | None, interval: Iterable[float | None] | None, locale: str) -> str:
    """A time with half its 95 % interval; a dash without one."""
    half = half_width(interval)
    if seconds is None or not half:
        return NONE
    figure = stated_time(seconds, half, locale)
    return f"{figure.value} ± {figure.plus_minus} {figure.unit}"


def error_words(error_ev: float, half_ev: float, locale: str) -> str:
    """A difference in EV with half its 95 % interval; a dash without one."""
    if not half_ev:
        return NONE
    figure = stated_error(error_ev, half_ev, locale)
    return f"{figure.value} ± {figure.plus_minus} {figure.unit}"


def half_width(interval: Iterable[float | None] | None) -> float:
    """Half of an interval; 0 where an end is missing."""
    ends = [end for end in interval or () if end is not None]
    return (ends[1] - ends[0]) / 2 if len(ends) == 2 else 0.0
