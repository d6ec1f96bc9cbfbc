"""Looking things up as they are typed."""

import pytest
from django.urls import reverse

from pegwood.book.spares.putting import SpareDetails, put_on_shelf


def find(client, query, **headers):
    return client.get(reverse("find"), {"q": query}, headers=headers)


def test_an_owner_a_serial_and_a_word_of_the_story_are_found(client, looked_over):
    for query in ("Marrick", "A-20417", "cellar", "oil film"):
        assert f'href="{reverse("job", args=[looked_over.number])}"' in find(client, query).content.decode()


def test_what_was_looked_for_is_marked(client, looked_over):
    assert "<mark>cellar</mark>" in find(client, "cellar").content.decode()


def test_a_jobs_number_finds_the_job_first_and_once(client, arrived, benno_s_reflex):
    text = find(client, str(benno_s_reflex.number)).content.decode()
    assert text.count(f'href="{reverse("job", args=[benno_s_reflex.number])}"') == 1


def test_while_it_is_typed_only_the_list_comes(client, arrived):
    answer = find(client, "cell", **{"HX-Request": "true"})
    assert "<html" not in answer.content.decode()
    assert "Wayfarer" in answer.content.decode()


def test_nothing_found_says_so_and_what_to_do(client, arrived):
    assert "Try fewer words" in find(client, "zeppelin").content.decode()


@pytest.mark.parametrize(
    "query", ["", " ", '"', "<script>alert(1)</script>", "a" * 5000, "\x00", "NEAR( OR", "٣"]
)
def test_whatever_is_typed_is_only_looked_for(client, arrived, query):
    answer = find(client, query)
    assert answer.status_code == 200
    assert "<script>alert" not in answer.content.decode()


def test_what_somebody_wrote_is_shown_as_written(client, arrived):
    from pegwood.book.arriving import remark

    remark(arrived, "brass <b>bold</b> screw & nut", by="x")
    text = find(client, "brass").content.decode()
    assert "<b>bold" not in text
    assert "&lt;b&gt;bold" in text


def test_what_lies_on_the_shelf_is_found_too(client, arrived):
    spare = put_on_shelf(SpareDetails(name="selenium cell", place="drawer 3"), 1, by="x")
    for query in ("selenium", "drawer cell"):
        text = find(client, query).content.decode()
        assert f'href="{reverse("spare", args=[spare.pk])}"' in text
        assert "Try fewer words" not in text
    assert "On the shelf" not in find(client, "cellar").content.decode()


def test_looking_up_writes_nothing(client, arrived):
    assert client.post(reverse("find"), {"q": "x"}).status_code == 405
