"""An owner's page."""

from django.urls import reverse

from pegwood.book.models import DiaryEntry


def address(owner):
    return reverse("owner", args=[owner.pk])


def test_it_shows_the_cameras_and_the_jobs(client, ilse, gone_home):
    text = client.get(address(ilse)).content.decode()
    assert "Vorrin Wayfarer" in text
    assert "gone home" in text
    assert "0555-0132" in text


def test_amending_writes_it_down_and_keeps_how_it_stood(client, halm, ilse):
    answer = client.post(address(ilse), {"name": "Ilse Marrick-Ode", "phone": "0555-0199"})
    assert answer.status_code == 302
    ilse.refresh_from_db()
    assert (ilse.name, ilse.phone, ilse.email) == ("Ilse Marrick-Ode", "0555-0199", "")
    entry = DiaryEntry.objects.last()
    assert (entry.what, entry.old["phone"]) == ("amended an owner", "0555-0132")


def test_a_nameless_owner_is_refused_and_the_rest_stays_typed(client, ilse):
    answer = client.post(address(ilse), {"name": " ", "phone": "0555-7777", "address": "Net Loft 2"})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "The owner needs a name." in text
    assert "0555-7777" in text
    assert "Net Loft 2" in text
    assert 'aria-invalid="true"' in text
    ilse.refresh_from_db()
    assert ilse.name == "Ilse Marrick"


def test_the_same_twice_is_written_once(client, ilse):
    form = {"name": "Ilse Marrick", "phone": "1"}
    client.post(address(ilse), form)
    entries = DiaryEntry.objects.count()
    client.post(address(ilse), form)
    assert DiaryEntry.objects.count() == entries


def test_nobody_of_that_number_is_a_plain_404(client, db):
    assert client.get(reverse("owner", args=[77])).status_code == 404


def test_many_visits_take_no_more_questions_to_the_book(
    client, ilse, gone_home, django_assert_max_num_queries
):
    with django_assert_max_num_queries(6):
        client.get(address(ilse))
