"""
Tests of a measuring chain that need no reference gear: a disc that turns, a screen of known refresh rate.

A disc (`Disc`) says which share of a turn lets light through; a recording of many turns says which share the
chain saw. A screen says how many times a second its picture is renewed; a recording says how many times it
saw that by its own clock.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from pegwood.instruments.plain_data import budget_of, interval_of, plain, u_of, value_of
from pegwood.instruments.shutter.disc import Disc
from pegwood.instruments.shutter.results import Shot, ShutterResult
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Limit, verdict

__all__ = ["Check", "SelfTest", "check_disc", "outcome_of"]

Outcome = Literal["pass", "does not pass", "too close to call"]

EFFECTIVE_PERCENT = 3.0
TOTAL_PERCENT = 10.0
_LIMIT_SOURCE = "Workshop's choice: a small part of the third of an EV that speeds are held to"
_FEWEST_TURNS = 8
_UNEVEN = 0.02
_WITHIN_A_TURN = 0.003
_WITHIN_NOTE = "speed within a turn, which one slot can't show; and from turn to turn, which it does"


@dataclass(frozen=True)
class Check:
    """
    One figure of the chain against what it must be.

    Parameters
    ----------
    name : str
        What was checked.
    found, computed : Measured
        By the recording, and from the measures of the disc or the screen, in `unit`.
    unit : str
        Of both; empty for a share.
    error : Measured
        log2(found / computed), [EV].
    limit : Limit
        How far it may be off, [EV].
    outcome : "pass", "does not pass" or "too close to call"
        By the 95 % interval.
    """

    name: str
    found: Measured
    computed: Measured
    unit: str
    error: Measured
    limit: Limit
    outcome: Outcome

    def to_json(self) -> dict[str, Any]:
        """
        The check as plain data.

        Returns
        -------
        data : dict
            Every number finite or None.
        """
        return {
            "name": self.name,
            "unit": self.unit,
            "found": value_of(self.found),
            "found_u": u_of(self.found),
            "computed": value_of(self.computed),
            "computed_u": u_of(self.computed),
            "error_ev": value_of(self.error),
            "error_u_ev": u_of(self.error),
            "error_95_ev": interval_of(self.error),
            "limit_low_ev": plain(self.limit.low_ev),
            "limit_high_ev": plain(self.limit.high_ev),
            "limit_source": self.limit.source,
            "limit_mark": self.limit.mark,
            "outcome": self.outcome,
            "budget": budget_of(self.error.budget),
        }


@dataclass(frozen=True)
class SelfTest:
    """
    What a test of the chain says.

    Parameters
    ----------
    outcome : "pass", "does not pass" or "too close to call"
        The worst of its checks; never "pass" where something stands against it.
    checks : tuple of Check
        Figure by figure; empty where the recording gave none.
    against : tuple of str
        What stands against a pass, whatever the figures say.
    notes : tuple of str
        What the test does not show, and what is worth knowing.
    period : Measured or None
        Of a turn or a refresh, by the recorder's clock, [s].
    n : int
        Turns or stretches it rests on.
    """

    outcome: Outcome
    checks: tuple[Check, ...]
    against: tuple[str, ...]
    notes: tuple[str, ...]
    period: Measured | None
    n: int

    def to_json(self) -> dict[str, Any]:
        """
        The test as plain data.

        Returns
        -------
        data : dict
            Ready for strict JSON.
        """
        return {
            "outcome": self.outcome,
            "checks": [check.to_json() for check in self.checks],
            "against": list(self.against),
            "notes": list(self.notes),
            "period_s": value_of(self.period),
            "period_u_s": u_of(self.period),
            "n": self.n,
        }


def outcome_of(
    name: str, found: Measured, computed: Measured, unit: str, percent: float, source: str = _LIMIT_SOURCE
) -> Check:
    """
    Hold what was found against what it must be.

    Parameters
    ----------
    name, unit : str
        What, and in which unit.
    found, computed : Measured
        Both in that unit, above zero.
    percent : float
        How far it may be off, above zero, [%].
    source : str
        Whose limit that is.

    Returns
    -------
    check : Check
        With its outcome.
    """
    parts = [*_relative(found), *_relative(computed)]
    error = combine(math.log2(found.value / computed.value), parts)
    reach = math.log2(1 + percent / 100)
    limit = Limit(-reach, reach, source, "practice", f"Meant as {percent:g} %.")
    outcomes: dict[str, Outcome] = {"within": "pass", "outside": "does not pass"}
    return Check(
        name, found, computed, unit, error, limit, outcomes.get(verdict(error, limit), "too close to call")
    )


def _relative(measured: Measured) -> list[Component]:
    return list(measured.scaled(1 / (measured.value * math.log(2))).budget)


def check_disc(
    result: ShutterResult,
    disc: Disc,
    *,
    percent: float = EFFECTIVE_PERCENT,
    total_percent: float = TOTAL_PERCENT,
) -> SelfTest:
    """
    Whether a recording of a turning disc gives the shares that its measures say.

    Parameters
    ----------
    result : ShutterResult
        What `analyse` found in the recording.
    disc : Disc
        Its measures.
    percent, total_percent : float
        How far effective and total time may be off, [%].

    Returns
    -------
    test : SelfTest
        With the reasons.
    """
    shots = [shot for shot in result.shots if shot.channel == result.shots[0].channel] if result.shots else []
    against = _against(result, shots)
    period, unevenness, n = _turns(shots)
    if period is None or n < _FEWEST_TURNS:
        against.append(
            f"{len(shots)} passes of the slot could be measured, and {_FEWEST_TURNS + 1} are the least: "
            "record some seconds of an evenly turning disc, and see what is said against the recording"
        )
        return SelfTest("does not pass", (), tuple(against), tuple(result.warnings), period, n)
    if unevenness > _UNEVEN:
        against.append(
            f"the disc turns unevenly, by {100 * unevenness:.1f} % from turn to turn: use a heavier disc, or "
            "another motor"
        )
    doubt = max(unevenness, _WITHIN_A_TURN)
    source = "Workshop's assumption"
    turning = Component("turning", doubt, note=_WITHIN_NOTE, source=source, mark="practice")
    effective = _share([shot.effective for shot in shots], period, turning)
    checks = [outcome_of("effective time", effective, disc.effective_share(), "", percent)]
    totals = [shot.total for shot in shots if shot.total is not None]
    if len(totals) == len(shots):
        total = _share(totals, period, turning)
        checks.append(outcome_of("total time", total, disc.total_share(), "", total_percent))
    else:
        against.append("the total time of some passes could not be measured")
    return SelfTest(_worst(checks, against), tuple(checks), tuple(against), _notes(checks, disc), period, n)


def _against(result: ShutterResult, shots: Sequence[Shot]) -> list[str]:
    against = []
    if result.coupling == "AC":
        against.append(
            "the input lets the level sag (AC-coupled): what was put right here, at short times, says "
            "nothing of long ones"
        )
    if any(part.name == "clipping" for shot in shots for part in shot.effective.budget):
        against.append("the peaks are cut off: dim the lamp, or turn the input down")
    if len(result.unread) > 0.1 * (len(shots) + len(result.unread)):
        against.append(f"{len(result.unread)} passes could not be measured: {result.unread[0][2]}")
    return against


def _turns(shots: Sequence[Shot]) -> tuple[Measured | None, float, int]:
    """Time of a turn, how unevenly it turns (relative), and turns counted."""
    if len(shots) < 3:
        return None, 0.0, 0
    if all(shot.half_open is not None for shot in shots):
        moments = [shot.half_open for shot in shots if shot.half_open is not None]
        at, doubt = [moment.value for moment in moments], math.hypot(moments[0].u, moments[-1].u)
    else:  # the full-open level was not seen: first light, whose place is less sure
        at = [shot.at_s for shot in shots]
        doubt = math.hypot(shots[0].effective.u, shots[-1].effective.u)
    steps = np.diff(at)
    usual = float(np.median(steps))
    counts = np.maximum(1, np.round(steps / usual))
    n = int(counts.sum())
    period = (at[-1] - at[0]) / n
    unevenness = float(np.std(steps / counts / period, ddof=1))
    return (
        combine(period, [Component("moments", doubt / n, note=f"first and last of {n} turns")]),
        unevenness,
        n,
    )


def _share(times: Sequence[Measured], period: Measured, turning: Component) -> Measured:
    """
    Mean time over that of a turn. The recorder's clock cancels; what all passes share does not average out.
    """
    n = len(times)
    values = np.array([time.value for time in times])
    value = float(values.mean()) / period.value
    scatter = float(values.std(ddof=1)) / math.sqrt(n) / period.value
    parts = [
        Component("repeatability", scatter, n - 1.0, "A", f"{n} passes"),
        Component("period", value * period.u / period.value, note="of a turn"),
        replace(turning, u=value * turning.u),
    ]
    for name in sorted(
        {part.name for time in times for part in time.budget} - {"clock", "noise", "sampling"}
    ):
        found = [part for time in times for part in time.budget if part.name == name]
        parts.append(replace(found[0], u=sum(part.u for part in found) / n / period.value))
    return combine(value, parts)


def _worst(checks: Sequence[Check], against: Sequence[str]) -> Outcome:
    outcomes = {check.outcome for check in checks}
    if "does not pass" in outcomes or any("cut off" in reason for reason in against):
        return "does not pass"
    return "too close to call" if "too close to call" in outcomes or against else "pass"


def _notes(checks: Sequence[Check], disc: Disc) -> tuple[str, ...]:
    told = [
        "The recorder's clock is not tested by this: it measures the slot and the turn alike. A screen of "
        "known refresh rate tests it."
    ]
    total = next((check for check in checks if check.name == "total time"), None)
    if total is not None and total.outcome != "pass" and total.error.value > 0:
        told.append(
            "Edges last longer than computed: the sensor is slow (a smaller load resistor, no "
            "photoresistor), the lamp is broad and near, or the window stands far behind the disc."
        )
    effective = checks[0]
    own = math.sqrt(sum(part.u**2 for part in effective.computed.budget)) / effective.computed.value
    if effective.outcome == "too close to call" and own > 0.4 * effective.error.u * math.log(2):
        told.append(
            "Most of the doubt is in the measures of the disc: measure slot and radius with a caliper."
        )
    if disc.window.value < 0.15 * disc.slot.value:
        told.append(
            "So narrow a window hardly shows whether the sensor is proportional to light: one of half the "
            "slot's width does."
        )
    return tuple(told)
