"""What several papers share: the workshop's head, the tag, owner, camera, photographs, lines of money."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Literal

from babel import Locale, UnknownLocaleError

from pegwood.papers._typed import (
    BadContent,
    Piece,
    check_date,
    check_filled,
    check_moment,
    check_short,
)
from pegwood.pricing.money import Money, MoneyError


@dataclass(frozen=True, kw_only=True)
class Workshop(Piece):
    """
    The head of every paper.

    Parameters
    ----------
    name : str
        As it stands on the sign.
    address : tuple of str
        Lines.
    contact : tuple of str
        Telephone, e-mail, page: as they shall be printed.
    registration : tuple of str
        What the law asks on a bill: register and tax numbers.
    pay_to : tuple of str
        Where money can be sent; printed on a bill that is not paid yet.
    mark : str or None
        SHA-256 of the picture of the workshop's mark, PNG or JPEG.
    locale : str
        How figures, sums and dates are written, such as `en_GB`.
    """

    name: str
    address: tuple[str, ...] = ()
    contact: tuple[str, ...] = ()
    registration: tuple[str, ...] = ()
    pay_to: tuple[str, ...] = ()
    mark: str | None = None
    locale: str = "en_GB"

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Workshop", name=self.name)
        check_short("Workshop", 120, name=self.name)
        _check_file("Workshop.mark", self.mark)
        try:
            Locale.parse(self.locale)
        except (UnknownLocaleError, ValueError) as error:
            raise BadContent(f"Workshop.locale: {self.locale!r}. Expected one such as 'en_GB'.") from error


@dataclass(frozen=True, kw_only=True)
class Tag(Piece):
    """The tag that hangs on the camera: the job's number, what it is, whose it is."""

    number: str
    what: str
    who: str

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Tag", number=self.number)
        check_short("Tag", 12, number=self.number)
        check_short("Tag", 200, what=self.what, who=self.who)


@dataclass(frozen=True, kw_only=True)
class Head(Piece):
    """
    What stands at the top of every paper.

    Parameters
    ----------
    workshop : Workshop
    tag : Tag
    made_at : str
        Local date and time with its offset from UTC, ISO 8601; the only clock a paper knows.
    zone : str
        Name of the time zone that `made_at` is in.
    made_by : str
        Who made the paper.
    number : str
        The paper's own number where it has one; a bill always has.
    """

    workshop: Workshop
    tag: Tag
    made_at: str
    zone: str = "UTC"
    made_by: str = ""
    number: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_moment("Head.made_at", self.made_at)
        check_short("Head", 40, number=self.number)


@dataclass(frozen=True, kw_only=True)
class Owner(Piece):
    """Whose camera it is."""

    name: str
    address: tuple[str, ...] = ()
    contact: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Camera(Piece):
    """The camera on the bench; an empty text is not known and is left out."""

    family: str = ""
    maker: str = ""
    model: str = ""
    serial: str = ""
    lens: str = ""
    shutter: str = ""


@dataclass(frozen=True, kw_only=True)
class Photo(Piece):
    """A photograph: the SHA-256 of its bytes (JPEG or PNG, without any EXIF), and what it shows."""

    file: str
    caption: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        _check_file("Photo.file", self.file)


@dataclass(frozen=True, kw_only=True)
class Caution(Piece):
    """A caution that stands at what it concerns."""

    subject: str
    text: str

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Caution", text=self.text)


@dataclass(frozen=True, kw_only=True)
class Line(Piece):
    """
    One line of a price or bill.

    Parameters
    ----------
    kind : {'labour', 'part', 'other'}
    what : str
    quantity : str
        A plain decimal number such as `1.5`, or empty.
    unit : str
        Of the quantity: `h`, `min`, `pcs`.
    each : Money or None
        Price of one unit.
    amount : Money
        What the line comes to.
    """

    kind: Literal["labour", "part", "other"]
    what: str
    amount: Money
    quantity: str = ""
    unit: str = ""
    each: Money | None = None

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Line", what=self.what)
        check_short("Line", 12, unit=self.unit)
        _check_decimal("Line.quantity", self.quantity)
        if self.each is not None and self.quantity:
            try:
                due = self.each.times(Decimal(self.quantity))
            except MoneyError as error:
                raise BadContent(f"Line.each: {error}") from error
            if due != self.amount:
                raise BadContent(
                    f"Line.amount: {_plainly(self.amount)} for {self.what!r}. "
                    f"Expected {_plainly(due)}: {self.quantity} at {_plainly(self.each)} each."
                )


@dataclass(frozen=True, kw_only=True)
class Tax(Piece):
    """
    A tax on the lines.

    Parameters
    ----------
    name : str
    rate_percent : str
        A plain decimal number such as `21`.
    base : Money
        What it is reckoned on.
    amount : Money
        What it comes to.
    included : bool
        True when the lines hold it already.
    """

    name: str
    rate_percent: str
    base: Money
    amount: Money
    included: bool

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Tax", name=self.name, rate_percent=self.rate_percent)
        _check_decimal("Tax.rate_percent", self.rate_percent)


@dataclass(frozen=True, kw_only=True)
class Agreed(Piece):
    """The owner's yes: the sum up to which work goes on without asking again, when and how it was said."""

    up_to: Money
    on: str | None = None
    how: str = ""

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_date("Agreed.on", self.on)


def check_sum(where: str, lines: tuple[Line, ...], taxes: tuple[Tax, ...], total: Money) -> None:
    """
    Refuse a total that is not the sum of what stands above it.

    Parameters
    ----------
    where : str
        What to call the place in the refusal.
    lines : tuple of Line
    taxes : tuple of Tax
        Only those not included in the lines are added.
    total : Money

    Raises
    ------
    BadContent
        When it does not add up, or when two currencies meet.
    """
    added = [line.amount for line in lines] + [tax.amount for tax in taxes if not tax.included]
    try:
        due = Money.total(added, total.currency)
    except MoneyError as error:
        raise BadContent(f"{where}.total: {error}") from error
    if due != total:
        raise BadContent(f"{where}.total: {_plainly(total)}. Expected {_plainly(due)}, the sum of the lines.")


def _plainly(amount: Money) -> str:
    return f"{amount.decimal} {amount.currency}"


def _check_file(where: str, name: str | None) -> None:
    if name is not None and not re.fullmatch(r"[0-9a-f]{64}", name):
        raise BadContent(f"{where}: {name[:80]!r}. Expected a SHA-256 in 64 hexadecimal digits.")


def _check_decimal(where: str, text: str) -> None:
    if not text:
        return
    try:
        if not re.fullmatch(r"-?\d{1,9}(\.\d{1,6})?", text, re.ASCII):
            raise InvalidOperation
        Decimal(text)
    except InvalidOperation as error:
        raise BadContent(f"{where}: {text[:40]!r}. Expected a plain number such as '1.5'.") from error
