"""The workshop's own page."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from pegwood.book.models import DiaryEntry, Gear
from pegwood.book.workshop import settings as all_settings
from pegwood.book.workshop import workshop
from pegwood.web.forms.workshop import ELSEWHERE, SettingsForm, as_marked


def typed(**more):
    return {
        "name": "Halm",
        "repairer": "Tove Halm",
        "address": "Ropewalk 4\nMaarhaven",
        "currency": "EUR",
        "hourly_rate": "62.50",
        "locale": "en_GB",
        "time_zone": "Europe/Amsterdam",
        "guarantee_months": "12",
        "price_valid_days": "30",
        "tray_columns": "4",
        "tray_rows": "3",
        "knowledge_counts_as": "10",
        "last_buy_years": "5",
        "reading": "exact",
        **more,
    }


def picture(mode="RGB", kind="PNG"):
    out = io.BytesIO()
    Image.new(mode, (40, 20), 120 if mode == "L" else (120, 90, 20)).save(out, kind)
    return SimpleUploadedFile("mark.png", out.getvalue(), "image/png")


def test_every_setting_of_the_book_stands_on_the_page():
    assert {*SettingsForm.base_fields, *ELSEWHERE} == set(all_settings())


def test_what_is_typed_is_set_and_the_diary_says_what_it_was(client, halm):
    assert client.post(reverse("workshop"), typed()).status_code == 302
    now = workshop()
    assert (now.name, now.hourly_rate, now.guarantee_months) == ("Halm", 6250, 12)
    assert now.address == "Ropewalk 4\nMaarhaven"
    entry = DiaryEntry.objects.last()
    assert (entry.what, entry.old["hourly_rate"], entry.new["hourly_rate"]) == (
        "changed settings",
        6000,
        6250,
    )


def test_saving_what_is_shown_changes_nothing(client, halm):
    form = client.get(reverse("workshop")).context["page"].form
    shown = {name: form[name].value() for name in form.fields}
    before = DiaryEntry.objects.count()
    assert client.post(reverse("workshop"), shown).status_code == 302
    assert DiaryEntry.objects.count() == before


def test_the_rate_is_read_as_the_workshops_country_writes_it(client, db):
    client.post(reverse("workshop"), typed(locale="nl_NL", hourly_rate="62,50"))
    assert workshop().hourly_rate == 6250


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("currency", "XQQ"),
        ("locale", "tlh_XX"),
        ("hourly_rate", "sixty"),
        ("hourly_rate", "62,50"),
        ("time_zone", "Atlantis/Harbour"),
        ("guarantee_months", "-1"),
        ("guarantee_months", "1e3"),
        ("email", "nobody"),
        ("reading", "roughly"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_the_rest_stays_typed(client, db, field, value):
    answer = client.post(reverse("workshop"), typed(name="Typed Name", **{field: value}))
    text = answer.content.decode()
    assert answer.status_code == 422
    assert answer.context["page"].form.errors[field]
    assert "Typed Name" in text
    assert workshop().name == ""


def limit_lines(*lines):
    data = {"limits-TOTAL_FORMS": str(len(lines)), "limits-INITIAL_FORMS": "0"}
    for n, line in enumerate(lines):
        data |= {f"limits-{n}-{name}": value for name, value in line.items()}
    return data


LINE = {
    "kind": "leaf",
    "age": "any",
    "slowest": "1",
    "fastest": "1/250",
    "low": "-0.33",
    "high": "0.33",
    "unit": "ev",
    "source": "this workshop",
    "mark": "practice",
}


def test_the_workshops_own_limits_are_kept_and_shown_again(client, db):
    assert client.post(reverse("workshop_limits"), limit_lines(LINE)).status_code == 302
    (row,) = workshop().limits
    assert (row["slowest_s"], row["fastest_s"], row["high"]) == (1.0, 0.004, 0.33)
    assert (row["source"], row["mark"]) == ("this workshop", "practice")
    assert 'value="1/250"' in client.get(reverse("workshop")).content.decode()


def test_a_limit_that_was_read_in_a_service_sheet_says_so(client, db):
    client.post(
        reverse("workshop_limits"), limit_lines({**LINE, "source": "service sheet 61", "mark": "seen"})
    )
    (row,) = workshop().limits
    assert (row["source"], row["mark"]) == ("service sheet 61", "seen")


def test_an_empty_new_line_is_no_limit(client, db):
    empty = {"kind": "leaf", "age": "any", "unit": "ev", "mark": "practice"}
    assert client.post(reverse("workshop_limits"), limit_lines(LINE, empty)).status_code == 302
    assert len(workshop().limits) == 1


def test_a_limit_can_be_left_out_again(client, db):
    client.post(reverse("workshop_limits"), limit_lines(LINE))
    data = limit_lines({**LINE, "DELETE": "on"}) | {"limits-INITIAL_FORMS": "1"}
    client.post(reverse("workshop_limits"), data)
    assert workshop().limits == []


@pytest.mark.parametrize(
    ("field", "value"),
    [("slowest", "60"), ("slowest", "B"), ("fastest", "2s"), ("low", "0.5"), ("source", ""), ("unit", "dB")],
)
def test_a_limit_that_cannot_be_is_refused_and_stays_typed(client, db, field, value):
    answer = client.post(reverse("workshop_limits"), limit_lines({**LINE, field: value}))
    assert answer.status_code == 422
    assert "1/250" in answer.content.decode()
    assert workshop().limits == []


@pytest.mark.parametrize(
    ("seconds", "said"), [(1 / 125, "1/125"), (1.0, "1"), (0.5, "1/2"), (30.0, "30s"), (0.4, "0.4s")]
)
def test_a_marked_time_is_said_as_the_dial_says_it(seconds, said):
    assert as_marked(seconds) == said


def test_the_limits_that_come_along_stand_there_with_source_and_mark(client, db):
    text = client.get(reverse("workshop")).content.decode()
    assert "(practice)" in text
    assert "−20 %" in text


def test_gear_is_listed_and_the_same_again_amends_it(client, halm):
    form = {"name": "light gate", "serial": "LG-2", "checked_on": "2024-05-01"}
    client.post(reverse("workshop_gear"), form)
    client.post(reverse("workshop_gear"), {**form, "checked_on": "2024-11-01"})
    (gear,) = Gear.objects.all()
    assert gear.checked_on.isoformat() == "2024-11-01"
    assert "LG-2" in client.get(reverse("workshop")).content.decode()


def test_nameless_gear_is_refused_and_the_rest_stays_typed(client, db):
    answer = client.post(reverse("workshop_gear"), {"name": "", "serial": "LG-77"})
    assert answer.status_code == 422
    assert "LG-77" in answer.content.decode()


def test_the_mark_is_kept_shown_and_taken_off(client, db):
    client.post(reverse("workshop_mark"), {"picture": picture()})
    sha256 = workshop().mark
    answer = client.get(reverse("workshop_mark_picture", args=[sha256]))
    assert Image.open(io.BytesIO(answer.content)).size == (40, 20)
    client.post(reverse("workshop_mark"), {"remove": "yes"})
    assert workshop().mark == ""
    assert client.get(reverse("workshop_mark_picture", args=[sha256])).status_code == 404


@pytest.mark.parametrize(
    "file",
    [
        SimpleUploadedFile(
            "mark.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "image/svg+xml"
        ),
        SimpleUploadedFile("mark.png", picture().read()[:60], "image/png"),
        SimpleUploadedFile("../../mark.png", b"nothing of the kind", "image/png"),
    ],
    ids=["drawing with a script", "cut short", "no picture"],
)
def test_a_mark_that_is_no_picture_is_refused_in_one_line(client, db, file):
    answer = client.post(reverse("workshop_mark"), {"picture": file})
    assert answer.status_code == 422
    assert workshop().mark == ""
    assert answer.context["page"].mark_form.errors["picture"]


def test_no_file_at_all_is_refused_in_one_line(client, db):
    assert "Choose a picture first." in client.post(reverse("workshop_mark"), {}).content.decode()


@pytest.mark.parametrize("name", ["workshop_limits", "workshop_gear", "workshop_mark"])
def test_a_link_sets_nothing(client, db, name):
    assert client.get(reverse(name)).status_code == 405
