"""Photographs sent to an instrument's page, and read at once."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from pegwood.web.reading import BackgroundReader


def picture(content, name="picture.jpg"):
    return SimpleUploadedFile(name, content.getvalue(), "image/jpeg")


def read_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    reader = BackgroundReader(lambda errand: errand())
    monkeypatch.setattr("pegwood.web.pages.gauge.reader", reader)
    monkeypatch.setattr("pegwood.web.pages.gauging.reader", reader)


def read(client, job, way, pictures, **told):
    """Send them; the measurement and the page where it is shown."""
    files = {f"picture-{n}": one for n, one in enumerate(pictures)}
    answer = client.post(reverse("gauge", args=[job.number, way]), {**files, **told})
    assert answer.status_code == 302, answer.content.decode()[:3000]
    return job.measurements.latest("pk"), answer["Location"]


def accept(client, measurement, phase="as found"):
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": phase})
    measurement.refresh_from_db()
    return measurement


def chart(client, measurement, name):
    drawn = client.get(reverse("gauging_chart", args=[measurement.pk, name])).json()
    assert drawn["doc"]["roots"]
    return drawn
