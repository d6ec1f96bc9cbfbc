"""Papers on the job card: made, filed, opened again."""

import io

import pytest
from django.conf import settings
from django.urls import reverse

from pegwood.book.models import Paper
from pegwood.book.papering import file_paper
from pegwood.papers import KINDS

PDF = b"%PDF-1.7\n% a paper as it was handed over\n%%EOF\n"


@pytest.fixture
def receipt(arrived) -> Paper:
    return file_paper(arrived, "receipt", f"{arrived.number}-receipt-1", {"kind": "receipt"}, PDF, by="x")


def test_every_kind_of_paper_is_offered(client, arrived):
    text = client.get(reverse("job", args=[arrived.number])).content.decode()
    for kind in KINDS:
        assert f'name="kind" value="{kind}"' in text


def test_a_filed_paper_is_listed_and_opens_byte_for_byte(client, arrived, receipt):
    address = reverse("paper", args=[receipt.number])
    assert address in client.get(reverse("job", args=[arrived.number])).content.decode()
    answer = client.get(address)
    assert (answer.status_code, answer.content) == (200, PDF)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'inline; filename="{receipt.number}.pdf"'


def test_a_paper_that_was_tampered_with_is_not_shown(client, receipt):
    place = settings.WORKSHOP.files / receipt.file.sha256[:2] / receipt.file.sha256
    place.write_bytes(b"%PDF-1.7 something else")
    answer = client.get(reverse("paper", args=[receipt.number]))
    assert answer.status_code == 410
    assert b"is damaged" in answer.content


def test_a_paper_is_made_filed_and_written_into_the_diary(client, halm, arrived):
    answer = client.post(reverse("papers", args=[arrived.number]), {"kind": "receipt"})
    assert answer.status_code == 302
    paper = arrived.papers.get()
    assert (paper.kind, paper.by) == ("receipt", "Tove Halm")
    assert io.BytesIO(client.get(reverse("paper", args=[paper.number])).content).read(5) == b"%PDF-"
    assert arrived.diary.last().what == "made a paper"


@pytest.mark.parametrize("kind", ["poem", "", "bill"])
def test_a_paper_that_cannot_be_made_says_why_and_makes_nothing(client, arrived, kind):
    answer = client.post(reverse("papers", args=[arrived.number]), {"kind": kind})
    assert answer.status_code == 422
    assert "Not yet." in answer.content.decode()
    assert not Paper.objects.exists()


def test_a_link_makes_no_paper(client, arrived):
    assert client.get(reverse("papers", args=[arrived.number])).status_code == 405


def test_a_paper_there_is_not_is_a_plain_404(client, db):
    assert client.get(reverse("paper", args=["9-bill-1"])).status_code == 404
