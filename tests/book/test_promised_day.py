"""A promised day is held against the workshop's own today. Offsets as in the zone tables of tzdata."""

from datetime import UTC, date, datetime

import pytest

from book.cast import BENNO, BY, REFLEX
from pegwood.book.arriving import take_in
from pegwood.book.refusal import Refused
from pegwood.book.workshop import change_settings

pytestmark = pytest.mark.django_db
TWO_IN_THE_MORNING_UTC = datetime(2031, 3, 4, 2, 0, tzinfo=UTC)


def test_today_can_be_promised_where_it_is_still_yesterday_in_utc():
    change_settings({"time_zone": "America/Los_Angeles"}, by=BY)
    job = take_in(BENNO, REFLEX, by=BY, promised_on=date(2031, 3, 3), at=TWO_IN_THE_MORNING_UTC)
    assert job.promised_on == date(2031, 3, 3)


def test_yesterday_cannot_be_promised_where_it_is_already_tomorrow_in_utc():
    change_settings({"time_zone": "Pacific/Auckland"}, by=BY)
    noon_utc = datetime(2031, 3, 3, 12, 0, tzinfo=UTC)  # one in the morning of the 4th in Auckland
    with pytest.raises(Refused, match="is past"):
        take_in(BENNO, REFLEX, by=BY, promised_on=date(2031, 3, 3), at=noon_utc)
