"""Pages for what goes wrong: in the look, in one line, with a way on."""

import pytest
from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.test import Client, override_settings
from django.urls import path

from pegwood.web.pages import errors
from pegwood.web.urls import urlpatterns as of_the_bench


def denied(request):
    raise PermissionDenied


def broken(request):
    raise RuntimeError("a secret of the house")


def too_big(request):
    raise RequestDataTooBig


urlpatterns = [
    *of_the_bench,
    path("denied/", denied),
    path("broken/", broken),
    path("too-big/", too_big),
]
handler400 = errors.bad_request
handler403 = errors.forbidden
handler404 = errors.not_found
handler500 = errors.broken


@pytest.mark.parametrize(
    ("address", "status", "said"),
    [
        ("/no-such-page/", 404, "There is no such page"),
        ("/denied/", 403, "That is not open to you"),
        ("/too-big/", 413, "That was too much at once"),
        ("/broken/", 500, "Something broke here"),
    ],
)
@override_settings(ROOT_URLCONF=__name__)
def test_a_mishap_is_said_in_the_look_with_a_way_on(db, address, status, said):
    answer = Client(raise_request_exception=False).get(address)
    assert answer.status_code == status
    text = answer.content.decode()
    assert said in text
    assert "bench.css" in text
    assert 'href="/"' in text


@override_settings(ROOT_URLCONF=__name__)
def test_a_broken_page_gives_nothing_away(db):
    answer = Client(raise_request_exception=False).get("/broken/")
    assert b"secret" not in answer.content
    assert b"Traceback" not in answer.content


def test_a_broken_page_is_said_without_the_book(rf):
    # No database is granted to this test: asking the book anything would fail it.
    assert errors.broken(rf.get("/")).status_code == 500


def test_a_stranger_host_is_refused_in_the_look(db):
    answer = Client(raise_request_exception=False).get("/", HTTP_HOST="evil.example")
    assert answer.status_code == 400
    assert b"That could not be read" in answer.content


def test_the_house_itself_uses_these_pages(client, db):
    assert b"There is no such page" in client.get("/job/999999/").content
