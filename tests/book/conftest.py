"""Ilse Marrick's folding camera, found in a cellar, at each standing of its visit."""

from __future__ import annotations

import pytest

from book.cast import BY, FOLDER, ILSE, MONDAY
from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Job
from pegwood.pricing.money import Money


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
