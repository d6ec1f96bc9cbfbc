"""A job that is billed, in a workshop that has a name and a rate."""

from __future__ import annotations

import pytest

from book.cast import BY
from book.conftest import agreed, arrived, looked_over, on_the_bench, priced, ready  # noqa: F401
from pegwood.book import agreeing
from pegwood.book.agreeing import Line
from pegwood.book.billing.issuing import issue_bill
from pegwood.book.models import Bill, Job
from pegwood.pricing.money import Money


def euros(minor: int) -> Money:
    return Money(minor, "EUR")


@pytest.fixture
def written(ready: Job) -> Job:  # noqa: F811
    agreeing.write_bill(ready, [Line(what="cleaned the shutter", amount=euros(14500))], by=BY)
    return ready


@pytest.fixture
def issued(written: Job) -> Bill:
    return issue_bill(written, by=BY)
