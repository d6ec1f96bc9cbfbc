"""What a sheet comes to while it is typed. Sums are plain arithmetic, written beside them."""

from pegwood.book.agreeing import Line
from pegwood.pricing.money import Money
from pegwood.web.reckoning import reckon

RATE = Money(6000, "EUR")


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


def test_minutes_follow_the_rate_and_a_sum_goes_before_them():
    lines = [Line(what="clean", minutes=20), Line(what="gaskets", minutes=5, amount=euros(750))]
    found = reckon(lines, "EUR", RATE)
    assert found.total == euros(2750)  # 20 min at 60.00 an hour is 20.00, and 7.50
    assert (found.minutes, found.open, found.beyond) == (25, (), None)


def test_what_is_still_open_is_named_and_left_out_of_the_sum():
    lines = [Line(what="clean"), Line(what="", amount=euros(100)), Line(what="oil", minutes=6)]
    found = reckon(lines, "EUR", Money(0, "EUR"))
    assert found.total == euros(100)
    assert len(found.open) == 3
    assert "'clean' has neither time nor sum" in found.open


def test_a_rate_in_another_money_reckons_nothing():
    assert reckon([Line(what="clean", minutes=20)], "GBP", RATE).open


def test_beyond_begins_one_cent_above_what_was_agreed():
    at = reckon([Line(what="a", amount=euros(18000))], "EUR", RATE, agreed_up_to=euros(18000))
    above = reckon([Line(what="a", amount=euros(18001))], "EUR", RATE, agreed_up_to=euros(18000))
    assert (at.beyond, above.beyond) == (None, euros(1))


def test_no_line_at_all_comes_to_nothing():
    assert reckon([], "EUR", RATE).total == euros(0)
