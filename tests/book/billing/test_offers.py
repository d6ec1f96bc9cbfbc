"""What the owner was told is kept; the answer stands on it; what grows is told anew."""

from datetime import UTC, date, datetime, timedelta

import pytest

from book.billing.conftest import euros
from book.cast import BY
from pegwood.book import agreeing, leaving
from pegwood.book.agreeing import Line
from pegwood.book.billing.answers import offer_again, record_no
from pegwood.book.billing.offers import OfferTerms, asks_again, latest
from pegwood.book.models import ClockEntry
from pegwood.book.refusal import Refused
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.book.workshop import change_settings
from pegwood.pricing.agreed import Reach
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db
CLEAN = Line(what="clean the shutter", amount=euros(14500))


def test_what_was_told_before_is_kept_as_it_was_told(priced):
    agreeing.tell_price(priced, [Line(what="less", amount=euros(9000))], by=BY)
    first, second = priced.offers.all()
    assert (first.total, first.lines[0]["what"]) == (euros(14500), "clean the shutter")
    assert (second.total, second.place) == (euros(9000), 2)


def test_it_stands_as_long_as_the_workshop_says_or_as_was_told(looked_over):
    at = datetime(2031, 3, 3, 9, tzinfo=UTC)
    agreeing.tell_price(looked_over, [CLEAN], by=BY, at=at)
    assert latest(looked_over).valid_until == date(2031, 4, 2)
    terms = OfferTerms(valid_until=date(2031, 3, 10))
    agreeing.tell_price(looked_over, [CLEAN], by=BY, at=at, terms=terms)
    assert latest(looked_over).valid_until == date(2031, 3, 10)


@pytest.mark.parametrize(
    ("terms", "says"),
    [
        (OfferTerms(valid_until=date(2020, 1, 1)), "later day"),
        (OfferTerms(deposit=euros(14501)), "above the price"),
        (OfferTerms(deposit=Money(1, "CHF")), "kept in EUR"),
        (OfferTerms(no_costs=euros(-1)), "below nothing"),
        (OfferTerms(if_no="sold"), "together"),
    ],
)
def test_terms_that_cannot_be_are_refused_and_the_old_price_stands(priced, terms, says):
    with pytest.raises(Refused, match=says):
        agreeing.tell_price(priced, [CLEAN], by=BY, terms=terms)
    assert priced.offers.count() == 1


def test_the_deposit_is_the_workshops_share_in_whole_euros(looked_over):
    change_settings({"deposit_percent": 33}, by=BY)
    agreeing.tell_price(looked_over, [CLEAN], by=BY)
    assert latest(looked_over).deposit == euros(4800)  # 47.85, rounded to the whole euro


def test_tax_comes_on_top_where_prices_are_net(looked_over):
    change_settings({"prices_are": "net", "tax_labour": "9", "tax_part": "21"}, by=BY)
    lines = [CLEAN, Line(what="spring", kind="part", amount=euros(1000))]
    told = agreeing.tell_price(looked_over, lines, by=BY)
    # 145.00 + 9 % = 158.05; 10.00 + 21 % = 12.10
    assert told.price == euros(17015)
    assert [(tax["percent"], tax["tax_minor"]) for tax in latest(told).taxes] == [("21", 210), ("9", 1305)]


def test_the_yes_stands_on_the_offer(agreed):
    offer = latest(agreed)
    assert (offer.answer, offer.up_to, offer.answered_how) == ("yes", euros(18000), "by telephone")


def test_a_no_to_a_whole_camera_sends_it_back_at_once(priced):
    gone = record_no(priced, "not worth it to her", by=BY)
    assert (gone.standing, latest(gone).answer) == ("sent back unmended", "no")


def test_a_no_to_one_that_is_apart_waits_until_it_is_together_again(priced):
    log_off(priced, OffDetails(name="top cover"), by=BY)
    assert record_no(priced, "too dear", by=BY).standing == "priced"
    with pytest.raises(Refused, match="put together"):
        leaving.send_back_unmended(priced, "", by=BY)


def test_unless_it_was_agreed_that_it_goes_back_as_it_lies(looked_over):
    log_off(looked_over, OffDetails(name="top cover"), by=BY)
    agreeing.tell_price(looked_over, [CLEAN], by=BY, terms=OfferTerms(if_no="as it is"))
    assert record_no(looked_over, "too dear", by=BY).standing == "sent back unmended"


def test_or_the_owner_wants_it_so_now(priced):
    log_off(priced, OffDetails(name="top cover"), by=BY)
    assert record_no(priced, "wants it in a bag", by=BY, as_it_is=True).standing == "sent back unmended"


@pytest.mark.parametrize("words", ["", "  "])
def test_a_no_needs_its_words(priced, words):
    with pytest.raises(Refused, match="answer"):
        record_no(priced, words, by=BY)


def test_what_a_no_costs_can_be_billed_and_no_more(looked_over):
    agreeing.tell_price(looked_over, [CLEAN], by=BY, terms=OfferTerms(no_costs=euros(2500)))
    gone = record_no(looked_over, "too dear", by=BY)
    with pytest.raises(Refused, match=r"agreed up to €25\.00"):
        agreeing.write_bill(gone, [Line(what="looked it over", amount=euros(2501))], by=BY)
    assert agreeing.write_bill(gone, [Line(what="looked it over", amount=euros(2500))], by=BY) == euros(2500)


def test_a_new_offer_is_the_old_one_and_what_comes_on_top(on_the_bench):
    told = offer_again(on_the_bench, euros(19900), "the spring is broken too", by=BY)
    assert (told.standing, told.price, told.agreed_up_to) == ("priced", euros(19900), None)
    offer = latest(told)
    assert [(line["what"], line["amount_minor"]) for line in offer.lines] == [
        ("clean the shutter", 14500),
        ("the spring is broken too", 5400),
    ]


@pytest.mark.parametrize(
    ("sum_", "why", "says"),
    [
        (euros(14500), "more", "not above"),
        (euros(20000), " ", "dearer"),
        (Money(20000, "CHF"), "x", "in EUR"),
    ],
)
def test_a_new_offer_that_cannot_be_is_refused(on_the_bench, sum_, why, says):
    with pytest.raises(Refused, match=says):
        offer_again(on_the_bench, sum_, why, by=BY)


def test_the_alarm_comes_before_the_sum_is_passed(on_the_bench):
    assert asks_again(on_the_bench, euros(17000)).reach is Reach.WITHIN
    assert asks_again(on_the_bench, euros(17000), not_more_than=euros(18500)).reach is Reach.MAY_PASS
    ask = asks_again(on_the_bench, euros(20000))
    assert (ask.reach, ask.over, ask.now) == (Reach.WILL_PASS, euros(2000), True)


def test_what_the_clock_has_made_already_counts_for_the_alarm(on_the_bench):
    change_settings({"hourly_rate": 6000}, by=BY)
    now = on_the_bench.stands_since + timedelta(minutes=1)
    ClockEntry.objects.create(job=on_the_bench, kind="run", minutes=181, at=now, by=BY)
    # 181 minutes of 60.00 an hour are 181.00, 1.00 beyond what was agreed
    ask = asks_again(on_the_bench, euros(17000))
    assert (ask.reach, ask.over) == (Reach.PASSED, euros(100))


def test_nothing_is_asked_where_nothing_is_agreed(priced):
    assert asks_again(priced, euros(99999)) is None
