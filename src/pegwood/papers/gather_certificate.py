"""From accepted readings of the shutter to the content of its certificate."""

from __future__ import annotations

import math
import re
from collections.abc import Container, Iterable
from statistics import fmean
from typing import Any, Literal, cast

from pegwood.book.calibrated import KEY as CALIBRATIONS
from pegwood.book.calibrated import note_of
from pegwood.book.models import Job, Measurement
from pegwood.book.taken import Taken
from pegwood.instruments.shutter import default_limits
from pegwood.papers import figures
from pegwood.papers.beside import beside
from pegwood.papers.content import (
    Beside,
    Calibrated,
    Certificate,
    Gear,
    Held,
    Limit,
    Reading,
    Refusal,
    Share,
    Speed,
)
from pegwood.papers.desk import Desk, RefusedPaper, camera_of, head_of, owner_of
from pegwood.papers.gather_gauged import gauged_of, rows_of

Sides = dict[str, Measurement]
_ALLOWED = re.compile(r"within (\d+) ppm")
_ALLOWED_IN_METHOD = re.compile(r" ?Clock within \d+ ppm\.")


def certificate(job: Job, desk: Desk) -> Certificate:
    """
    The shutter as found and as left, and what other instruments read.

    Parameters
    ----------
    job : Job
    desk : Desk

    Returns
    -------
    certificate : Certificate

    Raises
    ------
    RefusedPaper
        When nothing that was measured was accepted, or readings of one job were held against different
        targets.
    """
    taken = list(
        job.measurements.filter(instrument="shutter", set_aside=False).select_related("gear", "recording")
    )
    accepted = [m for m in taken if m.phase]
    others = gauged_of(job, desk)
    if not accepted and not others:
        raise RefusedPaper("No reading was accepted yet. Accept at least one, as found or as left.")
    dial: dict[str, Sides] = {}
    for measurement in accepted:
        dial.setdefault(measurement.marked, {})[measurement.phase] = measurement
    timed = {
        marked: sides
        for marked, sides in ((marked, _with_a_time(sides)) for marked, sides in dial.items())
        if sides and _first(sides)["marked_s"] is not None
    }
    return Certificate(
        head=head_of(job, desk),
        owner=owner_of(job),
        camera=camera_of(job, desk),
        target=_target(timed or dial) if dial else cast(Literal["exact", "as marked"], desk.shop.reading),
        speeds=tuple(
            sorted(
                (_speed(marked, sides, desk) for marked, sides in timed.items()), key=lambda s: -s.target_s
            )
        ),
        held=tuple(
            _held(marked, sides, desk) for marked, sides in dial.items() if _first(sides)["marked_s"] is None
        ),
        beside=_beside(dial, desk),
        gauged=others,
        refused=(
            *(Refusal(marked=m.marked, when="", reason=_why(m, timed, desk)) for m in _still_refused(taken)),
            *(_without_a_time(m) for m in accepted if not (m.result or {})["summary"]["n"]),
        ),
        gear=_gear(accepted, desk),
        clock_allowed=_clock_allowed(accepted, desk),
        method="\n".join(_each_once(_method(m) for m in accepted)),
        coupling=", ".join(_each_once(m.result["coupling"] for m in accepted if m.result and not _by(m))),
        sensor=_each_once(note for m in accepted for note in _notes(m)),
        remarks=_remarks(accepted, desk),
        signed_by=", ".join(_each_once([*(m.by for m in accepted), *(one.by for one in others)])),
    )


def _still_refused(taken: list[Measurement]) -> list[Measurement]:
    """For every speed the last recording that gave no figure, if none that came later measured it."""
    last = {
        m.marked: m
        for m in sorted(taken, key=lambda m: (m.at, m.pk))
        if m.progress == Measurement.Progress.REFUSED
        and not any(later.phase and later.marked == m.marked and later.at >= m.at for later in taken)
    }
    return list(last.values())


def _why(measurement: Measurement, timed: Container[str], desk: Desk) -> str:
    """Why there is no figure, without the name of the file: the owner never saw it."""
    name = measurement.recording.name if measurement.recording else ""
    why = measurement.reason.removeprefix(f"{name}: ")
    why = why[:1].upper() + why[1:]
    return desk.said["refused.later"].format(reason=why) if measurement.marked in timed else why


def _with_a_time(sides: Sides) -> Sides:
    """Those sides that gave a time for the whole gate: a capped one does not."""
    return {phase: m for phase, m in sides.items() if (m.result or {})["summary"]["n"]}


def _without_a_time(measurement: Measurement) -> Refusal:
    result = measurement.result or {}
    why = (result.get("curtains") or {}).get("warnings") or result["warnings"] or ["no time was found"]
    when = "as found" if measurement.phase == Measurement.Phase.FOUND else "as left"
    return Refusal(marked=measurement.marked, when=cast(Any, when), reason=why[0])


def _beside(dial: dict[str, Sides], desk: Desk) -> tuple[Beside, ...]:
    """Smaller stops, flash contacts and curtains, speed by speed, the slowest first as on the chart."""

    def slowest_first(item: tuple[str, Sides]) -> float:
        return -(_first(item[1])["marked_s"] or float("inf"))

    shown = []
    for marked, sides in sorted(dial.items(), key=slowest_first):
        found, left = (
            m.result if (m := sides.get(phase)) else None for phase in Measurement.Phase.values[1:]
        )
        for one in beside(marked, found, left, desk.shop.locale):
            notes = (*one.notes, *([one.caution] if one.caution else []))
            shown.append(Beside(marked=marked, what=one.what, rows=rows_of(one), notes=notes))
    return tuple(shown)


def _first(sides: Sides) -> dict[str, Any]:
    return cast(dict[str, Any], next(iter(sides.values())).result)


def _target(dial: dict[str, Sides]) -> Literal["exact", "as marked"]:
    asked: dict[str, list[str]] = {}
    for marked, sides in dial.items():
        for measurement in sides.values():
            asked.setdefault((measurement.result or {})["reading"], []).append(marked)
    if len(asked) > 1:
        fewer = min(asked.values(), key=len)
        raise RefusedPaper(
            "Some speeds were held against exact powers of two and some against the marks at their word: "
            f"send the recordings of {', '.join(dict.fromkeys(fewer))} again, and all are read alike."
        )
    return cast(Literal["exact", "as marked"], next(iter(asked)))


def _speed(marked: str, sides: Sides, desk: Desk) -> Speed:
    found, left = sides.get(Measurement.Phase.FOUND), sides.get(Measurement.Phase.LEFT)
    return Speed(
        marked=marked,
        target_s=_first(sides)["marked_s"],
        found=_reading(found, desk) if found else None,
        left=_reading(left, desk) if left else None,
    )


def _reading(measurement: Measurement, desk: Desk) -> Reading:
    summary = (measurement.result or {})["summary"]
    if not summary["effective_u_s"] or not summary["error_u_ev"]:
        raise RefusedPaper(
            f"The accepted reading of {measurement.marked} has no uncertainty, so it cannot stand on a "
            "certificate. Set it aside and record the speed again."
        )
    return Reading(
        effective_s=summary["effective_s"],
        effective_u_s=summary["effective_u_s"],
        error_ev=summary["error_ev"],
        error_u_ev=summary["error_u_ev"],
        coverage_factor=_factor(summary["effective_95_s"], summary["effective_u_s"]),
        error_coverage_factor=_factor(summary["error_95_ev"], summary["error_u_ev"]),
        verdict=summary["verdict"],
        n=summary["n"],
        spread_ev=summary["spread_ev"],
        efficiency=_efficiency(measurement),
        measured_on=desk.day(measurement.at),
        limit=_limit(summary, desk),
        by=_by(measurement),
        budget=tuple(Share(name=c["name"], u_s=c["u"], how=_how(c)) for c in summary["budget"]),
    )


def _by(measurement: Measurement) -> Literal["", "sound", "video"]:
    by = Taken.of(measurement.settings).by
    return "" if by == "light" else by


def _factor(interval: list[float], u: float) -> float:
    """k from the instrument's own 95 % interval, so that the paper repeats it and reckons nothing anew."""
    return (interval[1] - interval[0]) / 2 / u


def _how(component: dict[str, Any]) -> str:
    if not component["source"]:
        return str(component["note"])
    return f"{component['note']} ({component['source']}; {component['mark']})".strip()


def _efficiency(measurement: Measurement) -> float | None:
    shots = (measurement.result or {})["shots"]
    seen = [shot["efficiency"] for shot in shots if shot["efficiency"] is not None]
    return min(1.0, fmean(seen)) if seen else None


def _limit(summary: dict[str, Any], desk: Desk) -> Limit | None:
    low, high = summary["limit_low_ev"], summary["limit_high_ev"]
    if low is None and high is None:
        return None
    return Limit(
        low_ev=low,
        high_ev=high,
        whose=desk.said["limits.usual" if summary["limit_source"] in _usual_sources() else "limits.whose"],
        source=summary["limit_source"],
        mark=summary["limit_mark"],
        note=summary["limit_note"] or "",
    )


def _usual_sources() -> set[str]:
    return {row.source for row in default_limits()}


def _held(marked: str, sides: Sides, desk: Desk) -> Held:
    def told(phase: str) -> str:
        measurement = sides.get(phase)
        if measurement is None:
            return ""
        summary = (measurement.result or {})["summary"]
        if not summary["effective_u_s"]:
            return ""
        low, high = summary["effective_95_s"]
        time = figures.stated_time(summary["effective_s"], (high - low) / 2, desk.shop.locale)
        words = desk.said["held.open.1" if summary["n"] == 1 else "held.open"]
        told = words.format(time=time.value, plus_minus=time.plus_minus, unit=time.unit, n=summary["n"])
        by = _by(measurement)
        return f"{told}, {desk.said[f'by.{by}']}" if by else told

    return Held(marked=marked, found=told(Measurement.Phase.FOUND), left=told(Measurement.Phase.LEFT))


def _gear(accepted: list[Measurement], desk: Desk) -> tuple[Gear, ...]:
    used = {m.gear.pk: m.gear for m in accepted if m.gear}
    return tuple(
        Gear(
            what=gear.name,
            serial=gear.serial,
            checked_on=gear.checked_on.isoformat() if gear.checked_on else None,
            note=gear.note,
            calibrated=_calibrated(gear.pk, accepted, desk),
        )
        for gear in used.values()
    )


def _known(measurement: Measurement) -> list[dict[str, Any]]:
    """The calibrations that were known when it was read: those that went in, those that were left out."""
    return (measurement.result or {}).get(CALIBRATIONS) or []


def _used(measurement: Measurement) -> list[dict[str, Any]]:
    return [one for one in _known(measurement) if one["used"]]


def _calibrated(gear: int, accepted: list[Measurement], desk: Desk) -> tuple[Calibrated, ...]:
    """The calibrations of a piece of gear that went into these readings, each once, with the readings."""
    through: dict[int, list[Measurement]] = {}
    says: dict[int, dict[str, Any]] = {}
    for m in accepted:
        for one in _used(m) if m.gear_id == gear else ():
            through.setdefault(one["number"], []).append(m)
            says[one["number"]] = one
    return tuple(
        Calibrated(
            what=one["says"],
            made_on=one["made_on"],
            due_on=one["due_on"],
            used_for=_told_of(through[number], accepted, desk),
        )
        for number, one in says.items()
    )


def _clock_allowed(accepted: list[Measurement], desk: Desk) -> str:
    """Which readings rest on what a crystal may be off, and how far that is; empty where none does."""
    allowed: dict[str, list[Measurement]] = {}
    for m in accepted:
        for part in (m.result or {})["summary"]["budget"] or ():
            if part["name"] == "clock" and (found := _ALLOWED.search(part["note"])):
                allowed.setdefault(found[1], []).append(m)
    return " ".join(
        desk.said["clock.allowed"].format(ppm=ppm, readings=_told_of(those, accepted, desk))
        for ppm, those in allowed.items()
    )


def _told_of(those: list[Measurement], accepted: list[Measurement], desk: Desk) -> str:
    """Readings by their speeds, as found and as left."""
    if len(those) == len(accepted):
        return desk.said["readings.all"]
    by_phase: dict[str, list[str]] = {}
    for m in sorted(those, key=lambda m: -((m.result or {})["marked_s"] or math.inf)):
        by_phase.setdefault(m.phase, []).append(m.marked)
    said = desk.said["readings.of"]
    return "; ".join(said.format(when=when, speeds=", ".join(speeds)) for when, speeds in by_phase.items())


def _method(measurement: Measurement) -> str:
    """The method, without what it says of the clock of every reading: that is told of each."""
    return _ALLOWED_IN_METHOD.sub("", (measurement.result or {})["method"])


def _notes(measurement: Measurement) -> list[str]:
    """The notes of a reading beside its calibrations, which stand at their gear."""
    told = {note_of(one) for one in _used(measurement)}
    return [note for note in (measurement.result or {})["notes"] if note not in told]


def _remarks(accepted: list[Measurement], desk: Desk) -> tuple[str, ...]:
    """Each warning of the instrument once, with the readings it belongs to."""
    where: dict[str, list[str]] = {}
    for m in accepted:
        for warning in (m.result or {})["warnings"]:
            for day in {one[key] for one in _known(m) for key in ("made_on", "due_on")}:
                warning = warning.replace(day, figures.long_date(day, desk.shop.locale))
            where.setdefault(warning, []).append(f"{m.marked} {m.phase}")
    return tuple(
        desk.said["remark.at"].format(speeds=", ".join(places), remark=warning)
        for warning, places in where.items()
    )


def _each_once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for text in texts if text))
