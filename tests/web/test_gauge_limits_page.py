"""The page on which the workshop sets limits of its own for the other instruments."""

from html import unescape

import pytest
from django.urls import reverse

from pegwood.book.gauging.limits import LIMITS
from pegwood.book.models import DiaryEntry
from pegwood.book.workshop import change_settings, workshop

pytestmark = pytest.mark.usefixtures("halm")


def page():
    return reverse("gauge_limits")


def test_every_limit_stands_there_with_its_default_source_and_mark(client):
    shown = unescape(client.get(page()).content.decode())
    for key, limit in LIMITS.items():
        assert f'name="{key}"' in shown
        assert limit.words in shown
    assert "Left empty: ±0.5 EV." in shown
    assert "(practice)" in shown
    assert "Left empty: at most 0.03 mm." in shown
    assert "Left empty: at most 100 mN m." in shown
    assert "Left empty: at least 0 mm." in shown  # frames must not lie over each other
    assert "Left empty: none." in shown  # of glass
    assert page() in client.get(reverse("workshop")).content.decode()


def test_a_figure_is_typed_in_its_own_unit_and_kept_in_the_datas(client):
    answer = client.post(page(), {"meter.error_ev": "0,3", "rangefinder.circle_135_m": "0.025"})
    assert answer["Location"] == page()
    assert workshop().gauge_limits == pytest.approx(
        {"meter.error_ev": 0.3, "rangefinder.circle_135_m": 25e-6}
    )
    shown = client.get(page()).content.decode()
    assert 'value="0.3"' in shown
    assert 'value="0.025"' in shown


def test_saving_what_is_shown_changes_nothing(client):
    change_settings({"gauge_limits": {"rangefinder.vertical_rad": 0.00116355}}, by="Tove Halm")
    form = client.get(page()).context["form"]
    client.post(page(), {name: form[name].value() or "" for name in form.fields})
    assert workshop().gauge_limits["rangefinder.vertical_rad"] == pytest.approx(0.00116355, rel=1e-5)


def test_an_emptied_field_gives_way_to_the_default(client):
    change_settings({"gauge_limits": {"meter.error_ev": 0.3}}, by="Tove Halm")
    client.post(page(), {"meter.error_ev": ""})
    assert workshop().gauge_limits == {}
    assert DiaryEntry.objects.filter(what="changed settings").count() >= 2
    shown = client.get(reverse("workshop")).content.decode()
    assert "meter: error ev" in shown


@pytest.mark.parametrize(
    ("typed", "says"),
    [("much", "plain number"), ("0", "At least 0.01"), ("99", "At most 5"), ("nan", "plain number")],
)
def test_what_cannot_be_is_marked_and_nothing_is_set(client, typed, says):
    answer = client.post(page(), {"meter.error_ev": typed, "meter.scatter_ev": "0.1"})
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert workshop().gauge_limits == {}
