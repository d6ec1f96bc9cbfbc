"""
Money as whole minor units of one currency, so that no sum is ever off by a rounding.

The number of decimals of a currency (the *minor unit* of ISO 4217) is Babel's figure from the Unicode CLDR.
For a few currencies of very small unit (ALL, IQD, RSD, YER and the like) CLDR follows the shops and says 0
where the standard says 2 or 3; such an amount is then kept and printed in whole units. A test pins the
figures, because a Babel that changed one would change what a stored amount means.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from functools import lru_cache

from babel import Locale, UnknownLocaleError
from babel.numbers import (
    NumberFormatError,
    format_currency,
    format_decimal,
    get_currency_precision,
    get_currency_symbol,
    get_decimal_symbol,
    get_group_symbol,
    list_currencies,
    parse_decimal,
)

__all__ = ["Money", "MoneyError", "exponent"]

LARGEST_MINOR = 2**63 - 1  # what one column of every database the book runs on can hold
_SPACES = "\u0020\u00a0\u2009\u202f"
_APOSTROPHES = "'\u2019"
_MARKS = "\u200e\u200f\u061c"  # direction marks that some locales write around a sign


class MoneyError(ValueError):
    """An amount that cannot be: the message is one line that says what is wrong and what would be right."""


@lru_cache(maxsize=1)
def _known_currencies() -> frozenset[str]:
    return frozenset(list_currencies())


@lru_cache(maxsize=64)
def _locale(identifier: str) -> Locale:
    try:
        return Locale.parse(identifier.replace("-", "_"))
    except (UnknownLocaleError, ValueError, TypeError) as error:
        raise MoneyError(
            f"Unknown locale: {identifier!r}. Expected one such as 'en_GB' or 'nl_NL'."
        ) from error


def exponent(currency: str) -> int:
    """
    Number of decimals of a currency.

    Parameters
    ----------
    currency : str
        ISO 4217 alphabetic code, in capitals.

    Returns
    -------
    exponent : int
        2 for the euro, 0 for the yen, 3 for the Tunisian dinar.

    Raises
    ------
    MoneyError
        When the code is not a currency's.

    Examples
    --------
    >>> exponent("EUR"), exponent("JPY"), exponent("TND")
    (2, 0, 3)
    """
    if not isinstance(currency, str) or currency not in _known_currencies():
        raise MoneyError(
            f"Unknown currency: {currency!r}. Expected an ISO 4217 code in capitals, such as 'EUR'."
        )
    return int(get_currency_precision(currency))


@dataclass(frozen=True, slots=True)
class Money:
    """
    An amount of one currency.

    Parameters
    ----------
    minor : int
        The amount in minor units (cents for the euro, yen for the yen); may be negative.
    currency : str
        ISO 4217 alphabetic code.

    Raises
    ------
    MoneyError
        When `minor` is no whole number or too large to be stored, or `currency` is unknown.

    Examples
    --------
    >>> (Money(14500, "EUR") + Money(250, "EUR")).format("en_GB")
    '€147.50'
    >>> Money(1, "EUR") + Money(1, "JPY")
    Traceback (most recent call last):
    pegwood.pricing.money.MoneyError: Cannot put EUR and JPY together. Expected amounts of one currency.
    """

    minor: int
    currency: str

    def __post_init__(self) -> None:
        if isinstance(self.minor, bool) or not isinstance(self.minor, int):
            raise MoneyError(f"Invalid amount: {self.minor!r}. Expected a whole number of minor units.")
        if abs(self.minor) > LARGEST_MINOR:
            raise MoneyError(f"Amount too large. Expected at most {LARGEST_MINOR} minor units.")
        exponent(self.currency)

    @classmethod
    def zero(cls, currency: str) -> Money:
        """Nothing, of this currency."""
        return cls(0, currency)

    @classmethod
    def total(cls, amounts: Iterable[Money], currency: str) -> Money:
        """
        Sum of amounts, which may be none at all.

        Parameters
        ----------
        amounts : iterable of Money
            All of the same currency.
        currency : str
            The currency of the sum; it must be that of every amount.

        Returns
        -------
        total : Money

        Raises
        ------
        MoneyError
            When an amount is of another currency.
        """
        total = cls.zero(currency)
        for amount in amounts:
            total = total + amount
        return total

    @classmethod
    def parse(cls, text: str, currency: str, locale: str) -> Money:
        """
        Read an amount as a person of this locale types it.

        The decimal and grouping signs are the locale's and are read strictly: `145,00` in an English locale
        is refused and not taken for 14500. The currency's code or sign may stand before or behind.

        Parameters
        ----------
        text : str
            What was typed, such as `145`, `1,234.50`, `€ 12.50` or `12.50 EUR`.
        currency : str
            ISO 4217 code of the amount.
        locale : str
            Such as `en_GB` or `nl-NL`.

        Returns
        -------
        amount : Money

        Raises
        ------
        MoneyError
            When the text is no amount in that locale, has more decimals than the currency, or names another
            currency.

        Examples
        --------
        >>> Money.parse("1.234,50 €", "EUR", "de_DE")
        Money(minor=123450, currency='EUR')
        """
        decimals = exponent(currency)
        spoken = _locale(locale)
        example = _figure(Decimal(1234) + (Decimal("0.5") if decimals else 0), decimals, spoken)
        expected = f"Expected an amount in {currency} such as {example}."
        figure = _bare_figure(str(text), currency, spoken)
        if not figure:
            raise MoneyError(f"No amount given. {expected}")
        try:
            if not re.fullmatch(_figure_pattern(spoken), figure):
                raise NumberFormatError("not a plain figure")
            value = parse_decimal(figure, locale=spoken, strict=True)
        except (NumberFormatError, ArithmeticError) as error:
            raise MoneyError(f"Not an amount: {_short(text)}. {expected}") from error
        minor = value.scaleb(decimals)
        if minor != minor.to_integral_value():
            raise MoneyError(
                f"Too many decimals: {_short(text)}. {currency} has {decimals or 'none'}. {expected}"
            )
        return cls(int(minor), currency)

    @property
    def decimal(self) -> Decimal:
        """The amount in whole units, exact: 145.00 for 14500 euro cents."""
        return Decimal(self.minor).scaleb(-exponent(self.currency))

    def format(self, locale: str) -> str:
        """
        The amount with its currency, as the locale writes it.

        Parameters
        ----------
        locale : str
            Such as `en_GB` or `nl-NL`.

        Returns
        -------
        text : str
            May hold no-break spaces.

        Raises
        ------
        MoneyError
            When the locale is unknown.
        """
        return str(format_currency(self.decimal, self.currency, locale=_locale(locale)))

    def figure(self, locale: str) -> str:
        """
        The amount without its currency, as the locale writes it; what `parse` reads back.

        Parameters
        ----------
        locale : str
            Such as `en_GB` or `nl-NL`.

        Returns
        -------
        text : str

        Raises
        ------
        MoneyError
            When the locale is unknown.
        """
        return _figure(self.decimal, exponent(self.currency), _locale(locale))

    def times(self, factor: int | Decimal | Fraction) -> Money:
        """
        The amount times a factor, such as an hourly rate times hours; halves are rounded away from zero.

        Parameters
        ----------
        factor : int, Decimal or Fraction
            Exact; a float is refused, since 0.1 is none.

        Returns
        -------
        amount : Money

        Raises
        ------
        MoneyError
            When the factor is a float or no finite number.

        Examples
        --------
        >>> Money(6000, "EUR").times(Fraction(25, 60))
        Money(minor=2500, currency='EUR')
        """
        if isinstance(factor, bool) or not isinstance(factor, int | Decimal | Fraction):
            raise MoneyError(f"Invalid factor: {factor!r}. Expected a whole number, a Decimal or a Fraction.")
        if isinstance(factor, Decimal) and not factor.is_finite():
            raise MoneyError(f"Invalid factor: {factor}. Expected a finite number.")
        exact = Fraction(factor) * self.minor
        size = (2 * abs(exact.numerator) + exact.denominator) // (2 * exact.denominator)
        return Money(size if exact >= 0 else -size, self.currency)

    def rounded_to(self, step: int) -> Money:
        """
        The nearest multiple of a step, halves away from zero.

        Parameters
        ----------
        step : int
            In minor units; above zero. 5 for a country without the single cent.

        Returns
        -------
        amount : Money

        Raises
        ------
        MoneyError
            When the step is not above zero.
        """
        if isinstance(step, bool) or not isinstance(step, int) or step < 1:
            raise MoneyError(f"Invalid step: {step!r}. Expected a whole number of minor units above zero.")
        steps = (Decimal(self.minor) / step).quantize(Decimal(1), rounding=ROUND_HALF_UP)
        return Money(int(steps) * step, self.currency)

    def _same_currency(self, other: Money) -> None:
        if other.currency != self.currency:
            raise MoneyError(
                f"Cannot put {self.currency} and {other.currency} together. Expected amounts of one currency."
            )

    def __add__(self, other: Money) -> Money:
        if not isinstance(other, Money):
            return NotImplemented
        self._same_currency(other)
        return Money(self.minor + other.minor, self.currency)

    def __sub__(self, other: Money) -> Money:
        if not isinstance(other, Money):
            return NotImplemented
        self._same_currency(other)
        return Money(self.minor - other.minor, self.currency)

    def __mul__(self, factor: int) -> Money:
        if isinstance(factor, bool) or not isinstance(factor, int):
            return NotImplemented
        return Money(self.minor * factor, self.currency)

    __rmul__ = __mul__

    def __neg__(self) -> Money:
        return Money(-self.minor, self.currency)

    def __lt__(self, other: Money) -> bool:
        if not isinstance(other, Money):
            return NotImplemented
        self._same_currency(other)
        return self.minor < other.minor

    def __le__(self, other: Money) -> bool:
        if not isinstance(other, Money):
            return NotImplemented
        self._same_currency(other)
        return self.minor <= other.minor

    def __gt__(self, other: Money) -> bool:
        if not isinstance(other, Money):
            return NotImplemented
        return other < self

    def __ge__(self, other: Money) -> bool:
        if not isinstance(other, Money):
            return NotImplemented
        return other <= self

    def __bool__(self) -> bool:
        return self.minor != 0


def _figure(value: Decimal, decimals: int, locale: Locale) -> str:
    """The value with exactly so many decimals, grouped as the locale groups (India: 1,00,000)."""
    whole = locale.decimal_formats[None].pattern.split(".")[0]
    pattern = whole + ("." + "0" * decimals if decimals else "")
    return str(format_decimal(value, format=pattern, locale=locale))


def _short(text: str) -> str:
    shown = str(text).strip()
    return repr(shown if len(shown) <= 40 else shown[:39] + "…")


def _bare_figure(text: str, currency: str, locale: Locale) -> str:
    """The figure alone, in the locale's own grouping sign, without the currency's code or sign."""
    figure = _plain(text)
    for sign in (currency, _plain(get_currency_symbol(currency, locale=locale))):
        for pattern in (rf"^(-?)[{_SPACES}]*{re.escape(sign)}", rf"()[{_SPACES}]*{re.escape(sign)}$"):
            stripped, times = re.subn(pattern, r"\1", figure, count=1, flags=re.IGNORECASE)
            if times:
                return _with_own_grouping(stripped, locale)
    return _with_own_grouping(figure, locale)


def _plain(text: str) -> str:
    """Full-width digits and signs as plain ones, one kind of minus, no direction marks."""
    text = text.translate({ord(mark): None for mark in _MARKS}).replace("\u2212", "-")
    return unicodedata.normalize("NFKC", text).strip()


def _with_own_grouping(figure: str, locale: Locale) -> str:
    figure = figure.strip(_SPACES)
    figure = re.sub(rf"^-[{_SPACES}]+", "-", figure)
    group = get_group_symbol(locale)
    for family in (_SPACES, _APOSTROPHES):
        if group in family:
            return re.sub(f"[{family}]", group, figure)
    return figure


def _figure_pattern(locale: Locale) -> str:
    """Digits and the locale's two signs; Decimal alone would take `1e5`, `NaN` and `1_000` for amounts."""
    group, point = re.escape(get_group_symbol(locale)), re.escape(get_decimal_symbol(locale))
    return rf"-?[\d{group}]{{0,24}}(?:{point}\d{{0,12}})?"
