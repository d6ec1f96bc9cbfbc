"""What an analysis of shutter firings returns."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Literal

from pegwood.instruments.shutter.contacts import ContactVerdict
from pegwood.instruments.shutter.marked import MarkedSpeed, Reading
from pegwood.instruments.uncertainty import Component, Measured
from pegwood.instruments.verdicts import Limit, Verdict

__all__ = ["AtStop", "Contact", "Curve", "Shot", "ShutterResult", "Summary"]

Coupling = Literal["DC", "AC", "unknown"]


@dataclass(frozen=True)
class Curve:
    """
    Light curve of one firing, thinned for drawing.

    Parameters
    ----------
    t_s : tuple of float, shape (n,)
        Time from first light, [s]; n is at most 400.
    level : tuple of float, shape (n,)
        Light as a fraction of the full-open level, [-].
    marks_s : dict of str to (float or None)
        "first_light", "half_open", "fully_open", "begins_to_close", "half_closed", "
        ""last_light", from first light, [s].
    """

    t_s: tuple[float, ...]
    level: tuple[float, ...]
    marks_s: dict[str, float | None]


@dataclass(frozen=True)
class Shot:
    """
    One firing seen by one channel.

    Parameters
    ----------
    at_s : float
        First light, from the start of the recording, [s].
    channel : int
        Channel, counted from 0.
    effective : Measured
        Effective exposure time: exposure over full-open illuminance, [s].
    total, opening, closing : Measured or None
        First to last light; first light to fully open; beginning to close to last light of the closing, [s].
    efficiency : Measured or None
        Effective over total time, [-]; None where the full-open level was not seen.
    half_height_s : float or None
        Width at half the full-open level, [s]: a second figure only.
    bounce : bool
        True if the blades let in light again after closing.
    bounce_extra_s : float
        What the bounce adds to the effective time (already in it), [s].
    curve : Curve
        For drawing.
    warnings : tuple of str
        What to know about this firing.
    moments : dict of str to Measured
        "first light", and where the shutter opens fully "fully open" and "begins to close", from the start of
        the recording and without its clock's error, [s].
    """

    at_s: float
    channel: int
    effective: Measured
    total: Measured | None
    opening: Measured | None
    closing: Measured | None
    efficiency: Measured | None
    half_height_s: float | None
    bounce: bool
    bounce_extra_s: float
    curve: Curve
    warnings: tuple[str, ...] = ()
    moments: dict[str, Measured] = field(default_factory=dict)


@dataclass(frozen=True)
class Summary:
    """
    All firings of a recording taken as one group of the same marked speed.

    Parameters
    ----------
    n : int
        Firings.
    effective : Measured or None
        Mean effective time, [s].
    spread_ev : float or None
        Sample standard deviation of the firings, [EV]; None for fewer than two.
    range_ev : float or None
        Slowest against fastest firing, [EV]; None for fewer than two.
    error : Measured or None
        log2(mean / marked), [EV]; positive lets in too much light.
    first_firing : Measured or None
        First firing against the mean of the others, [EV]; None for fewer than three.
    verdict : str
        "within", "outside", "too close to call" or "no limit given".
    limit : Limit or None
        The limit that was used.
    """

    n: int
    effective: Measured | None
    spread_ev: float | None
    range_ev: float | None
    error: Measured | None
    first_firing: Measured | None
    verdict: Verdict
    limit: Limit | None


@dataclass(frozen=True)
class AtStop:
    """
    What a leaf shutter gives at one stop, reckoned from its firings at full aperture.

    Parameters
    ----------
    f_number : float
        As marked, [-].
    effective : Measured
        Effective time to expect, [s].
    gain_ev : float
        How much more light that is than at full aperture for the same stop's area, [EV].
    """

    f_number: float
    effective: Measured
    gain_ev: float


@dataclass(frozen=True)
class Contact:
    """
    A flash contact's closing in one firing.

    Parameters
    ----------
    at_s : float
        First closing, from the start of the recording, [s].
    channel : int
        The contact's channel, counted from 0.
    delay : Measured or None
        From closing to the shutter fully open, [s]; positive if the contact closes before that. None where
        full opening was not seen.
    closed : Measured or None
        First closing to last opening, bounces included, [s].
    bounces : int or None
        How often it opened again in between.
    bounce : Measured or None
        How long it was open in between, together, [s].
    verdicts : dict of str to str
        For "electronic", "M" and "FP": "within", "outside", "too close to call" or "cannot tell".
    leads : dict of str to (Measured or None)
        How long before each moment of the light curve it closed, [s].
    asked : tuple of (str, str, str, str)
        Setting, what it asks, whose figure that is, and its mark.
    warnings : tuple of str
        What to know about this closing.
    """

    at_s: float
    channel: int
    delay: Measured | None
    closed: Measured | None
    bounces: int | None
    bounce: Measured | None
    verdicts: dict[str, ContactVerdict]
    leads: dict[str, Measured | None]
    asked: tuple[tuple[str, str, str, str], ...]
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class ShutterResult:
    """
    Everything an analysis found in one recording.

    Parameters
    ----------
    file : str
        Name of the recording.
    method : str
        How the figures were got, with the levels used for reading.
    coupling : "DC", "AC" or "unknown"
        How the sensor was coupled, as far as the record shows.
    sample_rate_hz : float
        Samples per second, [Hz].
    shots : tuple of Shot
        Firings in order of time.
    summary : Summary
        The group.
    warnings, notes : tuple of str
        What stands against the figures; what is merely worth knowing.
    marked : MarkedSpeed or None
        What the dial said.
    reading : "exact" or "as marked"
        How the marking was read.
    at_stops : tuple of AtStop or None
        Smaller stops of a leaf shutter; None where they were not asked for.
    contacts : tuple of Contact or None
        Closings of the flash contact; None where no channel holds one.
    """

    file: str
    method: str
    coupling: Coupling
    sample_rate_hz: float
    shots: tuple[Shot, ...]
    summary: Summary
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    marked: MarkedSpeed | None
    reading: Reading
    at_stops: tuple[AtStop, ...] | None = None
    contacts: tuple[Contact, ...] | None = None

    @property
    def marked_s(self) -> float | None:
        """Time the marking stands for, [s]."""
        return None if self.marked is None else self.marked.seconds(self.reading)

    def to_json(self) -> dict[str, Any]:
        """
        The result as plain data: SI units, every number finite or None.

        Returns
        -------
        data : dict
            Ready for strict JSON.
        """
        return {
            "file": self.file,
            "method": self.method,
            "coupling": self.coupling,
            "sample_rate_hz": _plain(self.sample_rate_hz),
            "marked": None if self.marked is None else self.marked.text,
            "reading": self.reading,
            "marked_s": _plain(self.marked_s),
            "shots": [_shot(shot) for shot in self.shots],
            "summary": _summary(self.summary),
            "warnings": list(self.warnings),
            "notes": list(self.notes),
            **({} if self.at_stops is None else {"at_stops": [_at_stop(one) for one in self.at_stops]}),
            **({} if self.contacts is None else {"contacts": [_contact(one) for one in self.contacts]}),
        }

    def curves_json(self) -> list[dict[str, Any]]:
        """
        A light curve for every firing, for drawing.

        Returns
        -------
        curves : list of dict
            `channel`, `at_s`, `t_s` (from first light, at most 400 points), `level` (fraction of full-open)
            and `marks_s` with the six marks; every number finite or None.
        """
        return [
            {
                "channel": shot.channel,
                "at_s": _plain(shot.at_s),
                "t_s": [_plain(t) for t in shot.curve.t_s],
                "level": [_plain(level) for level in shot.curve.level],
                "marks_s": {name: _plain(t) for name, t in shot.curve.marks_s.items()},
            }
            for shot in self.shots
        ]


def _plain(number: float | None) -> float | None:
    """A number JSON can hold, or None."""
    return None if number is None or not math.isfinite(number) else float(number)


def _value(measured: Measured | None) -> float | None:
    return None if measured is None else _plain(measured.value)


def _u(measured: Measured | None) -> float | None:
    return None if measured is None else _plain(measured.u)


def _df(measured: Measured | None) -> float | None:
    return None if measured is None else _plain(measured.df)


def _interval(measured: Measured | None) -> list[float | None] | None:
    return None if measured is None else [_plain(end) for end in measured.coverage_interval(0.95)]


def _budget(components: Iterable[Component]) -> list[dict[str, Any]]:
    return [
        {
            "name": c.name,
            "u": _plain(c.u),
            "df": _plain(c.df),
            "kind": c.kind,
            "note": c.note,
            "source": c.source or None,
            "mark": c.mark or None,
        }
        for c in components
    ]


def _shot(shot: Shot) -> dict[str, Any]:
    return {
        "at_s": _plain(shot.at_s),
        "effective_s": _value(shot.effective),
        "effective_u_s": _u(shot.effective),
        "effective_df": _df(shot.effective),
        "effective_95_s": _interval(shot.effective),
        "total_s": _value(shot.total),
        "total_u_s": _u(shot.total),
        "opening_s": _value(shot.opening),
        "opening_u_s": _u(shot.opening),
        "closing_s": _value(shot.closing),
        "closing_u_s": _u(shot.closing),
        "half_height_s": _plain(shot.half_height_s),
        "efficiency": _value(shot.efficiency),
        "efficiency_u": _u(shot.efficiency),
        "bounce": shot.bounce,
        "bounce_extra_s": _plain(shot.bounce_extra_s),
        "channel": shot.channel,
        "budget": _budget(shot.effective.budget),
        "warnings": list(shot.warnings),
    }


def _at_stop(one: AtStop) -> dict[str, Any]:
    return {
        "f_number": _plain(one.f_number),
        "effective_s": _value(one.effective),
        "effective_u_s": _u(one.effective),
        "effective_95_s": _interval(one.effective),
        "gain_ev": _plain(one.gain_ev),
        "budget": _budget(one.effective.budget),
    }


def _contact(contact: Contact) -> dict[str, Any]:
    return {
        "at_s": _plain(contact.at_s),
        "channel": contact.channel,
        "delay_s": _value(contact.delay),
        "delay_u_s": _u(contact.delay),
        "delay_95_s": _interval(contact.delay),
        "closed_s": _value(contact.closed),
        "closed_u_s": _u(contact.closed),
        "closed_95_s": _interval(contact.closed),
        "bounces": contact.bounces,
        "bounce_s": _value(contact.bounce),
        "bounce_u_s": _u(contact.bounce),
        "verdict": dict(contact.verdicts),
        "before": {
            moment: {"lead_s": _value(lead), "lead_u_s": _u(lead)} for moment, lead in contact.leads.items()
        },
        "source": [
            {"setting": setting, "asks": asks, "source": source, "mark": mark}
            for setting, asks, source, mark in contact.asked
        ],
        "budget": [] if contact.delay is None else _budget(contact.delay.budget),
        "warnings": list(contact.warnings),
    }


def _summary(summary: Summary) -> dict[str, Any]:
    limit = summary.limit
    return {
        "n": summary.n,
        "effective_s": _value(summary.effective),
        "effective_u_s": _u(summary.effective),
        "effective_df": _df(summary.effective),
        "effective_95_s": _interval(summary.effective),
        "spread_ev": _plain(summary.spread_ev),
        "range_ev": _plain(summary.range_ev),
        "error_ev": _value(summary.error),
        "error_u_ev": _u(summary.error),
        "error_df": _df(summary.error),
        "error_95_ev": _interval(summary.error),
        "first_firing_ev": _value(summary.first_firing),
        "first_firing_u_ev": _u(summary.first_firing),
        "first_firing_df": _df(summary.first_firing),
        "verdict": summary.verdict,
        "limit_low_ev": None if limit is None else _plain(limit.low_ev),
        "limit_high_ev": None if limit is None else _plain(limit.high_ev),
        "limit_source": None if limit is None else limit.source,
        "limit_mark": None if limit is None else limit.mark,
        "limit_note": None if limit is None else limit.note,
        "budget": [] if summary.effective is None else _budget(summary.effective.budget),
    }
