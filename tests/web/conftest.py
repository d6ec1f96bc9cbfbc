"""
The cast of the pages' tests.

Ilse Marrick brings a folding camera found in a cellar; Benno Tjaard brings a reflex. `halm` is whose
workshop it is. Jobs are named for where they stand. Pages read the clock, so the cast arrives "three days
ago", not on a date.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from pegwood.book import agreeing, arriving, leaving, looking, moving
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Job, Owner
from pegwood.book.workshop import Workshop, change_settings
from pegwood.pricing.money import Money

BY = "Tove Halm"
ILSE = OwnerDetails(name="Ilse Marrick", phone="0555-0132", email="ilse@example.org")
BENNO = OwnerDetails(name="Benno Tjaard")
FOLDER = CameraDetails(
    family="folding-roll-front-cell", maker="Vorrin", model="Wayfarer", serial="A-20417", year_made=1952
)
REFLEX = CameraDetails(family="reflex-35-cloth", maker="Aldermoor", model="R2", serial="20-11873")
OIL = FindingDetails(part="shutter blades", condition="oil film", grade=3, outlook="mend")
PRICE = Money(14500, "EUR")


@pytest.fixture
def halm(db: None) -> Workshop:
    """A workshop that has a name, an hourly rate and a time of its own."""
    return change_settings(
        {
            "name": "Halm, camera repairs",
            "repairer": BY,
            "hourly_rate": 6000,
            "time_zone": "Europe/Amsterdam",
        },
        by=BY,
    )


@pytest.fixture
def ilse(db: None) -> Owner:
    return arriving.register_owner(ILSE, by=BY)


@pytest.fixture
def arrived(ilse: Owner) -> Job:
    return arriving.take_in(
        ilse,
        FOLDER,
        by=BY,
        story="found in a cellar, shutter sticks",
        accessories="leather case",
        at=timezone.now() - timedelta(days=3),
    )


@pytest.fixture
def looked_over(arrived: Job) -> Job:
    looking.note_finding(arrived, OIL, by=BY)
    return moving.look_over(arrived, by=BY)


@pytest.fixture
def priced(looked_over: Job) -> Job:
    return agreeing.tell_price(looked_over, [agreeing.Line(what="clean the shutter", amount=PRICE)], by=BY)


@pytest.fixture
def agreed(priced: Job) -> Job:
    return agreeing.record_yes(priced, how="by telephone", up_to=Money(18000, "EUR"), by=BY)


@pytest.fixture
def on_the_bench(agreed: Job) -> Job:
    return moving.put_on_bench(agreed, by=BY)


@pytest.fixture
def proving(on_the_bench: Job) -> Job:
    return moving.prove(on_the_bench, by=BY)


@pytest.fixture
def ready(proving: Job) -> Job:
    return moving.call_ready(proving, by=BY)


@pytest.fixture
def billed(ready: Job) -> Job:
    agreeing.write_bill(ready, [agreeing.Line(what="clean the shutter", amount=PRICE)], by=BY)
    return ready


@pytest.fixture
def gone_home(billed: Job) -> Job:
    return leaving.hand_back(billed, paid=PRICE, paid_how="cash", by=BY)


@pytest.fixture
def benno_s_reflex(db: None) -> Job:
    """Another job, of somebody else, just taken in."""
    return arriving.take_in(BENNO, REFLEX, by=BY, story="mirror stays up")


@pytest.fixture
def careful(db: None) -> Client:
    """A browser whose forms must carry their token."""
    return Client(enforce_csrf_checks=True)
