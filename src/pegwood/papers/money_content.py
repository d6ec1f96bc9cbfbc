"""What stands on the papers with sums on them: the price, and the bill or the credit note."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from pegwood.papers._typed import BadContent, Piece, check_date, check_filled
from pegwood.papers.pieces import Agreed, Camera, Caution, Head, Line, Owner, Tax, check_sum
from pegwood.pricing.money import Money, MoneyError

__all__ = ["Bill", "Price"]


@dataclass(frozen=True, kw_only=True)
class Price(Piece):
    """
    What the work will cost.

    Parameters
    ----------
    head : Head
    owner : Owner
    camera : Camera
    lines : tuple of Line
        At least one.
    taxes : tuple of Tax
    total : Money
        The sum of the lines and of the taxes not included in them.
    up_to : Money or None
        The sum up to which the owner is asked to say yes; the total when None.
    yes_by : tuple of str
        How to say yes; empty for the usual words.
    valid_until : str or None
        ISO date.
    may_change : tuple of str
        What may change the price.
    deposit : Money or None
        Asked before the work begins.
    if_no : {'together', 'as it is', ''}
        How the camera goes back after a no.
    no_costs : Money or None
        What looking and putting together cost after a no.
    cautions : tuple of Caution
    terms : tuple of str
    """

    kind: ClassVar[str] = "price"
    head: Head
    owner: Owner
    camera: Camera
    lines: tuple[Line, ...]
    total: Money
    taxes: tuple[Tax, ...] = ()
    up_to: Money | None = None
    yes_by: tuple[str, ...] = ()
    valid_until: str | None = None
    may_change: tuple[str, ...] = ()
    deposit: Money | None = None
    if_no: Literal["together", "as it is", ""] = ""
    no_costs: Money | None = None
    cautions: tuple[Caution, ...] = ()
    terms: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        _check_lines("Price", self.lines)
        check_sum("Price", self.lines, self.taxes, self.total)
        check_date("Price.valid_until", self.valid_until)
        if self.up_to is not None and _above("Price.up_to", self.total, self.up_to):
            raise BadContent("Price.up_to: below the total. Expected the total or more.")
        if self.deposit is not None and _above("Price.deposit", self.deposit, self.total):
            raise BadContent("Price.deposit: above the total. Expected the total at most.")
        if self.no_costs is not None:
            _above("Price.no_costs", self.no_costs, self.total)


@dataclass(frozen=True, kw_only=True)
class Bill(Piece):
    """
    What is asked for in the end; or, with `corrects`, a credit note on it: what is taken off, above zero.

    Parameters
    ----------
    head : Head
        With the bill's number.
    owner : Owner
    camera : Camera
    lines : tuple of Line
    taxes : tuple of Tax
    total : Money
    agreed : Agreed or None
        What the owner agreed to; a total above it is refused.
    paid : Money or None
        What has been paid; None when nothing has.
    paid_how, paid_on : str
        How; ISO date or None.
    due_on : str or None
        ISO date by which the rest is asked for.
    draft : bool
        True while it is not issued and has no number of its own.
    corrects, reason : str
        Of a credit note: the number of the bill it is on, and what was wrong.
    credited : Money or None
        What credit notes have taken off this bill.
    done : tuple of str
        What was done.
    no_tax : str
        Why no tax is charged.
    terms : tuple of str
    """

    kind: ClassVar[str] = "bill"
    head: Head
    owner: Owner
    camera: Camera
    lines: tuple[Line, ...]
    total: Money
    taxes: tuple[Tax, ...] = ()
    agreed: Agreed | None = None
    paid: Money | None = None
    paid_how: str = ""
    paid_on: str | None = None
    due_on: str | None = None
    draft: bool = False
    corrects: str = ""
    reason: str = ""
    credited: Money | None = None
    done: tuple[str, ...] = ()
    no_tax: str = ""
    terms: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        Piece.__post_init__(self)
        check_filled("Head", number=self.head.number)
        _check_lines("Bill", self.lines)
        check_sum("Bill", self.lines, self.taxes, self.total)
        check_date("Bill.paid_on", self.paid_on)
        check_date("Bill.due_on", self.due_on)
        if self.agreed is not None and _above("Bill.agreed", self.total, self.agreed.up_to):
            raise BadContent(
                "Bill.total: above the sum the owner agreed to. Ask the owner again and note the yes."
            )
        for name, amount in (("paid", self.paid), ("credited", self.credited)):
            if amount is not None:
                _above(f"Bill.{name}", amount, self.total)

    @property
    def owed(self) -> Money:
        """What is still to be paid; below zero when too much was."""
        taken = [amount for amount in (self.paid, self.credited) if amount is not None]
        return self.total - Money.total(taken, self.total.currency)


def _check_lines(where: str, lines: tuple[Line, ...]) -> None:
    if not lines:
        raise BadContent(f"{where}.lines: none. Expected at least one line.")


def _above(where: str, amount: Money, bound: Money) -> bool:
    try:
        return amount > bound
    except MoneyError as error:
        raise BadContent(f"{where}: {error}") from error
