"""What the next thing depends on, as the book has it."""

import io
from datetime import timedelta

import pytest
from django.utils import timezone

from pegwood.book import leaving, moving
from pegwood.book.billing import owing, payments
from pegwood.book.files.store import keep
from pegwood.book.models import Job, Measurement
from pegwood.book.workshop import workshop
from pegwood.pricing.money import Money
from pegwood.web.facts import facts, with_facts
from pegwood.web.next_step import Facts, next_step

BY = "Tove Halm"
FOUND, LEFT = Measurement.Phase.FOUND, Measurement.Phase.LEFT


def facts_of(job: Job) -> Facts:
    return facts(with_facts(Job.objects.all()).get(pk=job.pk), workshop(), timezone.now())


def measured(job: Job, marked: str, phase: str, verdict: str = "within", *, set_aside: bool = False) -> None:
    Measurement.objects.create(
        job=job,
        instrument="shutter",
        recording=keep(io.BytesIO(b"RIFF"), name="x.wav", media_type="audio/wav", at_most=100),
        marked=marked,
        phase=phase,
        set_aside=set_aside,
        progress=Measurement.Progress.READ,
        result={"summary": {"verdict": verdict}},
        settings={},
        at=timezone.now(),
        by=BY,
    )


def test_a_speed_found_and_not_left_is_missing_whatever_other_speeds_are(proving):
    measured(proving, "1/25", FOUND)
    measured(proving, "1/50", LEFT)
    assert facts_of(proving).left_missing
    measured(proving, "1/25", LEFT, set_aside=True)
    assert facts_of(proving).left_missing
    measured(proving, "1/25", LEFT)
    assert not facts_of(proving).left_missing


@pytest.mark.parametrize(
    ("verdict", "outside", "close"),
    [("within", False, False), ("outside", True, False), ("too close to call", False, True)],
)
def test_what_was_left_is_known_by_its_verdict(proving, verdict, outside, close):
    measured(proving, "1/25", LEFT, verdict)
    known = facts_of(proving)
    assert (known.left_outside, known.left_close) == (outside, close)


def test_a_bill_is_open_until_all_of_it_is_paid(billed):
    home = leaving.hand_back(billed, by=BY, guarantee_months=0)
    assert next_step(facts_of(home)).sentence == "wait for the money"
    assert list(owing.not_paid()) == [home]
    asked = leaving.still_to_pay(home)
    payments.record_payment(home, Money(asked.minor - 1, "EUR"), "cash", by=BY)
    assert (facts_of(home).unpaid, list(owing.not_paid())) == (True, [home])
    payments.record_payment(home, Money(1, "EUR"), "cash", by=BY)
    assert (facts_of(home).unpaid, list(owing.not_paid())) == (False, [])
    assert next_step(facts_of(home)).sentence == "nothing. It is home, without a guarantee"


def test_what_is_not_paid_is_found_from_the_front(client, billed):
    home = leaving.hand_back(billed, by=BY)
    assert b"/jobs/not-paid/" in client.get("/").content
    listed = client.get("/jobs/not-paid/").content.decode()
    assert f"/job/{home.number}/" in listed
    assert "wait for the money" in listed


def test_a_wait_is_over_when_its_time_is_past_and_not_before(on_the_bench):
    now = timezone.now()
    moving.let_wait(on_the_bench, "curing", long="3 h", by="x", at=now - timedelta(hours=2))
    assert not facts_of(on_the_bench).wait.over
    moving.go_on(on_the_bench, by="x")
    moving.let_wait(on_the_bench, "curing", long="3 h", by="x", at=now - timedelta(hours=4))
    assert facts_of(on_the_bench).wait.over
