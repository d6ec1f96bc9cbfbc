"""No digit that the uncertainty does not carry, and figures as the country writes them."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegwood.papers import figures
from pegwood.papers.figures import Stated


@pytest.mark.parametrize(
    ("value_s", "half_width_s", "stated"),
    [
        # JCGM 100:2008, 7.2.6 (from memory): u to at most two digits, the estimate to the same place
        (0.0105283, 0.000179, Stated("10.53", "0.18", "ms")),
        (0.0105283, 0.0000995, Stated("10.53", "0.10", "ms")),
        (0.0105283, 0.000096, Stated("10.528", "0.096", "ms")),
        (0.5, 0.0123, Stated("500", "12", "ms")),
        (0.4567, 0.123, Stated("460", "120", "ms")),
        (1.03124, 0.0121, Stated("1.031", "0.012", "s")),
        (2.0, 0.34, Stated("2.00", "0.34", "s")),
        (0.000512, 0.0000041, Stated("0.5120", "0.0041", "ms")),
    ],
)
def test_a_time_is_rounded_to_two_digits_of_its_half_width(
    value_s: float, half_width_s: float, stated: Stated
) -> None:
    assert figures.stated_time(value_s, half_width_s, "en_GB") == stated


@pytest.mark.parametrize(
    ("error_ev", "half_width_ev", "stated"),
    [
        (0.0721, 0.0124, Stated("+0.07", "0.02", "EV")),  # cut at 0.01 EV, so the half-width is rounded up
        (0.0721, 0.004, Stated("+0.07", "0.01", "EV")),
        (-0.304, 0.31, Stated("−0.30", "0.31", "EV")),
        (1.84, 1.26, Stated("+1.8", "1.3", "EV")),
        (-0.004, 0.05, Stated("0.00", "0.05", "EV")),
    ],
)
def test_an_error_bears_its_sign_and_is_never_finer_than_a_hundredth(
    error_ev: float, half_width_ev: float, stated: Stated
) -> None:
    assert figures.stated_error(error_ev, half_width_ev, "en_GB") == stated


@given(st.floats(1e-5, 900), st.floats(1e-4, 0.9))
def test_the_printed_time_lies_within_half_a_place_and_has_two_digits_of_uncertainty(
    value_s: float, relative: float
) -> None:
    half_width_s = value_s * relative
    stated = figures.stated_time(value_s, half_width_s, "en_GB")
    scale = {"s": 1.0, "ms": 1e-3}[stated.unit]
    value, plus_minus = (float(t.replace(",", "")) for t in (stated.value, stated.plus_minus))
    digits = re.sub(r"[.,]", "", stated.plus_minus).strip("0") or "0"
    assert len(digits) <= 2
    assert plus_minus * scale == pytest.approx(half_width_s, rel=0.051)
    places = len(stated.plus_minus.partition(".")[2])
    assert len(stated.value.partition(".")[2]) == places
    place = 10.0**-places if places else 10.0 ** (len(str(int(plus_minus))) - 2) if plus_minus >= 10 else 1.0
    assert abs(value * scale - value_s) <= 0.5000001 * place * scale


@given(st.floats(-8, 8), st.floats(1e-4, 3))
def test_the_printed_interval_of_an_error_is_never_narrower_than_cut(
    error_ev: float, half_width_ev: float
) -> None:
    stated = figures.stated_error(error_ev, half_width_ev, "en_GB")
    printed = float(stated.plus_minus)
    assert printed > 0
    if half_width_ev < 0.1:
        assert printed >= half_width_ev * (1 - 1e-9)
    else:
        assert math.isclose(printed, half_width_ev, rel_tol=0.051)


@pytest.mark.parametrize(
    ("value_s", "text"),
    [
        (1 / 128, "7.813 ms"),
        (1 / 1024, "0.9766 ms"),
        (1 / 60, "16.67 ms"),
        (0.5, "500 ms"),
        (1.0, "1 s"),
        (8.0, "8 s"),
    ],
)
def test_a_target_has_four_digits_and_no_needless_noughts(value_s: float, text: str) -> None:
    assert figures.plain_time(value_s, "en_GB") == text


def test_figures_are_written_as_the_country_writes_them() -> None:
    assert figures.stated_time(1.03124, 0.0121, "de_DE").value == "1,031"
    assert figures.stated_error(-0.304, 0.31, "nl_NL").value == "−0,30"
    assert figures.decimal_number("1.50", "de_DE") == "1,5"
    assert figures.long_date("2026-03-04T10:00:00+01:00", "nl_NL") == "4 maart 2026"


def test_a_share_has_two_digits() -> None:
    assert [figures.percent(share, "en_GB") for share in (0, 0.00012, 0.0123, 0.834, 0.996, 1.0)] == [
        "0\u00a0%", "0.012\u00a0%", "1.2\u00a0%", "83\u00a0%", "100\u00a0%", "100\u00a0%",
    ]  # fmt: skip


def test_a_limit_is_shown_to_a_hundredth_with_its_sign() -> None:
    assert [figures.signed_ev(end, "en_GB") for end in (-1 / 3, 0.5, 0.0, 0.263)] == [
        "−0.33",
        "+0.5",
        "0",
        "+0.26",
    ]
