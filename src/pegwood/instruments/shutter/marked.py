"""Marked speeds: what the dial says, and the time it stands for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from pegwood.instruments.given import table_beside
from pegwood.instruments.uncertainty import Mark

__all__ = ["SERIES", "MarkedSpeed", "Reading", "Series"]

Reading = Literal["exact", "as marked"]
SpeedKind = Literal["timed", "bulb", "time"]

_SLOWEST_S, _FASTEST_S = 3600, Fraction(1, 32000)
_FRACTION = re.compile(r"1\s*/\s*(\d{1,5})\s*(?:s|sec)?")
_SECONDS = re.compile(r"(\d{1,4}(?:[.,]\d{1,6})?)\s*(s|sec|\"|″)?")


@dataclass(frozen=True)
class Series:
    """
    A series of markings as dials carry it.

    Parameters
    ----------
    key, name : str
        Short key and name for people.
    times : tuple of str
        Markings, slowest first.
    exact_s : dict of str to Fraction
        Time behind a rounded marking, [s]; empty for a series taken at face value.
    source, mark, note : str
        Where the series comes from and how well that is known.
    """

    key: str
    name: str
    times: tuple[str, ...]
    exact_s: dict[str, Fraction]
    source: str
    mark: Mark
    note: str


@dataclass(frozen=True)
class MarkedSpeed:
    """
    One marking of a shutter dial.

    Parameters
    ----------
    text : str
        The marking as it is shown, such as "1/125", "1" or "B".
    kind : "timed", "bulb" or "time"
        Timed by the shutter; B (open while pressed); T (opened and closed by hand).
    nominal_s : Fraction or None
        The marking at face value, [s]; None for B and T.
    """

    text: str
    kind: SpeedKind
    nominal_s: Fraction | None

    @classmethod
    def parse(cls, text: str) -> MarkedSpeed:
        """
        Read a marking as a person writes it.

        Parameters
        ----------
        text : str
            "1/125", "1", "1s", "0.5 s", "B", "T". A bare whole number is seconds and at most 9: "
            ""60" alone might
            mean 1/60 or 60 s and is refused.

        Returns
        -------
        marked : MarkedSpeed
            The marking.

        Raises
        ------
        ValueError
            If it can't be read or is ambiguous; the message says what to write.
        """
        shown = text.strip()
        plain = shown.lower()
        if plain in ("b", "bulb"):
            return cls("B", "bulb", None)
        if plain in ("t", "time"):
            return cls("T", "time", None)
        if match := _FRACTION.fullmatch(plain):
            divisor = int(match[1])
            seconds = Fraction(1, divisor) if divisor else Fraction(0)
            tidy = f"1/{divisor}" if divisor > 1 else "1"
        elif match := _SECONDS.fullmatch(plain):
            seconds = Fraction(match[1].replace(",", "."))
            if not match[2] and seconds >= 10:
                raise ValueError(
                    f"Marked speed {shown!r} may mean 1/{match[1]} or {match[1]} s: write "
                    f"'1/{match[1]}' or '{match[1]}s'"
                )
            tidy = _tidy(seconds)
        else:
            raise ValueError(
                f"Can't read the marked speed {shown!r}: write it as '1/125', '1', '2s', 'B' or 'T'"
            )
        if not _FASTEST_S <= seconds <= _SLOWEST_S:
            raise ValueError(
                f"No shutter is marked {shown!r}: expected a time from 1/32000 s to an hour, such as '1/125'"
            )
        return cls(tidy, "timed", seconds)

    def seconds(self, reading: Reading = "exact") -> float | None:
        """
        The time the marking stands for.

        Parameters
        ----------
        reading : "exact" or "as marked"
            "exact" takes the power of two behind a marking of the doubling series (1/125 is 1/128 s) and
            every other marking at face value; "as marked" takes all at face value.

        Returns
        -------
        time : float or None
            [s]; None for B and T.

        Raises
        ------
        ValueError
            If `reading` is neither.
        """
        if reading not in ("exact", "as marked"):
            raise ValueError(f"A marking is read 'exact' or 'as marked', not {reading!r}")
        if self.nominal_s is None:
            return None
        if reading == "exact":
            return float(SERIES["doubling"].exact_s.get(self.text, self.nominal_s))
        return float(self.nominal_s)


def _tidy(seconds: Fraction) -> str:
    """The usual marking of a time: 1/2 for 0.5 s, 2 for 2 s, 1.5 for 1.5 s."""
    if seconds.numerator == 1 and seconds.denominator > 1:
        return f"1/{seconds.denominator}"
    return str(seconds.numerator) if seconds.denominator == 1 else f"{float(seconds):g}"


def _load() -> dict[str, Series]:
    found = {}
    for row in table_beside(__package__, "series.toml")["series"]:
        exact = {marking: Fraction(value) for marking, value in row.get("exact", {}).items()}
        times = tuple(row.get("times", exact))
        found[row["key"]] = Series(
            row["key"], row["name"], times, exact, row["source"], row["mark"], row["note"]
        )
    return found


SERIES: dict[str, Series] = _load()
"""Known series of markings by key: "doubling", "old front", "old focal-plane"."""
