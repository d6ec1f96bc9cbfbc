"""What the workshop has chosen for itself: its name on the papers, its money, its limits."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import Field, dataclass, field, fields, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from babel import Locale
from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.models import Offer, Setting, StoredFile
from pegwood.book.refusal import Refused
from pegwood.instruments.shutter import LimitRow
from pegwood.pricing.money import Money, MoneyError, exponent
from pegwood.pricing.spread import SHAPES, USUAL_SHAPE
from pegwood.pricing.tax import PRICES, ROUNDINGS, TaxRate

READINGS = ("exact", "as marked")
NUMBERS_RUN = ("by year", "on")


def _setting(default: Any, says: str, *, most: int) -> Any:
    """`most`: the largest number, or the longest text."""
    return field(default=default, metadata={"help": says, "most": most})


@dataclass(frozen=True, kw_only=True)
class Workshop:
    """Every setting with its default. `says(name)` explains one to a person."""

    name: str = _setting("", "the workshop's name, on top of every paper", most=120)
    repairer: str = _setting(
        "", "who does the work and signs; written into the diary on an open bench", most=80
    )
    address: str = _setting("", "postal address; \\n starts a new line", most=600)
    phone: str = _setting("", "telephone on the papers", most=60)
    email: str = _setting("", "e-mail on the papers", most=254)
    registration: str = _setting(
        "", "register and tax numbers the law asks for on a bill; \\n starts a new line", most=300
    )
    pay_to: str = _setting(
        "", "where money can be sent, on a bill that is not paid; \\n starts a new line", most=300
    )
    mark: str = _setting(
        "", "the workshop's mark: a picture's name in the file store; set it on the page", most=64
    )
    currency: str = _setting("EUR", "ISO 4217 code of the money, for new jobs", most=3)
    hourly_rate: int = _setting(0, "price of an hour's work, in minor units (6000 = 60.00)", most=100000000)
    locale: str = _setting("en_GB", "how money and dates are written, such as en_GB, nl_NL, de_CH", most=20)
    time_zone: str = _setting("UTC", "the workshop's own time, such as Europe/Oslo", most=60)
    guarantee_months: int = _setting(6, "months of guarantee on new work", most=120)
    price_valid_days: int = _setting(30, "days a told price stands", most=3650)
    reading: str = _setting("exact", "marked speeds as 'exact' powers of two or 'as marked'", most=10)
    limits: list[dict[str, Any]] = field(
        default_factory=list,
        metadata={"help": "own limits for shutter speeds, looked at before the defaults; rows as JSON"},
    )
    gauge_limits: dict[str, float] = field(
        default_factory=dict,
        metadata={"help": "own limits of the other instruments, figures by key in SI units and EV; as JSON"},
    )
    tray_columns: int = _setting(4, "pockets of a tray from left to right", most=12)
    tray_rows: int = _setting(3, "pockets of a tray from top to bottom", most=12)
    knowledge_counts_as: int = _setting(
        10, "how many jobs the starting knowledge of faults counts for against your own", most=1000
    )
    last_buy_years: int = _setting(
        5, "for how many years ahead parts that are hard to find are kept on the shelf", most=50
    )
    terms: str = _setting("", "a line of the workshop's own at the foot of price and bill", most=1000)
    tax_name: str = _setting("", "what the tax on a bill is called, such as VAT", most=20)
    tax_labour: str = _setting("", "percent of tax on labour, such as 21; empty charges none", most=12)
    tax_part: str = _setting("", "percent of tax on parts", most=12)
    tax_other: str = _setting("", "percent of tax on anything else", most=12)
    prices_are: str = _setting("gross", "'gross': sums hold the tax already; 'net': it comes on top", most=5)
    tax_rounding: str = _setting("bill", "tax rounded once for the whole 'bill', or on each 'line'", most=4)
    no_tax_reason: str = _setting("", "why no tax is charged, as the law wants it said on the bill", most=240)
    tax_number: str = _setting("", "the workshop's tax number, for e-invoices; VAT ids with country", most=40)
    register_number: str = _setting("", "number in the trade register, for e-invoices", most=40)
    country: str = _setting("", "two letters of the country, for e-invoices, such as NL", most=2)
    bill_prefix: str = _setting("", "letters before the number of a bill", most=12)
    credit_prefix: str = _setting("C-", "letters before the number of a credit note", most=12)
    numbers_run: str = _setting("by year", "numbers begin anew 'by year', or go 'on' for ever", most=7)
    first_number: int = _setting(1, "first number of a series of bills that is begun", most=10_000_000)
    payment_days: int = _setting(14, "days a bill may be paid in", most=365)
    deposit_percent: int = _setting(0, "deposit asked on a price, in percent", most=100)
    if_no: str = _setting("together", "after a no: put 'together' again, or handed back 'as it is'", most=8)
    no_costs: int = _setting(0, "what looking and putting together cost after a no, minor units", most=10**9)
    unfetched_days: int = _setting(
        0, "days a finished camera is kept for nothing; 0: no such terms", most=3650
    )
    unfetched_per_week: int = _setting(0, "what a week of keeping costs after that, minor units", most=10**8)
    unfetched_terms: str = _setting(
        "", "own words on cameras nobody fetches; local law comes first", most=1000
    )
    clock_longest: int = _setting(240, "minutes after which a running clock is asked about", most=1440)
    bench_per_hour: int = _setting(
        0, "the bench's overheads on each hour of work, minor units, stated as your sums are", most=10**8
    )
    own_per_hour: int = _setting(
        0, "what an hour costs the workshop itself, without tax, minor units; 0: what it charges", most=10**8
    )
    minimum_charge: int = _setting(0, "what every job costs at least, minor units", most=10**8)
    consumables: int = _setting(0, "cleaners, oil and the like for each job, minor units", most=10**8)
    consumables_per_mend: int = _setting(0, "and for each mend, minor units", most=10**8)
    part_markup: int = _setting(0, "percent on top of what a part cost", most=1000)
    risk_margin: int = _setting(10, "percent on top of the average for a fixed price", most=1000)
    job_minutes_low: int = _setting(
        20, "looking over, proving and papers of a job: minutes at the least", most=1440
    )
    job_minutes_likely: int = _setting(35, "minutes of that, usually", most=1440)
    job_minutes_high: int = _setting(60, "minutes of that, at the most", most=1440)
    price_shape: str = _setting(
        USUAL_SHAPE, f"how low, likely and high are read: {', '.join(SHAPES)}", most=12
    )
    price_covers: int = _setting(
        50, "a price covers faults that are likely from so many percent on; 0: all there may be", most=100
    )
    price_step: int = _setting(100, "reckoned prices are told in steps of so many minor units", most=10**6)

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    @property
    def rate(self) -> Money:
        return Money(self.hourly_rate, self.currency)

    @property
    def who(self) -> str:
        """Who acts when nobody signs in."""
        return self.repairer or "the bench"


def settings() -> dict[str, Field[Any]]:
    """Every setting's field, by its name."""
    return {f.name: f for f in fields(Workshop)}


def workshop() -> Workshop:
    """The workshop as it is set now. A setting of an older version that is gone is left out."""
    known = settings()
    return Workshop(**{row.key: row.value for row in Setting.objects.all() if row.key in known})


def says(name: str) -> str:
    """What a setting is for, in words."""
    return str(settings()[name].metadata["help"])


def most(name: str) -> int:
    """The largest number a setting may be, or how long its text may be."""
    return int(settings()[name].metadata["most"])


@transaction.atomic
def change_settings(new: dict[str, str | Any], *, by: str, at: datetime | None = None) -> Workshop:
    """
    Set some of the workshop's settings, from text or from values of the right type.

    Raises
    ------
    Refused
        If a setting is unknown or its value cannot be; then none is changed.
    """
    before = workshop()
    values = {name: _checked(name, value) for name, value in new.items()}
    old, changed = diary.changes({name: getattr(before, name) for name in values}, values)
    if not changed:
        return before
    _together(replace(before, **changed))
    for name, value in changed.items():
        Setting.objects.update_or_create(key=name, defaults={"value": value})
    diary.write(None, by=by, at=at or timezone.now(), what="changed settings", old=old, new=changed)
    return workshop()


def _together(new: Workshop) -> None:
    """Refuse settings that cannot stand beside one another."""
    if not 0 < new.job_minutes_low <= new.job_minutes_likely <= new.job_minutes_high:
        raise Refused(
            "Minutes that every job takes: expected the least, the usual and the most in this order, above 0."
        )


def _checked(name: str, value: str | Any) -> Any:
    known = settings()
    if name not in known:
        raise Refused(f"There is no setting '{name}'. There are: {', '.join(known)}.")
    default = getattr(Workshop(), name)
    if isinstance(default, int):
        value = _whole_number(name, value)
    elif isinstance(default, list):
        value = _limits(value)
    elif isinstance(default, dict):
        value = _gauge_limits(value)
    else:
        value = _text(name, value)
    check = _CHECKS.get(name)
    return check(value) if check else value


def _whole_number(name: str, value: str | int) -> int:
    try:
        number = int(value)
    except (TypeError, ValueError):
        raise Refused(f"{name} is {value!r}. Expected a whole number.") from None
    if not 0 <= number <= most(name):
        raise Refused(f"{name} is {number}. Expected a whole number from 0 to {most(name)}.")
    return number


def _text(name: str, value: str) -> str:
    text = str(value).replace("\\n", "\n").strip()
    if len(text) > most(name):
        raise Refused(f"{name} has {len(text)} characters. Expected at most {most(name)}.")
    return text


def _limits(value: str | list[dict[str, Any]]) -> list[dict[str, Any]]:
    try:
        rows = json.loads(value) if isinstance(value, str) else value
        if not isinstance(rows, list):
            raise ValueError("expected a list of rows")
        for row in rows:
            LimitRow.from_mapping(row)
    except (ValueError, TypeError) as error:
        raise Refused(f"limits: {error}. Expected rows such as {EXAMPLE_LIMITS}.") from None
    return rows


def _gauge_limits(value: str | dict[str, Any]) -> dict[str, float]:
    from pegwood.book.gauging.limits import checked  # which needs rooms that need this one

    return checked(value)


EXAMPLE_LIMITS = (
    '[{"kind": "leaf", "age": "any", "slowest_s": 1, "fastest_s": 0.002, "unit": "ev",'
    ' "low": -0.33, "high": 0.33, "source": "this workshop", "mark": "practice"}]'
)


def _zone(value: str) -> str:
    if value not in available_timezones():
        raise Refused(f"time_zone is {value!r}. Expected a name such as Europe/Oslo or UTC.")
    return value


def _currency(value: str) -> str:
    code = value.upper()
    try:
        exponent(code)
    except MoneyError as error:
        raise Refused(f"currency: {error}") from None
    return code


def _locale(value: str) -> str:
    try:
        Money(0, "EUR").format(value)
    except MoneyError as error:
        raise Refused(f"locale: {error}") from None
    return value


def _mark(value: str) -> str:
    if value and not StoredFile.objects.filter(sha256=value, media_type__startswith="image/").exists():
        raise Refused("mark is no picture in the file store. Set it on the workshop's page.")
    return value


def _pockets(value: int) -> int:
    if value < 1:
        raise Refused("A tray has at least one row and one column of pockets.")
    return value


def _jobs(value: int) -> int:
    if value < 1:
        raise Refused("The starting knowledge counts for at least one job.")
    return value


def _years(value: int) -> int:
    if value < 1:
        raise Refused("Parts that are hard to find are kept for at least one year ahead.")
    return value


def _rate(value: str) -> str:
    try:
        return TaxRate.parse(value).figure
    except MoneyError as error:
        raise Refused(f"A rate of tax: {error}") from None


def _one_of(*known: str) -> Callable[[str], str]:
    def check(value: str) -> str:
        if value not in known:
            raise Refused(f"{value!r} is none of: {', '.join(known)}.")
        return value

    return check


def _country(value: str) -> str:
    code = value.upper()
    if (code and code not in Locale("en").territories) or code.isdigit():
        raise Refused(f"country is {value!r}. Expected two letters (ISO 3166), such as NL.")
    return code


def _prefix(value: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9/._-]*", value):
        raise Refused(f"{value!r} is no beginning of a number. Expected letters, digits and / . _ - only.")
    return value


def _first_number(value: int) -> int:
    if value < 1:
        raise Refused("The first number of a series is 1 or more.")
    return value


def _step(value: int) -> int:
    if value < 1:
        raise Refused("Prices are told in steps of at least one minor unit.")
    return value


def _longest(value: int) -> int:
    if value < 5:
        raise Refused("A clock is asked about after 5 minutes or more.")
    return value


def _reading(value: str) -> str:
    if value not in READINGS:
        raise Refused(f"reading is {value!r}. Expected 'exact' or 'as marked'.")
    return value


_CHECKS: dict[str, Any] = {
    "time_zone": _zone,
    "currency": _currency,
    "locale": _locale,
    "reading": _reading,
    "mark": _mark,
    "tray_columns": _pockets,
    "tray_rows": _pockets,
    "knowledge_counts_as": _jobs,
    "last_buy_years": _years,
    "tax_labour": _rate,
    "tax_part": _rate,
    "tax_other": _rate,
    "prices_are": _one_of(*PRICES),
    "tax_rounding": _one_of(*ROUNDINGS),
    "country": _country,
    "bill_prefix": _prefix,
    "credit_prefix": _prefix,
    "numbers_run": _one_of(*NUMBERS_RUN),
    "first_number": _first_number,
    "if_no": _one_of(*Offer.IfNo.values),
    "clock_longest": _longest,
    "price_shape": _one_of(*SHAPES),
    "price_step": _step,
}
