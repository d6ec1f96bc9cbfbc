"""A photograph of a screw, sent from the bench: read, refused with the reason, never kept."""

from __future__ import annotations

import io
import re

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from pegwood.book.models import StoredFile
from trade.screws_drawn import draw

pytestmark = pytest.mark.django_db


def sent(picture: np.ndarray) -> SimpleUploadedFile:
    """As a camera writes it: brightness on the curve of IEC 61966-2-1, eight bits."""
    curve = np.where(
        picture <= 0.0031308, 12.92 * picture, 1.055 * np.clip(picture, 0, None) ** (1 / 2.4) - 0.055
    )
    out = io.BytesIO()
    Image.fromarray(np.uint8(np.clip(curve, 0, 1) * 255)).save(out, "PNG")
    return SimpleUploadedFile("screw.png", out.getvalue(), "image/png")


def test_a_screw_is_read_out_of_its_photograph_and_nothing_is_kept(client: Client):
    picture = draw(1.95, 0.40, mm_per_px=0.01)  # within 6g of M2x0.4: 1.886 to 1.981 mm (facts, section 7.1)
    picture = np.pad(
        picture, ((40, 0), (0, 300)), constant_values=picture.max()
    )  # neither side like the other
    given = {"picture": sent(picture), "width_mm": f"{picture.shape[1] * 0.01:.2f}", "u_width_mm": "0.01"}
    answer = client.post("/trade/screw/", given)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "M2x0.4" in page
    told = re.search(r"outside diameter</b>\s*<span>([\d.]+) ± ([\d.]+) mm", page)
    assert float(told[1]) == pytest.approx(1.95, abs=3 * float(told[2]))
    assert "[1" in page
    assert not StoredFile.objects.exists()


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"width_mm": "18"}, "Which photograph?"),
        (
            {"picture": SimpleUploadedFile("a.jpg", b"no picture"), "width_mm": "18"},
            "not a JPEG, PNG or HEIC",
        ),
        ({"picture": SimpleUploadedFile("a.jpg", b""), "width_mm": "18"}, "empty"),
        ({"picture": sent(np.ones((80, 120))), "width_mm": "18"}, "ground"),
        ({"picture": sent(np.ones((80, 120))), "width_mm": "wide"}, "plain number"),
        ({"picture": sent(np.ones((80, 120))), "width_mm": "0"}, "between 1 and 500 mm"),
        (
            {"picture": sent(np.ones((80, 120))), "width_mm": "9", "u_width_mm": "5"},
            "no reading of a",
        ),
    ],
)
def test_what_cannot_be_read_is_refused_at_its_field(client: Client, given, says):
    for value in given.values():
        if hasattr(value, "seek"):
            value.seek(0)
    answer = client.post("/trade/screw/", given)
    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_without_the_extra_the_page_says_how_to_add_it(client: Client, monkeypatch):
    monkeypatch.setattr("pegwood.trade.threads.picture.outline.find_spec", lambda _: None)
    answer = client.post("/trade/screw/", {"picture": sent(np.ones((80, 120))), "width_mm": "9"})
    assert "pip install" in answer.content.decode()


def test_the_trade_page_leads_there(client: Client):
    assert 'href="/trade/screw/"' in client.get("/trade/").content.decode()
