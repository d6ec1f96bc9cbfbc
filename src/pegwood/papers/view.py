"""
From content to what the templates draw: every word, figure, date and sum as the text that will stand there.

Pure; the templates add no word and no figure of their own, so what is tested here is what is printed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from itertools import groupby
from typing import Any

from pegwood.papers import figures
from pegwood.papers.content import (
    Bill,
    Care,
    Certificate,
    Condition,
    PaperContent,
    Price,
    Receipt,
    to_json,
)
from pegwood.papers.letters import BOX, shown
from pegwood.papers.measured import Gear, Limit, Reading, Speed, Verdict
from pegwood.papers.pieces import Camera, Caution, Line, Owner, Photo, Tax
from pegwood.papers.words import words
from pegwood.pricing.money import Money

SIZES = {
    "receipt": "a5",
    "condition": "a4",
    "certificate": "a4",
    "price": "a4",
    "bill": "a4",
    "care": "a5",
}
SHAPES: dict[Verdict, str] = {
    "within": "dot",
    "outside": "triangle",
    "too close to call": "ring",
    "no limit given": "dash",
}
WIDEST_EV = 2.0  # the chart shows no error beyond this; an arrow and the figure stand for it
NARROWEST_EV = 0.5

Words = Mapping[str, str]


def view(content: PaperContent) -> dict[str, Any]:
    """
    All that a template draws.

    Parameters
    ----------
    content : Receipt, Condition, Certificate, Price, Bill or Care

    Returns
    -------
    view : dict
        Texts, lists and dicts only, ready for JSON. User text in it is plain text, never markup.
    """
    said = words(content.head.workshop.locale)
    drawn, missing = _as_shown({**_common(content, said), **_BODIES[content.kind](content, said)})
    if missing:
        codes = [f"U+{ord(sign):04X}" for sign in sorted(missing)]
        listed = ", ".join(codes[:12]) + (" …" if len(codes) > 12 else "")
        drawn["missing"] = said["missing"].format(box=BOX, codes=listed)
    return {"w": dict(said), "missing": "", **drawn}


def fingerprint(content: PaperContent) -> str:
    """The first twelve digits of the SHA-256 of the content: printed, it tells two sheets apart."""
    return hashlib.sha256(to_json(content).encode()).hexdigest()[:12]


def _as_shown(value: Any) -> tuple[Any, frozenset[str]]:
    """Every text in a nest of lists and dicts as the letters can show it, and the signs they cannot."""
    if isinstance(value, str):
        return shown(value)
    if isinstance(value, dict):
        pairs = {key: _as_shown(entry) for key, entry in value.items()}
        return {key: entry for key, (entry, _) in pairs.items()}, _together(m for _, m in pairs.values())
    if isinstance(value, list):
        entries = [_as_shown(entry) for entry in value]
        return [entry for entry, _ in entries], _together(m for _, m in entries)
    return value, frozenset()


def _together(missing: Any) -> frozenset[str]:
    return frozenset().union(*missing)


def _common(content: PaperContent, said: Words) -> dict[str, Any]:
    head, shop = content.head, content.head.workshop
    made_on = head.made_at[:10]
    return {
        "kind": content.kind,
        "size": SIZES[content.kind],
        "title": said[f"title.{content.kind}"],
        "sub": said[f"sub.{content.kind}"],
        "workshop": {
            "name": _one_line(shop.name),
            "short": _clipped(shop.name, 44),
            "address": _filled(shop.address),
            "contact": _filled(shop.contact),
            "registration": _filled(shop.registration),
            "mark": shop.mark or "",
        },
        "tag": {
            "number": _one_line(head.tag.number),
            "what": _one_line(head.tag.what),
            "who": _one_line(head.tag.who),
            "short": _clipped(head.tag.who, 44),
            "sum": "",
            "note": "",
        },
        "number": _one_line(head.number),
        "date": figures.long_date(made_on, shop.locale),
        "made_on": [int(part) for part in made_on.split("-")],
        "made_by": head.made_by,
        "fingerprint": fingerprint(content),
        "owner": _owner(content.owner),
        "camera": _camera(content.camera, said),
    }


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _clipped(text: str, longest: int) -> str:
    """One line for a running head, where the whole stands elsewhere on the paper."""
    line = _one_line(text)
    return line if len(line) <= longest else line[: longest - 1] + "…"


def _owner(owner: Owner) -> dict[str, Any]:
    return {
        "name": owner.name,
        "lines": _filled((*owner.address, *owner.contact)),
        "at_home": ", ".join(_filled((owner.name, *owner.address))),
    }


def _camera(camera: Camera, said: Words) -> list[dict[str, str]]:
    named = ("family", "maker", "model", "serial", "lens", "shutter")
    facts = [{"label": said[f"camera.{name}"], "text": getattr(camera, name)} for name in named]
    return [fact for fact in facts if fact["text"].strip()]


def _photos(photos: tuple[Photo, ...]) -> list[dict[str, str]]:
    return [{"file": photo.file, "caption": photo.caption} for photo in photos]


def _cautions(cautions: tuple[Caution, ...]) -> list[dict[str, str]]:
    return [{"subject": caution.subject, "text": caution.text} for caution in cautions]


def _filled(texts: tuple[str, ...]) -> list[str]:
    return [text for text in texts if text.strip()]


def _or_usual(texts: tuple[str, ...], said: Words, name: str) -> list[str]:
    """The workshop's own lines, or the usual ones `name.1`, `name.2` and so on."""
    usual = [said[key] for key in (f"{name}.{number}" for number in range(1, 10)) if key in said]
    return _filled(texts) or usual


def _receipt(content: Receipt, said: Words) -> dict[str, Any]:
    locale = content.head.workshop.locale
    promised = content.promised_on
    return {
        "accessories": _filled(content.accessories) or [said["accessories.none"]],
        "story": content.story.strip(),
        "photos": _photos(content.photos),
        "next": _or_usual(content.next_steps, said, "next"),
        "promised": figures.long_date(promised, locale) if promised else "",
        "terms": _filled(content.terms),
    }


def _condition(content: Condition, said: Words) -> dict[str, Any]:
    outlooks = [finding.outlook for finding in content.findings]
    counts = [
        said["findings.count.1"] if len(outlooks) == 1 else said["findings.count"].format(n=len(outlooks)),
        *([said["findings.mend"].format(n=outlooks.count("mend"))] if "mend" in outlooks else []),
        *([said["findings.stay"].format(n=outlooks.count("can stay"))] if "can stay" in outlooks else []),
    ]
    return {
        "story": content.story.strip(),
        "photos": _photos(content.photos),
        "counts": ", ".join(counts) if outlooks else "",
        "findings": [
            {
                "number": str(number),
                "part": finding.part,
                "condition": finding.condition,
                "place": finding.place,
                "note": finding.note.strip(),
                "grade": finding.grade,
                "grade_means": "" if finding.grade is None else said[f"grade.{finding.grade}"],
                "outlook": said[f"outlook.{finding.outlook}"] if finding.outlook else "",
                "shape": {"mend": "triangle", "can stay": "ring", "": ""}[finding.outlook],
                "photos": _photos(finding.photos),
            }
            for number, finding in enumerate(content.findings, start=1)
        ],
        "grades": [{"grade": grade, "means": said[f"grade.{grade}"]} for grade in range(6)],
        "looked_over": _looked_over(content, said),
        "summary": content.summary.strip(),
        "cautions": _cautions(content.cautions),
    }


def _looked_over(content: Condition, said: Words) -> str:
    who, on = content.looked_over_by.strip(), content.looked_over_on
    date = figures.long_date(on, content.head.workshop.locale) if on else ""
    if who and date:
        return said["looked.over"].format(who=who, date=date)
    if date:
        return said["looked.over.date"].format(date=date)
    return said["looked.over.who"].format(who=who) if who else ""


def _certificate(content: Certificate, said: Words) -> dict[str, Any]:
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
        "refused": [
            {
                "line": said["refused.line"].format(
                    marked=refusal.marked or "?",
                    when=said["found" if refusal.when == "as found" else "left"],
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
        "method": _method(content, said),
        "sensor": _filled(content.sensor),
        "measured_on": _measured_on(content.speeds, said, locale),
        "temperature": ""
        if degrees is None
        else said["method.temperature"].format(degrees=figures.decimal_number(f"{degrees:.1f}", locale)),
        "remarks": _filled(content.remarks),
        "signed_by": content.signed_by,
    }


def _method(content: Certificate, said: Words) -> str:
    if not content.method:
        return ""
    if not content.coupling:
        return f"{content.method}."
    return said["method.line"].format(method=content.method, coupling=content.coupling)


def _speed(speed: Speed, said: Words, locale: str) -> dict[str, Any]:
    return {
        "marked": _one_line(speed.marked),
        "where": _one_line(speed.where),
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
        "time": time.value,
        "time_u": f"± {time.plus_minus} {time.unit}",
        "error": error.value,
        "error_u": f"± {error.plus_minus}",
        "shape": SHAPES[reading.verdict],
        "verdict": said[f"verdict.{reading.verdict}"],
        "n": str(reading.n),
        "spread": "" if spread is None else figures.spread(spread, reading.half_width_ev, locale),
        "efficiency": "" if efficiency is None else figures.percent(efficiency, locale),
    }


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
                "label": _clipped(speed.marked, 10),
                "where": _clipped(speed.where, 12),
                "band": [max(-reach, speed.limit.low_ev), min(reach, speed.limit.high_ev)]
                if speed.limit
                else None,
                "found": _chart_mark(speed.found, reach, locale),
                "left": _chart_mark(speed.left, reach, locale),
            }
            for speed in speeds
        ],
    }


def _reach(speeds: tuple[Speed, ...]) -> float:
    readings = [r for speed in speeds for r in (speed.found, speed.left) if r is not None]
    ends = [abs(r.error_ev) + r.half_width_ev for r in readings]
    ends += [1.25 * abs(end) for s in speeds if s.limit for end in (s.limit.low_ev, s.limit.high_ev)]
    needed = max(ends, default=NARROWEST_EV)
    steps = (NARROWEST_EV, 0.75, 1.0, 1.5, WIDEST_EV)
    return next((step for step in steps if needed <= step), WIDEST_EV)


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
        marked = groups.setdefault(speed.limit, [])
        if speed.marked not in marked:
            marked.append(speed.marked)
    if set(groups) <= {None}:
        return [said["limits.all.none"]]
    lines = []
    for limit, marked in groups.items():
        listed = said["limits.every"] if len(groups) == 1 else ", ".join(marked)
        if limit is None:
            lines.append(said["limits.none"].format(speeds=listed))
        else:
            lines.append(
                said["limits.line"].format(
                    range=_range(limit, locale),
                    speeds=listed,
                    whose=limit.whose,
                    source=limit.source,
                    mark=said[f"mark.{limit.mark}"],
                )
            )
    return lines


def _range(limit: Limit, locale: str) -> str:
    low, high = (figures.signed_ev(end, locale) for end in (limit.low_ev, limit.high_ev))
    return f"±\u00a0{high[1:]}" if low[1:] == high[1:] and low[0] != high[0] else f"{low} … {high}"


def _uncertainty(speeds: tuple[Speed, ...], said: Words, locale: str) -> str:
    factors = [r.coverage_factor for s in speeds for r in (s.found, s.left) if r is not None]
    if not factors:
        return ""
    low, high = (figures.decimal_number(f"{end:.2f}", locale) for end in (min(factors), max(factors)))
    return said["uncertainty.stated"].format(k=low if low == high else f"{low} … {high}")


def _budget(speeds: tuple[Speed, ...], said: Words, locale: str) -> list[dict[str, str]]:
    """For each component: where it weighs least and where most, over all readings."""
    shares: dict[str, list[tuple[float, str]]] = {}
    hows: dict[str, str] = {}
    for speed in speeds:
        for reading in (speed.found, speed.left):
            for share in reading.budget if reading else ():
                relative = share.u_s / reading.effective_s if reading else 0.0
                shares.setdefault(share.name, []).append((relative, speed.marked))
                hows[share.name] = hows.get(share.name) or share.how
    return [
        {
            "name": name,
            "how": hows[name],
            **_ends(found, said, locale),
        }
        for name, found in sorted(shares.items(), key=lambda item: -max(item[1])[0])
    ]


def _ends(found: list[tuple[float, str]], said: Words, locale: str) -> dict[str, str]:
    least, most = min(found), max(found)
    low, high = figures.percent(least[0], locale), figures.percent(most[0], locale)
    if low == high:
        return {"least": low, "most": high}
    named = said["uncertainty.at"]
    return {"least": named.format(share=low, speed=least[1]), "most": named.format(share=high, speed=most[1])}


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


def _measured_on(speeds: tuple[Speed, ...], said: Words, locale: str) -> str:
    parts = []
    for side in ("found", "left"):
        readings = [getattr(speed, side) for speed in speeds]
        days = sorted({r.measured_on for r in readings if r is not None and r.measured_on})
        if days:
            ends = dict.fromkeys(figures.long_date(day, locale) for day in (days[0], days[-1]))
            parts.append(said[f"measured.{side}"].format(date=" … ".join(ends)))
    return said["measured.on"].format(parts=", ".join(parts)) if parts else ""


def _price(content: Price, said: Words) -> dict[str, Any]:
    locale = content.head.workshop.locale
    up_to = content.up_to or content.total
    sums = up_to.format(locale)
    number = content.head.tag.number
    tag = {**_common(content, said)["tag"], "sum": content.total.format(locale)}
    return {
        **_money(content.lines, content.taxes, content.total, said, locale),
        "tag": tag,
        "total_word": said["total.price"],
        "up_to": sums,
        "yes": _or_usual(content.yes_by, said, "yes"),
        "slip": said["yes.slip"].format(number=number, sum=sums),
        "valid": said["valid"].format(date=figures.long_date(content.valid_until, locale))
        if content.valid_until
        else "",
        "may_change": _or_usual(content.may_change, said, "may.change"),
        "cautions": _cautions(content.cautions),
        "terms": _filled(content.terms),
    }


def _bill(content: Bill, said: Words) -> dict[str, Any]:
    locale = content.head.workshop.locale
    owed = content.owed
    tag = {**_common(content, said)["tag"], "sum": content.total.format(locale)}
    if content.agreed:
        up_to = said["agreed.line"].format(sum=content.agreed.up_to.format(locale))
        tag["note"] = f"{said['agreed'].lower()} {up_to}"
    return {
        **_money(content.lines, content.taxes, content.total, said, locale),
        "tag": tag,
        "total_word": said["total.bill"],
        "agreed": _agreed(content, said, locale),
        "paid": _paid(content, said, locale),
        "paid_full": owed.minor == 0,
        "owed_word": said["owed.back" if owed.minor < 0 else "owed"],
        "owed": (-owed if owed.minor < 0 else owed).format(locale),
        "due": said["due"].format(date=figures.long_date(content.due_on, locale))
        if content.due_on and owed.minor > 0
        else "",
        "pay_to": _filled(content.head.workshop.pay_to) if owed.minor > 0 else [],
        "terms": _filled(content.terms),
    }


def _agreed(content: Bill, said: Words, locale: str) -> str:
    agreed = content.agreed
    if agreed is None:
        return ""
    parts = [said["agreed.line"].format(sum=agreed.up_to.format(locale))]
    if agreed.on:
        parts.append(said["agreed.on"].format(date=figures.long_date(agreed.on, locale)))
    if agreed.how:
        parts.append(agreed.how)
    return ", ".join(parts)


def _paid(content: Bill, said: Words, locale: str) -> str:
    if content.paid is None or not content.paid:
        return ""
    parts = [said["paid.line"].format(sum=content.paid.format(locale), how=content.paid_how).strip()]
    if content.paid_on:
        parts.append(figures.long_date(content.paid_on, locale))
    return ", ".join(parts)


def _money(
    lines: tuple[Line, ...], taxes: tuple[Tax, ...], total: Money, said: Words, locale: str
) -> dict[str, Any]:
    order = ("labour", "part", "other")
    ordered = sorted(lines, key=lambda line: order.index(line.kind))
    added = [tax for tax in taxes if not tax.included]
    below = Money.total([line.amount for line in lines], total.currency)
    return {
        "groups": [
            {"name": said[f"line.{kind}"], "lines": [_line(line, locale) for line in group]}
            for kind, group in groupby(ordered, key=lambda line: line.kind)
        ],
        "has_quantity": any(line.quantity for line in lines),
        "has_each": any(line.each for line in lines),
        "subtotal": below.format(locale) if added else "",
        "taxes_added": [_tax(tax, said["tax.added"], locale) for tax in added],
        "taxes_included": [_tax(tax, said["tax.included"], locale) for tax in taxes if tax.included],
        "total": total.format(locale),
    }


def _line(line: Line, locale: str) -> dict[str, str]:
    quantity = f"{figures.decimal_number(line.quantity, locale)} {line.unit}".strip() if line.quantity else ""
    return {
        "what": line.what,
        "quantity": quantity,
        "each": line.each.format(locale) if line.each else "",
        "amount": line.amount.format(locale),
    }


def _tax(tax: Tax, words_of_it: str, locale: str) -> dict[str, str]:
    rate = figures.decimal_number(tax.rate_percent, locale)
    text = words_of_it.format(name=tax.name, rate=rate, base=tax.base.format(locale))
    return {"text": text, "amount": tax.amount.format(locale)}


def _care(content: Care, said: Words) -> dict[str, Any]:
    until = content.guarantee_until
    return {
        "done": _filled(content.done),
        "left_alone": _filled(content.left_alone),
        "until": figures.long_date(until, content.head.workshop.locale) if until else "",
        "guarantee_on": _filled(content.guarantee_on),
        "guarantee_not": _filled(content.guarantee_not),
        "keep": _or_usual(content.keep, said, "keep"),
        "cautions": _cautions(content.cautions),
    }


_BODIES: dict[str, Callable[..., dict[str, Any]]] = {
    "receipt": _receipt,
    "condition": _condition,
    "certificate": _certificate,
    "price": _price,
    "bill": _bill,
    "care": _care,
}
