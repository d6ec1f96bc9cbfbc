"""The box that understands plain words: what it tells, what it does not know, how each line is known."""

from __future__ import annotations

import pytest
from django.test import Client

pytestmark = pytest.mark.django_db
LIVE = {"HX-Request": "true"}


def ask(client: Client, question: str, headers=None) -> str:
    response = client.get("/trade/", {"q": question}, headers=headers)
    assert response.status_code == 200
    return response.content.decode()


def test_an_unknown_word_offers_the_question_with_the_nearest_names(client: Client):
    page = ask(client, "brass + stel")
    assert "&#x27;stel&#x27; is no word that the tables know. Nearest: steel" in page
    assert 'href="/trade/?q=brass%20%2B%20steel"' in page


def test_htmx_gets_the_answer_only(client: Client):
    page = ask(client, "nosuchword", headers=LIVE)
    assert "<html" not in page
    assert "is no word" in page


def test_only_looking_is_possible(client: Client):
    assert client.post("/trade/", {"q": "brass"}).status_code == 405
