"""The certificate as it will stand there: readings, chart, limits, budget, gear."""

from __future__ import annotations

from typing import Any

from pegwood.papers import figures
from pegwood.papers._shared import Words, clipped, filled, one_line
from pegwood.papers.content import Certificate
from pegwood.papers.measured import Beside, BesideRow, Gauged, Gear, Limit, Reading, Refusal, Speed, Verdict

SHAPES: dict[Verdict, str] = {
    "within": "dot",
    "outside": "triangle",
    "too close to call": "ring",
    "no limit given": "dash",
}
WIDEST_EV = 2.0  # the chart shows no error beyond this; an arrow and the figure stand for it
NARROWEST_EV = 0.5
LEAST_SHARE = 1e-5  # a component below 0.001 % of the time weighs on no shutter


def certificate(content: Certificate, said: Words) -> dict[str, Any]:
    """What the certificate draws below its head."""
    locale = content.head.workshop.locale
    degrees = content.temperature_c
    used = {
        reading.verdict
        for speed in content.speeds
        for reading in (speed.found, speed.left)
        if reading is not None
    }
    return {
        "target_is": said[f"target.{content.target}"],
        "chart": _chart(content.speeds, locale),
        "speeds": [_speed(speed, said, locale) for speed in content.speeds],
        "verdicts": [
            {
                "shape": SHAPES[verdict],
                "word": said[f"verdict.{verdict}"],
                "means": said[f"verdict.{verdict}.means"],
            }
            for verdict in SHAPES
            if verdict in used
        ],
        "held": [{"marked": held.marked, "found": held.found, "left": held.left} for held in content.held],
        "has_shutter": content.has_shutter or bool(content.refused or content.held),
        "beside": [_beside(beside, said, said[f"beside.{beside.what}"]) for beside in content.beside],
        "gauged": [_gauged(one, said) for one in content.gauged],
        "refused": [
            {
                "line": said["refused.line"].format(
                    marked=_refused_at(refusal, said),
                    reason=refusal.reason.rstrip(" ."),
                ),
                "remedy": refusal.remedy,
            }
            for refusal in content.refused
        ],
        "limits": _limits(content.speeds, said, locale),
        "uncertainty": _uncertainty(content.speeds, said, locale),
        "budget": _budget(content.speeds, said, locale),
        "gear": [_gear(gear, content.head.made_at[:10], said, locale) for gear in content.gear],
        "calibrated": _calibrated(content, said, locale),
        "method": _method(content, said),
        "by": [said[f"by.{by}.means"] for by in ("sound", "video") if by in _ways(content.speeds)],
        "sensor": filled(content.sensor),
        "measured_on": _measured_on(content.speeds, said, locale),
        "temperature": ""
        if degrees is None
        else said["method.temperature"].format(degrees=figures.decimal_number(f"{degrees:.1f}", locale)),
        "remarks": filled(content.remarks),
        "signed_by": content.signed_by,
    }


def _gauged(one: Gauged, said: Words) -> dict[str, Any]:
    title = "{what}, {marked}" if one.marked else "{what}"
    shown = _beside(one, said, title.format(what=one.what[:1].upper() + one.what[1:], marked="{marked}"))
    who = said["gauged.by"].format(on=one.measured_on, by=one.by) if one.by else ""
    return {**shown, "notes": [*shown["notes"], *([who] if who else [])]}


def _beside(beside: Beside, said: Words, title: str) -> dict[str, Any]:
    sides = [
        side
        for side in ("found", "left")
        if any(getattr(row, side) or getattr(row, f"{side}_verdict") for row in beside.rows)
    ]
    return {
        "title": title.format(marked=one_line(beside.marked)),
        "sides": [{"side": side, "when": said[f"chart.{side}"]} for side in sides],
        "rows": [
            {"label": row.label, "sides": [_beside_side(row, side, said) for side in sides]}
            for row in beside.rows
        ],
        "notes": filled(beside.notes),
    }


def _beside_side(row: BesideRow, side: str, said: Words) -> dict[str, str]:
    verdict = getattr(row, f"{side}_verdict")
    return {
        "text": getattr(row, side),
        "shape": SHAPES.get(verdict, "dash") if verdict else "",
        "verdict": said.get(f"verdict.{verdict}", verdict),
    }


def _method(content: Certificate, said: Words) -> list[str]:
    """Each method by itself, and how the sensor is coupled where none of them says it."""
    methods = [f"{line.rstrip(' .')}." for line in content.method.splitlines() if line.strip(" .")]
    if content.coupling and content.coupling not in content.method:
        methods.append(said["method.coupled"].format(coupling=content.coupling))
    return methods


def _ways(speeds: tuple[Speed, ...]) -> set[str]:
    return {reading.by for speed in speeds for reading in speed.readings if reading.by}


def _refused_at(refusal: Refusal, said: Words) -> str:
    marked = refusal.marked or "?"
    return said["refused.when"].format(marked=marked, when=refusal.when) if refusal.when else marked


def _speed(speed: Speed, said: Words, locale: str) -> dict[str, Any]:
    return {
        "marked": one_line(speed.marked),
        "where": one_line(speed.where),
        "target": figures.plain_time(speed.target_s, locale),
        "readings": [
            _reading(reading, side, said, locale)
            for side, reading in (("found", speed.found), ("left", speed.left))
            if reading is not None
        ],
    }


def _reading(reading: Reading, side: str, said: Words, locale: str) -> dict[str, str]:
    half_width_s = reading.coverage_factor * reading.effective_u_s
    time = figures.stated_time(reading.effective_s, half_width_s, locale)
    error = figures.stated_error(reading.error_ev, reading.half_width_ev, locale)
    spread, efficiency = reading.spread_ev, reading.efficiency
    return {
        "side": side,
        "when": said[side],
        "by": said[f"by.{reading.by}"] if reading.by else "",
        "time": time.value,
        "time_u": f"± {time.plus_minus} {time.unit}",
        "error": error.value,
        "error_u": f"± {error.plus_minus}",
        "shape": SHAPES[reading.verdict],
        "verdict": said[f"verdict.{reading.verdict}"],
        "n": str(reading.n),
        "spread": "" if spread is None else _spread(spread, reading, said, locale),
        "efficiency": "" if efficiency is None else figures.percent(efficiency, locale),
    }


def _spread(spread_ev: float, reading: Reading, said: Words, locale: str) -> str:
    shown = figures.spread(spread_ev, reading.half_width_ev, locale)
    if spread_ev and not shown.strip("0.,"):
        return said["less.than"].format(figure=figures.fixed(0.01, 2, locale))
    return shown


def _chart(speeds: tuple[Speed, ...], locale: str) -> dict[str, Any]:
    """Rows and axis in EV; the template only has to multiply by a length."""
    reach = _reach(speeds)
    step = next(step for step in (0.1, 0.25, 0.5, 1.0) if reach / step <= 4 or step == 1.0)
    count = int(reach / step + 1e-9)
    return {
        "reach": reach,
        "ticks": [
            {"at": number * step, "label": figures.signed_ev(number * step, locale) if number else ""}
            for number in range(-count, count + 1)
        ],
        "rows": [
            {
                "label": clipped(speed.marked, 10),
                "where": clipped(" ".join(filter(None, [speed.where, *sorted(_ways((speed,)))])), 12),
                "band": _band(speed.limit, reach),
                "found": _chart_mark(speed.found, reach, locale),
                "left": _chart_mark(speed.left, reach, locale),
            }
            for speed in speeds
        ],
    }


def _reach(speeds: tuple[Speed, ...]) -> float:
    readings = [r for speed in speeds for r in (speed.found, speed.left) if r is not None]
    ends = [abs(r.error_ev) + r.half_width_ev for r in readings]
    limits = [end for s in speeds if s.limit for end in (s.limit.low_ev, s.limit.high_ev)]
    ends += [1.25 * abs(end) for end in limits if end is not None]
    needed = max(ends, default=NARROWEST_EV)
    steps = (NARROWEST_EV, 0.75, 1.0, 1.5, WIDEST_EV)
    return next((step for step in steps if needed <= step), WIDEST_EV)


def _band(limit: Limit | None, reach: float) -> list[float] | None:
    """The limits as far as the chart goes; an open side goes to its edge."""
    if limit is None:
        return None
    low = -reach if limit.low_ev is None else limit.low_ev
    high = reach if limit.high_ev is None else limit.high_ev
    return [min(reach, max(-reach, end)) for end in (low, high)]


def _chart_mark(reading: Reading | None, reach: float, locale: str) -> dict[str, Any] | None:
    if reading is None:
        return None
    error = reading.error_ev
    beyond = "right" if error > reach else "left" if error < -reach else ""
    return {
        "at": max(-reach, min(reach, error)),
        "low": max(-reach, min(reach, error - reading.half_width_ev)),
        "high": max(-reach, min(reach, error + reading.half_width_ev)),
        "shape": SHAPES[reading.verdict],
        "beyond": beyond,
        "figure": figures.stated_error(error, reading.half_width_ev, locale).value if beyond else "",
    }


def _limits(speeds: tuple[Speed, ...], said: Words, locale: str) -> list[str]:
    """One line for each limit, naming the speeds it holds for, whose it is and what stands behind it."""
    groups: dict[Limit | None, list[str]] = {}
    for speed in speeds:
        for limit in dict.fromkeys(reading.limit for reading in speed.readings):
            groups.setdefault(limit, []).append(speed.marked)
    if set(groups) <= {None}:
        return [said["limits.all.none"]]
    lines = []
    for limit, marked in groups.items():
        listed = said["limits.every"] if len(groups) == 1 else ", ".join(dict.fromkeys(marked))
        if limit is None:
            lines.append(said["limits.none"].format(speeds=listed))
        else:
            lines.append(
                said["limits.line"]
                .format(
                    range=_range(limit, said, locale),
                    speeds=listed,
                    whose=limit.whose,
                    source=limit.source,
                    mark=said[f"mark.{limit.mark}"],
                    note=limit.note,
                )
                .rstrip()
            )
    return lines


def _range(limit: Limit, said: Words, locale: str) -> str:
    low, high = ("" if e is None else figures.signed_ev(e, locale) for e in (limit.low_ev, limit.high_ev))
    if not low:
        return said["limits.at.most"].format(high=high)
    if not high:
        return said["limits.at.least"].format(low=low)
    return f"±\u00a0{high[1:]}" if low[1:] == high[1:] and low[0] != high[0] else f"{low} … {high}"


def _uncertainty(speeds: tuple[Speed, ...], said: Words, locale: str) -> str:
    factors = [r.coverage_factor for s in speeds for r in (s.found, s.left) if r is not None]
    if not factors:
        return ""
    factors += [
        r.error_coverage_factor for s in speeds for r in (s.found, s.left) if r and r.error_coverage_factor
    ]
    low, high = (figures.fixed(end, 2, locale) for end in (min(factors), max(factors)))
    return said["uncertainty.stated"].format(k=low if low == high else f"{low} … {high}")


def _budget(speeds: tuple[Speed, ...], said: Words, locale: str) -> list[dict[str, str]]:
    """For each component: where it weighs least and where most, and how it came about if always alike."""
    shares: dict[str, list[tuple[float, str]]] = {}
    hows: dict[str, set[str]] = {}
    n = sum(len(speed.readings) for speed in speeds)
    for speed in speeds:
        for reading in speed.readings:
            for share in reading.budget:
                shares.setdefault(share.name, []).append((share.u_s / reading.effective_s, speed.marked))
                hows.setdefault(share.name, set()).add(share.how)
    return [
        {
            "name": name,
            "how": hows[name].pop() if len(hows[name]) == 1 else "",
            **_ends(found, len(found) < n, said, locale),
        }
        for name, found in sorted(shares.items(), key=lambda item: -max(item[1])[0])
    ]


def _ends(found: list[tuple[float, str]], is_of_some: bool, said: Words, locale: str) -> dict[str, str]:
    """Least and most; with the speed where they differ, or where one speed alone has it."""
    least, most = min(found), max(found)
    low, high = (_share(share, said, locale) for share, _ in (least, most))
    is_of_one = is_of_some and len({speed for _, speed in found}) == 1
    if low == high and not is_of_one:
        return {"least": low, "most": high}
    named = said["uncertainty.at"]
    return {"least": named.format(share=low, speed=least[1]), "most": named.format(share=high, speed=most[1])}


def _share(share: float, said: Words, locale: str) -> str:
    if 0 < share < LEAST_SHARE:
        return said["less.than"].format(figure=figures.percent(LEAST_SHARE, locale))
    return figures.percent(share, locale)


def _gear(gear: Gear, today: str, said: Words, locale: str) -> dict[str, str]:
    serial = said["gear.serial"].format(serial=gear.serial) if gear.serial else ""
    notes = [gear.note] if gear.note else []
    if gear.checked_on:
        notes.append(said["gear.checked"].format(date=figures.long_date(gear.checked_on, locale)))
    else:
        notes.append(said["gear.unchecked"])
    if gear.due_on:
        name = "gear.overdue" if gear.due_on < today else "gear.due"
        notes.append(said[name].format(date=figures.long_date(gear.due_on, locale)))
    return {"what": gear.what, "serial": serial, "notes": "; ".join(notes)}


def _calibrated(content: Certificate, said: Words, locale: str) -> list[str]:
    """What put which readings right, gear by gear; then the readings whose clock nothing was held against."""
    used = (
        said["gear.calibrated"].format(
            what=one.what[:1].upper() + one.what[1:],
            gear=gear.what,
            date=figures.long_date(one.made_on, locale),
            due=figures.long_date(one.due_on, locale),
            readings=one.used_for,
        )
        for gear in content.gear
        for one in gear.calibrated
    )
    return filled((*used, content.clock_allowed))


def _measured_on(speeds: tuple[Speed, ...], said: Words, locale: str) -> str:
    parts = []
    for side in ("found", "left"):
        readings = [getattr(speed, side) for speed in speeds]
        days = sorted({r.measured_on for r in readings if r is not None and r.measured_on})
        if days:
            ends = dict.fromkeys(figures.long_date(day, locale) for day in (days[0], days[-1]))
            parts.append(said[f"measured.{side}"].format(date=" … ".join(ends)))
    return said["measured.on"].format(parts=", ".join(parts)) if parts else ""
