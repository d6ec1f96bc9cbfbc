"""Money: exact sums, one currency at a time, read and written as the workshop's country does."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.pricing.money import Money, MoneyError, exponent

# Minor units of ISO 4217 (from memory of its list one, not from the standard at hand).
ISO_4217_MINOR_UNITS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF",
    2: "AUD BRL CAD CHF CNY CZK DKK EUR GBP HKD HUF INR MXN NOK NZD PLN RON SEK SGD THB TRY USD ZAR",
    3: "BHD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
WRITTEN = [
    ("en_GB", "EUR", 123450, "€1,234.50"),
    ("de_DE", "EUR", 123450, "1.234,50\u00a0€"),
    ("fr_FR", "EUR", 123450, "1\u202f234,50\u00a0€"),
    ("nl_NL", "EUR", 123450, "€\u00a01.234,50"),
    ("de_CH", "CHF", 123450, "CHF\u00a01’234.50"),
    ("ja_JP", "JPY", 1234, "￥1,234"),
    ("en_IN", "INR", 12345678, "₹1,23,456.78"),
]


@pytest.mark.parametrize(
    ("decimals", "code"),
    [(decimals, code) for decimals, codes in ISO_4217_MINOR_UNITS.items() for code in codes.split()],
)
def test_a_currency_has_the_decimals_of_the_standard(decimals: int, code: str) -> None:
    assert exponent(code) == decimals


@pytest.mark.parametrize("code", ["eur", "", "XYZ1", "EURO", "€", None, 5])
def test_it_refuses_what_is_no_currency_and_shows_it(code: object) -> None:
    with pytest.raises(MoneyError, match="Unknown currency") as refusal:
        Money(1, code)  # type: ignore[arg-type]
    assert repr(code) in str(refusal.value)


@pytest.mark.parametrize("minor", [1.0, "1", True, None, Decimal(1), 2**63])
def test_it_refuses_what_is_no_whole_number_that_can_be_stored(minor: object) -> None:
    with pytest.raises(MoneyError):
        Money(minor, "EUR")  # type: ignore[arg-type]


def test_it_adds_up_without_losing_a_cent() -> None:
    assert Money.total([Money(10, "EUR")] * 3 + [Money(-5, "EUR")], "EUR") == Money(25, "EUR")
    assert Money.total([], "EUR") == Money.zero("EUR")
    assert 3 * Money(33, "EUR") - Money(99, "EUR") == Money.zero("EUR")
    assert not Money.zero("EUR")
    assert Money(1, "EUR")


@pytest.mark.parametrize(
    "mix", ["a + b", "a - b", "a < b", "a <= b", "a > b", "a >= b", "Money.total([a, b], 'EUR')"]
)
def test_it_refuses_to_mix_two_currencies(mix: str) -> None:
    with pytest.raises(MoneyError, match="one currency"):
        eval(mix, {"a": Money(1, "EUR"), "b": Money(1, "JPY"), "Money": Money})


def test_two_currencies_are_never_equal() -> None:
    assert Money(0, "EUR") != Money(0, "JPY")


def test_it_refuses_to_be_added_to_a_bare_number() -> None:
    with pytest.raises(TypeError):
        Money(1, "EUR") + 1  # type: ignore[operator]
    with pytest.raises(TypeError):
        Money(1, "EUR") * 1.5  # type: ignore[operator]


@pytest.mark.parametrize(
    ("minor", "factor", "expected"),
    [
        (6000, Fraction(25, 60), 2500),  # 25 minutes of 60.00 an hour
        (6000, Decimal("0.1"), 600),
        (5, Fraction(1, 2), 3),
        (-5, Fraction(1, 2), -3),
        (4, Fraction(1, 3), 1),
        (5, Fraction(1, 3), 2),
        (7, 0, 0),
    ],
)
def test_a_rate_times_hours_rounds_halves_away_from_zero(minor: int, factor: Fraction, expected: int) -> None:
    assert Money(minor, "EUR").times(factor) == Money(expected, "EUR")


@pytest.mark.parametrize("factor", [0.5, True, "2", Decimal("NaN"), Decimal("Infinity")])
def test_it_refuses_an_inexact_factor(factor: object) -> None:
    with pytest.raises(MoneyError, match="Invalid factor"):
        Money(1, "EUR").times(factor)  # type: ignore[arg-type]


def test_it_rounds_to_the_smallest_coin() -> None:
    assert [Money(minor, "CHF").rounded_to(5).minor for minor in (1202, 1203, 1207, 1208, -1203)] == [
        1200, 1205, 1205, 1210, -1205,
    ]  # fmt: skip
    with pytest.raises(MoneyError):
        Money(1, "CHF").rounded_to(0)


@pytest.mark.parametrize(("locale", "currency", "minor", "text"), WRITTEN)
def test_it_is_written_as_the_country_writes_it(locale: str, currency: str, minor: int, text: str) -> None:
    assert Money(minor, currency).format(locale) == text


@pytest.mark.parametrize(("locale", "currency", "minor", "text"), WRITTEN)
def test_what_it_writes_it_reads_back(locale: str, currency: str, minor: int, text: str) -> None:
    assert Money.parse(text, currency, locale) == Money(minor, currency)


@pytest.mark.parametrize(
    ("text", "currency", "locale", "minor"),
    [
        ("145", "EUR", "en_GB", 14500),
        ("145.5", "EUR", "en_GB", 14550),
        (" € 12.50 ", "EUR", "en_GB", 1250),
        ("12.50eur", "EUR", "en-GB", 1250),
        (".5", "EUR", "en_GB", 50),
        ("-3.00", "EUR", "en_GB", -300),
        ("−3.00", "EUR", "en_GB", -300),
        ("- 3.00 EUR", "EUR", "en_GB", -300),
        ("1234,5", "EUR", "de_DE", 123450),
        ("1.234", "EUR", "de_DE", 123400),  # the point groups thousands there
        ("1 234,50", "EUR", "fr_FR", 123450),
        ("1'234.50", "CHF", "de_CH", 123450),
        ("1,234", "JPY", "ja_JP", 1234),
        ("¥１２３４", "JPY", "ja_JP", 1234),
        ("1.250", "TND", "en_GB", 1250),
    ],
)
def test_it_reads_what_people_type(text: str, currency: str, locale: str, minor: int) -> None:
    assert Money.parse(text, currency, locale) == Money(minor, currency)


@pytest.mark.parametrize(
    ("text", "locale", "reason"),
    [
        ("", "en_GB", "No amount given"),
        ("   ", "en_GB", "No amount given"),
        ("€", "en_GB", "No amount given"),
        ("145,00", "en_GB", "Not an amount"),  # read loosely this would be 14500
        ("145.00", "de_DE", "Not an amount"),
        ("12,34.5", "en_GB", "Not an amount"),
        ("1e5", "en_GB", "Not an amount"),
        ("NaN", "en_GB", "Not an amount"),
        ("Infinity", "en_GB", "Not an amount"),
        ("1_000", "en_GB", "Not an amount"),
        ("$145", "en_GB", "Not an amount"),
        ("145 GBP", "en_GB", "Not an amount"),
        ("a hundred", "en_GB", "Not an amount"),
        ("1.005", "en_GB", "Too many decimals"),
        ("9" * 22, "en_GB", "too large"),
        ("9" * 5000, "en_GB", "Not an amount"),
        (".", "en_GB", "Not an amount"),
        ("--1", "en_GB", "Not an amount"),
    ],
)
def test_it_refuses_what_is_no_amount_there_and_says_what_would_be(
    text: str, locale: str, reason: str
) -> None:
    with pytest.raises(MoneyError, match=reason) as refusal:
        Money.parse(text, "EUR", locale)
    assert "\n" not in str(refusal.value)
    assert len(str(refusal.value)) < 200
    assert "Expected" in str(refusal.value)


def test_it_refuses_an_unknown_locale() -> None:
    with pytest.raises(MoneyError, match="Unknown locale"):
        Money(1, "EUR").format("xx_NOWHERE")


@given(
    minor=st.integers(-(10**15), 10**15),
    currency=st.sampled_from(["EUR", "GBP", "JPY", "CHF", "TND", "CLF"]),
    locale=st.sampled_from(
        ["en_GB", "de_DE", "fr_FR", "nl_NL", "de_CH", "sv_SE", "pl_PL", "en_IN", "ja_JP", "pt_PT"]
    ),
)
def test_every_amount_survives_being_written_and_read(minor: int, currency: str, locale: str) -> None:
    amount = Money(minor, currency)
    assert Money.parse(amount.figure(locale), currency, locale) == amount
    assert Money.parse(amount.format(locale), currency, locale) == amount


@given(st.text(max_size=30), st.sampled_from(["en_GB", "de_DE", "fr_FR", "ar_EG", "de_CH"]))
def test_any_text_is_an_amount_or_a_plain_refusal(text: str, locale: str) -> None:
    try:
        said = Money.parse(text, "EUR", locale).format(locale)
    except MoneyError as refusal:
        said = str(refusal)
    assert said
    assert "\n" not in said
