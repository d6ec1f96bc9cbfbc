"""One job on the counter, and the ways by which a file reaches it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from uuid import UUID

import pytest
from django.apps import apps
from django.http import HttpResponse
from django.test import Client

from hostile.sent import Sent, form
from pegwood.book import arriving, looking
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Finding, Job
from pegwood.frame.workshop import WorkshopFolder
from pegwood.web.reading import BackgroundReader

BY = "Tove Halm"
TICKET = UUID("0d3c2f1e-6a5b-4c7d-8e9f-a0b1c2d3e4f5")
FOLDER = CameraDetails(family="folding-roll-front-cell", maker="Vorrin", model="Wayfarer", year_made=1952)


@pytest.fixture
def job(db: None) -> Job:
    return arriving.take_in(OwnerDetails(name="Ilse Marrick"), FOLDER, by=BY, story="shutter sticks")


@pytest.fixture
def finding(job: Job) -> Finding:
    return looking.note_finding(job, FindingDetails(part="bellows", condition="two pinholes"), by=BY)


@dataclass(frozen=True)
class Door:
    """A way by which a file comes in: where it is sent, in which field, and what is typed beside it."""

    says: str
    address: Callable[[Job], str]
    field: str
    typed: dict[str, str] = field(default_factory=dict)
    headers: dict[str, str] = field(default_factory=dict)
    finding: bool = False

    def send(self, client: Client, job: Job, file: Sent, **more: str) -> HttpResponse:
        typed = {**self.typed, **more}
        if self.finding:
            typed["finding"] = str(job.findings.get().pk)
        body, media_type = form(typed, [(self.field, file)])
        return client.post(self.address(job), data=body, content_type=media_type, headers=self.headers)


TYPED = {"family": "box", "name": "Maite Orlan", "story": "nothing moves", "do": "take"}
LIVE = {"HX-Request": "true"}
PHOTO_DOORS = (
    Door("along with the form at the counter", lambda _job: f"/take-in/{TICKET}/", "photos", TYPED),
    Door(
        "at once, to the form at the counter",
        lambda _job: f"/take-in/{TICKET}/photo/",
        "photos",
        headers=LIVE,
    ),
    Door("to the job, by a form", lambda job: f"/job/{job.number}/photos/", "photos"),
    Door("to the job, at once", lambda job: f"/job/{job.number}/photos/", "photos", headers=LIVE),
    Door("to a finding", lambda job: f"/job/{job.number}/photos/", "photos", headers=LIVE, finding=True),
    Door("as the workshop's mark", lambda _job: "/workshop/mark/", "picture"),
)
RECORDING_DOORS = (
    Door("by a form", lambda job: f"/job/{job.number}/shutter/", "recording", {"marked": "1/25"}),
    Door(
        "by the page's own script",
        lambda job: f"/job/{job.number}/shutter/",
        "recording",
        {"marked": "1/25"},
        {"Accept": "application/json"},
    ),
)


@pytest.fixture(params=PHOTO_DOORS, ids=lambda door: door.says)
def photo_door(request: pytest.FixtureRequest, finding: Finding) -> Door:
    return request.param


@pytest.fixture(params=RECORDING_DOORS, ids=lambda door: door.says)
def recording_door(request: pytest.FixtureRequest, job: Job) -> Door:
    return request.param


@pytest.fixture
def read_at_once(monkeypatch: pytest.MonkeyPatch) -> BackgroundReader:
    """Recordings are read within the request, by the same code that the server's threads run."""
    reader = BackgroundReader(lambda errand: errand())
    monkeypatch.setattr("pegwood.web.pages.shutter.reader", reader)
    monkeypatch.setattr("pegwood.web.pages.readings.reader", reader)
    return reader


Everything = dict[str, object]


@pytest.fixture
def everything(workshop_folder: WorkshopFolder) -> Callable[[], Everything]:
    """All rows of all tables and all files of the workshop but the small pictures, to be compared."""

    def taken() -> Everything:
        rows: Everything = {
            model._meta.label: sorted(repr(row) for row in model._default_manager.values_list())
            for model in apps.get_models()
        }
        return {**rows, "files": files_in(workshop_folder.root)}

    return taken


def files_in(root: Path) -> list[str]:
    return sorted(
        str(path.relative_to(root))
        for path in root.rglob("*")
        if path.is_file() and "thumbnails" not in path.parts
    )
