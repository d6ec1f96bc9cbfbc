"""What an analysis of shutter firings returns."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from pegwood.instruments.plain_data import budget_of, df_of, interval_of, plain, u_of, value_of
from pegwood.instruments.shutter._resolved import resolved_at
from pegwood.instruments.shutter.contacts import ContactVerdict
from pegwood.instruments.shutter.marked import MarkedSpeed, Reading
from pegwood.instruments.uncertainty import Measured
from pegwood.instruments.verdicts import Limit, Verdict

__all__ = ["AtStop", "Contact", "Curve", "Shot", "ShutterResult", "Summary"]

if TYPE_CHECKING:
    from pegwood.instruments.shutter.curtains import Curtains

Coupling = Literal["DC", "AC", "unknown"]
LeftOut = Literal["copy", "trace"]


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
    half_open, half_closed : Measured or None
        When the light passed half of the full-open level, from the start of the recording, [s]; for the
        distance to another instant of the same recording, whose clock's rate is not in the budget. None where
        the full-open level was not seen or is clipped.
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
    half_open: Measured | None = None
    half_closed: Measured | None = None


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
    n_channels : int
        Channels of the recording.
    unread : tuple of (int, float, str)
        Channel, time, [s], and reason for light that was seen and not measured.
    left_out : tuple of (int, "copy" or "trace")
        Channels left out whole: a copy of another, or only a trace of the light.
    curtains : Curtains or None
        What several sensors across a gate say of both curtains, where they were asked.
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
    n_channels: int = 1
    unread: tuple[tuple[int, float, str], ...] = ()
    left_out: tuple[tuple[int, LeftOut], ...] = ()
    curtains: Curtains | None = None

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
            "sample_rate_hz": plain(self.sample_rate_hz),
            "fastest": resolved_at(self.sample_rate_hz).to_json(),
            "marked": None if self.marked is None else self.marked.text,
            "reading": self.reading,
            "marked_s": plain(self.marked_s),
            "shots": [_shot(shot) for shot in self.shots],
            "summary": _summary(self.summary),
            "warnings": list(self.warnings),
            "notes": list(self.notes),
            **({} if self.at_stops is None else {"at_stops": [_at_stop(one) for one in self.at_stops]}),
            **({} if self.contacts is None else {"contacts": [_contact(one) for one in self.contacts]}),
            **({} if self.curtains is None else {"curtains": self.curtains.to_json()}),
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
                "at_s": plain(shot.at_s),
                "t_s": [plain(t) for t in shot.curve.t_s],
                "level": [plain(level) for level in shot.curve.level],
                "marks_s": {name: plain(t) for name, t in shot.curve.marks_s.items()},
            }
            for shot in self.shots
        ]


def _shot(shot: Shot) -> dict[str, Any]:
    return {
        "at_s": plain(shot.at_s),
        "effective_s": value_of(shot.effective),
        "effective_u_s": u_of(shot.effective),
        "effective_df": df_of(shot.effective),
        "effective_95_s": interval_of(shot.effective),
        "total_s": value_of(shot.total),
        "total_u_s": u_of(shot.total),
        "opening_s": value_of(shot.opening),
        "opening_u_s": u_of(shot.opening),
        "closing_s": value_of(shot.closing),
        "closing_u_s": u_of(shot.closing),
        "half_height_s": plain(shot.half_height_s),
        "half_open_s": value_of(shot.half_open),
        "half_open_u_s": u_of(shot.half_open),
        "half_closed_s": value_of(shot.half_closed),
        "half_closed_u_s": u_of(shot.half_closed),
        "efficiency": value_of(shot.efficiency),
        "efficiency_u": u_of(shot.efficiency),
        "bounce": shot.bounce,
        "bounce_extra_s": plain(shot.bounce_extra_s),
        "channel": shot.channel,
        "budget": budget_of(shot.effective.budget),
        "warnings": list(shot.warnings),
    }


def _at_stop(one: AtStop) -> dict[str, Any]:
    return {
        "f_number": plain(one.f_number),
        "effective_s": value_of(one.effective),
        "effective_u_s": u_of(one.effective),
        "effective_95_s": interval_of(one.effective),
        "gain_ev": plain(one.gain_ev),
        "budget": budget_of(one.effective.budget),
    }


def _contact(contact: Contact) -> dict[str, Any]:
    return {
        "at_s": plain(contact.at_s),
        "channel": contact.channel,
        "delay_s": value_of(contact.delay),
        "delay_u_s": u_of(contact.delay),
        "delay_95_s": interval_of(contact.delay),
        "closed_s": value_of(contact.closed),
        "closed_u_s": u_of(contact.closed),
        "closed_95_s": interval_of(contact.closed),
        "bounces": contact.bounces,
        "bounce_s": value_of(contact.bounce),
        "bounce_u_s": u_of(contact.bounce),
        "verdict": dict(contact.verdicts),
        "before": {
            moment: {"lead_s": value_of(lead), "lead_u_s": u_of(lead)}
            for moment, lead in contact.leads.items()
        },
        "source": [
            {"setting": setting, "asks": asks, "source": source, "mark": mark}
            for setting, asks, source, mark in contact.asked
        ],
        "budget": [] if contact.delay is None else budget_of(contact.delay.budget),
        "warnings": list(contact.warnings),
    }


def _summary(summary: Summary) -> dict[str, Any]:
    limit = summary.limit
    return {
        "n": summary.n,
        "effective_s": value_of(summary.effective),
        "effective_u_s": u_of(summary.effective),
        "effective_df": df_of(summary.effective),
        "effective_95_s": interval_of(summary.effective),
        "spread_ev": plain(summary.spread_ev),
        "range_ev": plain(summary.range_ev),
        "error_ev": value_of(summary.error),
        "error_u_ev": u_of(summary.error),
        "error_df": df_of(summary.error),
        "error_95_ev": interval_of(summary.error),
        "first_firing_ev": value_of(summary.first_firing),
        "first_firing_u_ev": u_of(summary.first_firing),
        "first_firing_df": df_of(summary.first_firing),
        "verdict": summary.verdict,
        "limit_low_ev": None if limit is None else plain(limit.low_ev),
        "limit_high_ev": None if limit is None else plain(limit.high_ev),
        "limit_source": None if limit is None else limit.source,
        "limit_mark": None if limit is None else limit.mark,
        "limit_note": None if limit is None else limit.note,
        "budget": [] if summary.effective is None else budget_of(summary.effective.budget),
    }
