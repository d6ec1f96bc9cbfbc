"""What the workshop has chosen for itself: its name on the papers, its money, its limits."""

from __future__ import annotations

import json
from dataclasses import Field, dataclass, field, fields
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.models import Setting, StoredFile
from pegwood.book.refusal import Refused
from pegwood.instruments.shutter import LimitRow
from pegwood.pricing.money import Money, MoneyError, exponent

READINGS = ("exact", "as marked")


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
    tray_columns: int = _setting(4, "pockets of a tray from left to right", most=12)
    tray_rows: int = _setting(3, "pockets of a tray from top to bottom", most=12)
    knowledge_counts_as: int = _setting(
        10, "how many jobs the starting knowledge of faults counts for against your own", most=1000
    )
    last_buy_years: int = _setting(
        5, "for how many years ahead parts that are hard to find are kept on the shelf", most=50
    )
    terms: str = _setting("", "a line of the workshop's own at the foot of price and bill", most=1000)

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
    for name, value in changed.items():
        Setting.objects.update_or_create(key=name, defaults={"value": value})
    diary.write(None, by=by, at=at or timezone.now(), what="changed settings", old=old, new=changed)
    return workshop()


def _checked(name: str, value: str | Any) -> Any:
    known = settings()
    if name not in known:
        raise Refused(f"There is no setting '{name}'. There are: {', '.join(known)}.")
    default = getattr(Workshop(), name)
    if isinstance(default, int):
        value = _whole_number(name, value)
    elif isinstance(default, list):
        value = _limits(value)
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
}
