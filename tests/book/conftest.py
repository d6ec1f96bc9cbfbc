"""The cast of the job book's tests.

Ilse Marrick brings a folding camera found in a cellar; Benno Tjaard brings a reflex. `bench` is who works.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Job
from pegwood.pricing.money import Money

BY = "bench"
MONDAY = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)

ILSE = OwnerDetails(name="Ilse Marrick", phone="0555-0132", email="ilse@example.org")
FOLDER = CameraDetails(
    family="folding-roll-front-cell", maker="Vorrin", model="Pocket Six", serial="A-20417", year_made=1952
)


@pytest.fixture
def arrived(db: None) -> Job:
    return arriving.take_in(ILSE, FOLDER, by=BY, story="found in a cellar, shutter sticks", at=MONDAY)


@pytest.fixture
def looked_over(arrived: Job) -> Job:
    looking.note_finding(arrived, FindingDetails(part="shutter blades", condition="oil film", grade=3), by=BY)
    return moving.look_over(arrived, by=BY)


@pytest.fixture
def priced(looked_over: Job) -> Job:
    return agreeing.tell_price(
        looked_over, [agreeing.Line(what="clean the shutter", amount=Money(14500, "EUR"))], by=BY
    )


@pytest.fixture
def agreed(priced: Job) -> Job:
    return agreeing.record_yes(priced, how="by telephone", up_to=Money(18000, "EUR"), by=BY)


@pytest.fixture
def on_the_bench(agreed: Job) -> Job:
    return moving.put_on_bench(agreed, by=BY)


@pytest.fixture
def ready(on_the_bench: Job) -> Job:
    moving.prove(on_the_bench, by=BY)
    return moving.call_ready(on_the_bench, by=BY)
