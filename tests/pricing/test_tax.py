"""Tax on lines: net, tax and gross always agree, whatever is rounded where."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.pricing.money import Money, MoneyError
from pegwood.pricing.tax import NO_TAX, PRICES, ROUNDINGS, TaxRate, add_up

RATES = [NO_TAX, *(TaxRate(Decimal(text)) for text in ("0", "2.6", "5.5", "9", "19", "21", "25.5"))]
LINES = st.lists(st.tuples(st.integers(-(10**7), 10**9), st.sampled_from(RATES)), max_size=15)


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


def summed(lines, prices="gross", rounding="bill"):
    return add_up([(euros(minor), rate) for minor, rate in lines], "EUR", prices=prices, rounding=rounding)


def rate(text: str) -> TaxRate:
    return TaxRate.parse(text)


@pytest.mark.parametrize(
    ("minors", "percent", "prices", "rounding", "net", "tax"),
    [
        # by hand: 21 % of 100.00; 121.00 holds 21.00
        ([10000], "21", "net", "bill", 10000, 2100),
        ([12100], "21", "gross", "bill", 10000, 2100),
        # three of 0.07 at 21 %: 0.0147 each is 0.01, together 0.03; of 0.21 it is 0.0441, which is 0.04
        ([7, 7, 7], "21", "net", "line", 21, 3),
        ([7, 7, 7], "21", "net", "bill", 21, 4),
        # half a cent goes away from zero, on a credit too: 5 % of 0.10 is 0.005
        ([10], "5", "net", "bill", 10, 1),
        ([-10], "5", "net", "bill", -10, -1),
        # 145.00 with 19 % in it: 145 x 19/119 = 23.1512...
        ([14500], "19", "gross", "bill", 12185, 2315),
    ],
)
def test_sums_worked_by_hand(minors, percent, prices, rounding, net, tax):
    sums = summed([(minor, rate(percent)) for minor in minors], prices, rounding)
    assert (sums.net, sums.tax) == (euros(net), euros(tax))


def test_each_rate_stands_by_itself_the_highest_first_and_none_last():
    sums = summed([(100, NO_TAX), (200, rate("9")), (300, rate("21")), (400, rate("9"))], "net")
    assert [(one.rate.figure, one.net.minor, one.tax.minor) for one in sums.of_rates] == [
        ("21", 300, 63), ("9", 600, 54), ("", 100, 0)
    ]  # fmt: skip


def test_the_zero_rate_is_another_thing_than_no_tax():
    assert len(summed([(100, NO_TAX), (100, rate("0"))]).of_rates) == 2


@given(LINES, st.sampled_from(PRICES), st.sampled_from(ROUNDINGS))
def test_no_cent_is_lost_between_lines_net_tax_and_gross(lines, prices, rounding):
    sums = summed(lines, prices, rounding)
    stated = euros(sum(minor for minor, _ in lines))
    assert (sums.gross if prices == "gross" else sums.net) == stated
    assert sums.net + sums.tax == sums.gross
    assert Money.total(sums.line_nets, "EUR") == sums.net
    assert Money.total([one.gross for one in sums.of_rates], "EUR") == sums.gross
    for one in sums.of_rates:
        own = [net for net, (_, of) in zip(sums.line_nets, lines, strict=True) if of == one.rate]
        assert Money.total(own, "EUR") == one.net


@given(LINES, st.sampled_from(PRICES), st.sampled_from(ROUNDINGS))
def test_a_rates_tax_is_the_exact_one_to_half_a_unit_for_each_rounding(lines, prices, rounding):
    for one in summed(lines, prices, rounding).of_rates:
        amounts = [minor for minor, of in lines if of == one.rate]
        part = Fraction(one.rate.percent or 0) / 100
        exact = sum(amounts) * (part if prices == "net" else part / (1 + part))
        roundings = len(amounts) if rounding == "line" else 1
        assert abs(one.tax.minor - exact) <= Fraction(roundings, 2)


@given(st.integers(-(10**9), 10**9), st.sampled_from([own for own in RATES if own.percent is not None]))
def test_net_prices_are_taxed_as_decimal_rounds_half_up(minor, own):
    due = (Decimal(minor) * own.percent / 100).quantize(Decimal(1), ROUND_HALF_UP)
    assert summed([(minor, own)], "net").tax.minor == int(due)


@given(LINES, st.sampled_from(PRICES), st.sampled_from(ROUNDINGS))
def test_a_credit_undoes_a_bill_to_the_cent(lines, prices, rounding):
    bill = summed(lines, prices, rounding)
    credit = summed([(-minor, own) for minor, own in lines], prices, rounding)
    assert (credit.net, credit.tax, credit.gross) == (-bill.net, -bill.tax, -bill.gross)
    assert [-net for net in credit.line_nets] == list(bill.line_nets)


def test_a_line_in_another_money_is_refused():
    with pytest.raises(MoneyError, match="one currency"):
        add_up([(Money(1, "CHF"), NO_TAX)], "EUR")


@pytest.mark.parametrize("text", ["-1", "101", "1e3", "x", "5,5", "1.23456", "Infinity", "٢١"])
def test_a_rate_that_cannot_be_is_refused_with_what_would_be_right(text):
    with pytest.raises(MoneyError, match="Expected"):
        TaxRate.parse(text)


def test_a_rate_reads_back_as_it_was_written():
    assert [TaxRate.parse(text).figure for text in ("21", "21.0", "5.50", "0", "", "100")] == [
        "21", "21", "5.5", "0", "", "100"
    ]  # fmt: skip
    assert TaxRate.parse("21.00") == TaxRate.parse("21")
