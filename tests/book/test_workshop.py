"""What the workshop has chosen for itself."""

import pytest

from pegwood.book.models import DiaryEntry, Setting
from pegwood.book.refusal import Refused
from pegwood.book.workshop import Workshop, change_settings, says, settings, workshop

pytestmark = pytest.mark.django_db


def test_what_nobody_chose_stands_at_its_default(db):
    assert workshop() == Workshop()


def test_a_change_holds_and_is_in_the_diary(db):
    change_settings({"name": "The Lantern Bench", "hourly_rate": "6600"}, by="bench")
    assert (workshop().name, workshop().hourly_rate) == ("The Lantern Bench", 6600)
    entry = DiaryEntry.objects.get(what="changed settings")
    assert entry.job is None
    assert (entry.old["hourly_rate"], entry.new["hourly_rate"]) == (0, 6600)


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("currency", "EURO", "currency"),
        ("currency", "XXQ", "currency"),
        ("time_zone", "Atlantis", "Europe/Oslo"),
        ("locale", "xx_YY_zz", "locale"),
        ("hourly_rate", "a lot", "whole number"),
        ("hourly_rate", "-1", "whole number"),
        ("reading", "roughly", "'exact' or 'as marked'"),
        ("limits", "{", "limits"),
        ("limits", '[{"kind": "leaf"}]', "missing"),
        ("colour", "blue", "There is no setting"),
        ("price_valid_days", "100000000", "from 0 to 3650"),
        ("guarantee_months", "200", "from 0 to 120"),
        ("repairer", "x" * 81, "at most 80"),
        ("mark", "f" * 64, "no picture in the file store"),
    ],
)
def test_a_value_that_cannot_be_is_refused_and_nothing_changes(db, name, value, says):
    with pytest.raises(Refused, match=says):
        change_settings({"name": "The Lantern Bench", name: value}, by="bench")
    assert not Setting.objects.exists()


def test_changing_nothing_writes_nothing(db):
    change_settings({"currency": "EUR"}, by="bench")
    assert not DiaryEntry.objects.exists()


def test_every_setting_says_what_it_is_for(db):
    assert all(says(name) for name in settings())


def test_a_setting_of_an_older_program_is_left_out(db):
    Setting.objects.create(key="gone", value=1)
    assert workshop() == Workshop()
