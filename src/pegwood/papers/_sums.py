"""Price and bill as they will stand there: lines, taxes, totals, what was agreed and paid."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from pegwood.papers import figures
from pegwood.papers._shared import Words, cautions, filled, or_usual
from pegwood.papers.content import Bill, Price
from pegwood.papers.pieces import Line, Tax
from pegwood.pricing.money import Money


def price(content: Price, said: Words) -> dict[str, Any]:
    """What the price draws below its head."""
    locale = content.head.workshop.locale
    up_to = content.up_to or content.total
    sums = up_to.format(locale)
    number = content.head.tag.number
    return {
        **_money(content.lines, content.taxes, content.total, said, locale),
        "tag_sum": content.total.format(locale),
        "total_word": said["total.price"],
        "up_to": sums,
        "yes": or_usual(content.yes_by, said, "yes"),
        "slip": said["yes.slip"].format(number=number, sum=sums),
        "valid": said["valid"].format(date=figures.long_date(content.valid_until, locale))
        if content.valid_until
        else "",
        "deposit": content.deposit.format(locale) if content.deposit else "",
        "if_no": _if_no(content, said, locale),
        "may_change": or_usual(content.may_change, said, "may.change"),
        "cautions": cautions(content.cautions),
        "terms": filled(content.terms),
    }


def bill(content: Bill, said: Words) -> dict[str, Any]:
    """What the bill draws below its head."""
    locale = content.head.workshop.locale
    owed, note = content.owed, bool(content.corrects)
    up_to = content.agreed.up_to.format(locale) if content.agreed else ""
    return {
        **_money(content.lines, content.taxes, content.total, said, locale),
        "tag_sum": content.total.format(locale),
        "tag_note": said["tag.agreed"].format(sum=up_to) if up_to else "",
        **_called(content, said),
        "total_word": said["total.credit" if note else "total.bill"],
        "is_note": note,
        "done": filled(content.done),
        "no_tax": content.no_tax.strip(),
        "reason": content.reason.strip(),
        "draft": said["draft.note"] if content.draft else "",
        "credited": content.credited.format(locale) if content.credited else "",
        "agreed": _agreed(content, said, locale),
        "paid": _paid(content, said, locale),
        "paid_full": owed.minor == 0,
        "owed_word": said["owed.back" if owed.minor < 0 else "owed"],
        "owed": (-owed if owed.minor < 0 else owed).format(locale),
        "due": said["due"].format(date=figures.long_date(content.due_on, locale))
        if content.due_on and owed.minor > 0 and not note
        else "",
        "pay_to": filled(content.head.workshop.pay_to) if owed.minor > 0 and not note else [],
        "terms": filled(content.terms),
    }


def _called(content: Bill, said: Words) -> dict[str, str]:
    if content.corrects:
        return {"title": said["title.credit"], "sub": said["sub.credit"].format(number=content.corrects)}
    return {"sub": said["sub.draft"]} if content.draft else {}


def _if_no(content: Price, said: Words, locale: str) -> list[str]:
    if not content.if_no:
        return []
    costs = [said["if.no.costs"].format(sum=content.no_costs.format(locale))] if content.no_costs else []
    return [said[f"if.no.{content.if_no}"], *costs]


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
