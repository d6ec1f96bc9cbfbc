"""The price, the yes, the bill."""

import pytest

from book.cast import BY
from pegwood.book import agreeing, moving
from pegwood.book.agreeing import Line
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


def test_the_price_is_the_sum_of_its_lines(looked_over):
    lines = [
        Line(what="clean", amount=euros(14500)),
        Line(what="spring", kind="part", amount=euros(1250)),
    ]
    assert agreeing.tell_price(looked_over, lines, by=BY).price == euros(15750)


def test_time_is_priced_at_the_workshops_rate(looked_over):
    change_settings({"hourly_rate": 6600}, by=BY)
    # 50 minutes of 66.00 an hour: 55.00, by arithmetic
    told = agreeing.tell_price(looked_over, [Line(what="clean", minutes=50)], by=BY)
    assert told.price == euros(5500)


def test_time_without_a_rate_is_refused(looked_over):
    with pytest.raises(Refused, match="no hourly rate"):
        agreeing.tell_price(looked_over, [Line(what="clean", minutes=50)], by=BY)


def test_a_price_without_a_line_is_refused(looked_over):
    with pytest.raises(Refused, match="no line"):
        agreeing.tell_price(looked_over, [], by=BY)


def test_a_refused_line_leaves_the_old_price_standing(priced):
    with pytest.raises(Refused, match="neither time nor sum"):
        agreeing.tell_price(priced, [Line(what="clean", amount=euros(1)), Line(what="shim")], by=BY)
    priced.refresh_from_db()
    assert priced.price == euros(14500)
    assert priced.lines.get().what == "clean the shutter"


def test_a_line_in_another_money_is_refused(looked_over):
    with pytest.raises(Refused, match="kept in EUR"):
        agreeing.tell_price(looked_over, [Line(what="clean", amount=Money(100, "CHF"))], by=BY)


def test_the_yes_says_how_and_up_to_what(agreed):
    assert agreed.agreed_up_to == euros(18000)
    entry = agreed.diary.get(what="recorded the yes")
    assert (entry.text, entry.new["agreed_up_to_minor"]) == ("by telephone", 18000)


def test_a_yes_needs_a_how(priced):
    with pytest.raises(Refused, match="How did the owner say yes"):
        agreeing.record_yes(priced, how="", by=BY)


def test_nobody_agrees_to_less_than_the_price(priced):
    with pytest.raises(Refused, match="below the price"):
        agreeing.record_yes(priced, how="by letter", up_to=euros(14499), by=BY)


def test_a_yes_before_a_price_is_refused(looked_over):
    with pytest.raises(Refused, match="no told price"):
        agreeing.record_yes(looked_over, how="by letter", by=BY)


def test_a_new_price_undoes_the_yes_to_the_old_one(on_the_bench):
    told = agreeing.tell_price(on_the_bench, [Line(what="new spring too", amount=euros(26000))], by=BY)
    assert (told.standing, told.agreed_up_to) == ("priced", None)
    entry = told.diary.filter(what="told the price").last()
    assert entry.new["before"] == {"price_minor": 14500, "agreed_up_to_minor": 18000, "bill_lines": 0}


def test_a_new_price_takes_the_bill_off_that_stood_under_the_old_one(on_the_bench):
    agreeing.write_bill(on_the_bench, [Line(what="cleaned", amount=euros(17000))], by=BY)
    told = agreeing.tell_price(on_the_bench, [Line(what="less after all", amount=euros(5000))], by=BY)
    assert not told.lines.filter(sheet="bill").exists()
    assert told.diary.filter(what="told the price").last().new["before"]["bill_lines"] == 1


def test_lines_that_come_to_less_than_nothing_are_refused(looked_over):
    lines = [Line(what="clean", amount=euros(500)), Line(what="old friend", amount=euros(-600))]
    with pytest.raises(Refused, match="less than nothing"):
        agreeing.tell_price(looked_over, lines, by=BY)


def test_a_yes_up_to_nothing_is_not_a_yes_to_the_price(priced):
    with pytest.raises(Refused, match="below the price"):
        agreeing.record_yes(priced, how="by letter", up_to=euros(0), by=BY)


def test_a_line_too_long_is_refused_and_not_cut(looked_over):
    with pytest.raises(Refused, match="longer than 160"):
        agreeing.tell_price(looked_over, [Line(what="x" * 161, amount=euros(1))], by=BY)


def test_a_bill_beyond_what_was_agreed_is_refused(ready):
    with pytest.raises(Refused, match="Ask the owner again"):
        agreeing.write_bill(ready, [Line(what="all of it", amount=euros(18001))], by=BY)
    assert not ready.lines.filter(sheet="bill").exists()


def test_a_bill_up_to_what_was_agreed_stands(ready):
    assert agreeing.write_bill(ready, [Line(what="all of it", amount=euros(18000))], by=BY) == euros(18000)


def test_a_bill_before_the_work_is_refused(agreed):
    with pytest.raises(Refused, match="when the work is done"):
        agreeing.write_bill(agreed, [Line(what="all of it", amount=euros(100))], by=BY)


def test_labour_is_rounded_to_the_whole_minor_unit():
    # 7 minutes of 65.00 an hour is 7.58333...
    assert agreeing.labour(7, euros(6500)) == euros(758)


def test_proving_may_turn_up_more_only_after_asking_again(on_the_bench):
    moving.prove(on_the_bench, by=BY)
    with pytest.raises(Refused, match="before it is being proved"):
        agreeing.tell_price(on_the_bench, [Line(what="more", amount=euros(1))], by=BY)
