"""
From content to what the templates draw: every word, figure, date and sum as the text that will stand there.

Pure; the templates add no word and no figure of their own, so what is tested here is what is printed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Any

from pegwood.papers import figures
from pegwood.papers._measures import certificate
from pegwood.papers._record import record
from pegwood.papers._shared import (
    Words,
    camera_facts,
    cautions,
    clipped,
    filled,
    one_line,
    or_usual,
    owner_block,
    photos,
)
from pegwood.papers._sums import bill, price
from pegwood.papers._tray_sheet import trays
from pegwood.papers.content import Care, Certificate, Condition, PaperContent, Receipt, Trays, to_json
from pegwood.papers.letters import BOX, shown
from pegwood.papers.words import words

SIZES = {
    "receipt": "a5",
    "condition": "a4",
    "certificate": "a4",
    "price": "a4",
    "bill": "a4",
    "care": "a5",
    "trays": "a4 across",
    "record": "a4",
}


def view(content: PaperContent) -> dict[str, Any]:
    """
    All that a template draws.

    Parameters
    ----------
    content : Receipt, Condition, Certificate, Price, Bill, Care, Trays or Record

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


def _titled(content: PaperContent) -> str:
    """What a paper calls itself by: a certificate by whether more than the shutter stands on it."""
    return "gauged" if isinstance(content, Certificate) and content.gauged else content.kind


def _common(content: PaperContent, said: Words) -> dict[str, Any]:
    head, shop = content.head, content.head.workshop
    return {
        "kind": content.kind,
        "size": SIZES[content.kind],
        "title": said[f"title.{_titled(content)}"],
        "sub": said[f"sub.{content.kind}"],
        "workshop": {
            "name": one_line(shop.name),
            "short": clipped(shop.name, 44),
            "address": filled(shop.address),
            "contact": filled(shop.contact),
            "registration": filled(shop.registration),
            "mark": shop.mark or "",
        },
        "tag": {
            "number": one_line(head.tag.number),
            "what": one_line(head.tag.what),
            "who": one_line(head.tag.who),
            "short": clipped(head.tag.who, 44),
        },
        "tag_sum": "",
        "tag_note": "",
        "number": one_line(head.number),
        "date": figures.long_date(head.made_at, shop.locale),
        "made_by": head.made_by,
        "fingerprint": fingerprint(content),
        "owner": {} if isinstance(content, Trays) else owner_block(content.owner),
        "camera": camera_facts(content.camera, said),
    }


def _receipt(content: Receipt, said: Words) -> dict[str, Any]:
    locale = content.head.workshop.locale
    promised = content.promised_on
    return {
        "accessories": filled(content.accessories) or [said["accessories.none"]],
        "story": content.story.strip(),
        "photos": photos(content.photos),
        "next": or_usual(content.next_steps, said, "next"),
        "promised": figures.long_date(promised, locale) if promised else "",
        "terms": filled(content.terms),
        "comeback": said["comeback"].format(number=content.comeback_of) if content.comeback_of else "",
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
        "photos": photos(content.photos),
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
                "photos": photos(finding.photos),
            }
            for number, finding in enumerate(content.findings, start=1)
        ],
        "grades": [{"grade": grade, "means": said[f"grade.{grade}"]} for grade in range(6)],
        "looked_over": _looked_over(content, said),
        "summary": content.summary.strip(),
        "cautions": cautions(content.cautions),
    }


def _looked_over(content: Condition, said: Words) -> str:
    who, on = content.looked_over_by.strip(), content.looked_over_on
    date = figures.long_date(on, content.head.workshop.locale) if on else ""
    if who and date:
        return said["looked.over"].format(who=who, date=date)
    if date:
        return said["looked.over.date"].format(date=date)
    return said["looked.over.who"].format(who=who) if who else ""


def _care(content: Care, said: Words) -> dict[str, Any]:
    until, months = content.guarantee_until, content.guarantee_months
    given = ""
    if until:
        given = figures.long_date(until, content.head.workshop.locale)
    elif months:
        given = said["guarantee.months.1" if months == 1 else "guarantee.months"].format(n=months)
    return {
        "done": filled(content.done),
        "left_alone": filled(content.left_alone),
        "given": given,
        "until": said["guarantee.until"] if until else "",
        "guarantee_on": or_usual(content.guarantee_on, said, "guarantee.on"),
        "guarantee_not": or_usual(content.guarantee_not, said, "guarantee.not"),
        "keep": or_usual(content.keep, said, "keep"),
        "cautions": cautions(content.cautions),
    }


_BODIES: dict[str, Callable[..., dict[str, Any]]] = {
    "receipt": _receipt,
    "condition": _condition,
    "certificate": certificate,
    "price": price,
    "bill": bill,
    "care": _care,
    "trays": trays,
    "record": record,
}
