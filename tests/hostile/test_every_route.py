"""What holds for every address there is: tokens, strangers, what is missing, looking that changes nothing."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from hostile import pictures, recordings
from hostile.conftest import BY, TICKET
from hostile.routes import Route, routes
from pegwood.book import agreeing, arriving, benchwork, listening, looking, measuring
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.calibrating import Source, calibrate_gear
from pegwood.book.drafts import add_draft_photo
from pegwood.book.family_learning import make_family
from pegwood.book.gauging import WAYS, keep_gauging, typed_figures
from pegwood.book.hearing import take_narration
from pegwood.book.models import Finding, Job
from pegwood.book.spares.donors import DonorDetails, keep_donor
from pegwood.book.spares.fitting import Fitting, say_fits
from pegwood.book.spares.putting import SpareDetails, measure_spare, put_on_shelf
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.book.workshop import change_settings
from pegwood.papers import make_paper
from pegwood.pricing.money import Money
from pegwood.web.pages.chart_library import VERSION

ROUTES = routes()
HUGE = 10**30
#: Of the job's camera.
FAULT = "shutter.oiled-blades"
CLOCK = {
    "calibration": "clock", "stated_rate_hz": 48_000, "by": "tone", "reference_hz": 1000.0, "error": 1e-5,
    "error_u": 6e-6,
}  # fmt: skip


@dataclass(frozen=True)
class There:
    """Something of everything: what an address may name."""

    job: Job
    finding: int
    photo: int
    work: int
    reading: int
    paper: str
    mark: str
    draft_photo: str
    gear: int
    calibration: int
    step: int
    spare: int
    spare_reading: int
    donor: int
    fits: int
    gauging: int
    narration: int

    def args(self, route: Route) -> dict[str, Any]:
        """What stands in an address so that it leads somewhere; unknown ones fail here."""
        head = route.written.split("/")[1]
        known: dict[str, Any] = {
            "ticket": TICKET,
            "version": VERSION,
            "family": "box",
            "tray": 1,
            "place": 1,
            "stem": "oddling",
            "part": "lens-cell",
            "fault": FAULT,
            "slug": "arrived",
            "way": "meter",
            "name": "error",
            "sha256": self.mark if route.name == "workshop_mark_picture" else self.draft_photo,
            "pk": {
                "finding": self.finding,
                "photo": self.photo,
                "work": self.work,
                "reading": self.reading,
                "gauging": self.gauging,
                "narration": self.narration,
                "owner": self.job.owner_id,
                "strip-step": self.step,
                "workshop": self.gear if route.name == "gear" else self.calibration,
                "spare": self.spare,
                "spare-reading": self.spare_reading,
                "donor": self.donor,
                "shelf": self.fits,
            }.get(head),
            "number": {"job": self.job.number, "paper": self.paper, "reading": 1, "gauging": 1}.get(head),
            "at": 1,
        }
        missing = [name for name in route.asks if known.get(name) is None]
        assert not missing, f"Say in this test what {missing} may be in {route.written}"
        return {name: known[name] for name in route.asks}

    def address(self, route: Route) -> str:
        return reverse(route.name, kwargs=self.args(route))


@pytest.fixture
def there(job: Job, finding: Finding) -> There:
    at = datetime.fromisoformat("2027-03-01T10:00:00+00:00")
    photo = looking.add_photo(job, io.BytesIO(pictures.photograph()), name="a.jpg", by=BY)
    drafted = add_draft_photo(TICKET, "take-in", io.BytesIO(pictures.photograph("PNG")), "b.png")
    mark = looking.keep_photo(io.BytesIO(pictures.photograph(size=(90, 90))), "mark.jpg")
    change_settings({"mark": mark.sha256, "name": "Halm", "hourly_rate": 6000}, by=BY)
    kept = measuring.keep_recording(job, io.BytesIO(recordings.sound()), "r.wav", marked="1/50", by=BY)
    read = measuring.read_recording(kept, by=BY)
    assert read.progress == "read", read.reason
    measuring.accept_measurement(read, "as found", by=BY)
    plan = listening.Plan(speeds=("1/50",))
    listening.begin_listening(job, TICKET, plan, rate=48_000, channels=1, by=BY, at=at)
    paper = make_paper(job, "receipt", by=BY, at=at)
    work = benchwork.log_work(job, "looked into it", by=BY)
    gate = benchwork.list_gear("light gate", by=BY)
    saved = io.BytesIO(json.dumps(CLOCK).encode())
    one = calibrate_gear(gate, saved, "clock.json", Source(what="saved"), by=BY, at=at)
    known = (finding.pk, photo.pk, work.pk, read.pk, paper.number, mark.sha256, drafted.sha256)
    step = log_off(job, OffDetails(name="top cover", pocket=(1, 1)), by=BY)
    odd = arriving.take_in(OwnerDetails(name="Ilse Marrick"), CameraDetails(maker="Vorrin"), by=BY)
    log_off(odd, OffDetails(name="lens cell"), by=BY)
    make_family([odd], "Oddling", by=BY)
    spare = put_on_shelf(SpareDetails(name="drive spring", family="box", place="tin 2"), 2, by=BY)
    reading = measure_spare(spare, "rate", 0.31, 0.01, "N/mm", by=BY)
    donor = keep_donor(DonorDetails(family="box"), by=BY)
    row = Fitting(
        family="box",
        part=spare.part,
        to_family="folding-roll-front-cell",
        to_part="focus.front-cell",
        source="tried",
    )
    shelf = (spare.pk, reading.pk, donor.pk, say_fits(row, by=BY).pk)
    meter = typed_figures(WAYS["meter"].columns, [(str(ev), str(ev), "") for ev in range(5, 12)], "m.csv")
    gauged = measuring.read_recording(keep_gauging(job, WAYS["meter"], [meter], said={}, by=BY), by=BY)
    assert gauged.progress == "read", gauged.reason
    told = take_narration(job, text="the top cover is bent. might be the sector that is worn.", by=BY)
    return There(job, *known, gate.pk, one.pk, step.pk, *shelf, gauged.pk, told.pk)


@pytest.fixture
def priced(there: There) -> There:
    """The same, with a price told and answered by yes."""
    from pegwood.book import moving

    moving.look_over(there.job, by=BY)
    line = agreeing.Line(what="clean the shutter", amount=Money(14500, "EUR"))
    told = agreeing.tell_price(Job.objects.get(pk=there.job.pk), [line], by=BY)
    agreeing.record_yes(told, how="by telephone", up_to=Money(18000, "EUR"), by=BY)
    return there


def test_every_address_leads_somewhere(client: Client, there: There):
    """So that none of the tests below passes because it asked for nothing."""
    led = {}
    for route in ROUTES:
        answer = client.get(there.address(route))
        if answer.status_code == 405:
            with transaction.atomic():
                answer = client.post(there.address(route))
                transaction.set_rollback(True)
        led[str(route)] = answer.status_code
    assert {name: status for name, status in led.items() if status not in {200, 204, 302, 422}} == {}


@pytest.mark.parametrize("route", ROUTES, ids=str)
def test_a_form_without_its_token_is_refused_and_changes_nothing(there: There, everything, route: Route):
    careful = Client(enforce_csrf_checks=True)
    before = everything()
    for method in (careful.post, careful.put, careful.delete, careful.patch):
        answer = method(there.address(route))
        assert answer.status_code == 403, method
        assert b"The form was too old" in answer.content
    assert everything() == before


def test_a_token_of_another_site_is_refused(job):
    careful = Client(enforce_csrf_checks=True)
    careful.get("/take-in/", follow=True)
    token = careful.cookies["csrftoken"].value
    send = {"csrfmiddlewaretoken": token, "move": "look over"}
    stranger = careful.post(f"/job/{job.number}/move/", send, headers={"Origin": "http://evil.example"})
    assert stranger.status_code == 403
    own = careful.post(f"/job/{job.number}/move/", send, headers={"Origin": "http://testserver"})
    assert own.status_code == 422, "nothing was found on it yet; but the form itself was let in"


def test_looking_changes_nothing(client: Client, priced: There, everything):
    before = everything()
    for route in ROUTES:
        address = priced.address(route)
        for method in (client.get, client.head, client.options):
            method(address, {"q": "marrick", "name": "marrick", "owner": "1", "comeback": "1", "page": "1"})
            assert everything() == before, f"{method.__name__} {address}"


@pytest.mark.parametrize("number", [4711, HUGE])
def test_a_job_that_does_not_exist_is_404_whatever_is_done_to_it(client: Client, job, everything, number):
    before = everything()
    asked = [route for route in ROUTES if route.written.startswith("/job/")]
    assert len(asked) > 15
    for route in asked:
        asks = {
            "number": number,
            "ticket": TICKET,
            "tray": 1,
            "place": 1,
            "fault": FAULT,
            "way": "meter",
            "at": 1,
        }
        address = reverse(route.name, kwargs={name: asks[name] for name in route.asks})
        looked, sent = client.get(address).status_code, client.post(address, {"kind": "receipt"}).status_code
        assert {looked, sent} <= {404, 405}, address
        assert 404 in {looked, sent}, address
    assert everything() == before


@pytest.mark.parametrize("number", [4711, HUGE])
def test_nothing_else_that_is_not_there_is_anything_but_404(client: Client, there: There, everything, number):
    before = everything()
    strange = dict.fromkeys(("pk", "number", "tray", "place", "at"), number)
    strange |= {"version": "0", "sha256": "ab" * 32, "slug": "nowhere"}
    for route in ROUTES:
        if route.name in {"job", "take_in", "take_in_photo_drop"} or route.asks in {(), ("ticket",)}:
            continue
        lost = {name: strange.get(name, TICKET) for name in route.asks}
        address = reverse(route.name, kwargs=lost)
        answers = {client.get(address).status_code, client.post(address).status_code}
        assert answers <= {404, 405}, address
        assert 404 in answers, address
    assert everything() == before


def test_every_answer_says_what_a_browser_may_do_with_it(client: Client, there: There):
    for route in ROUTES:
        answers = [client.get(there.address(route)), client.put(there.address(route))]
        for answer in answers:
            said = answer.headers
            assert "script-src 'self';" in said["Content-Security-Policy"], route
            assert said["X-Frame-Options"] == "DENY", route
            assert said["X-Content-Type-Options"] == "nosniff", route
            assert said["Referrer-Policy"] == "same-origin", route
            assert said["Cross-Origin-Opener-Policy"] == "same-origin", route
            assert "microphone=(self)" in said["Permissions-Policy"], route


def test_where_signing_in_is_asked_for_a_stranger_sees_that_page_and_nothing_else(
    client: Client, there: There, everything, settings
):
    settings.SIGN_IN_REQUIRED = True
    before = everything()
    for route in ROUTES:
        if route.name in {"sign_in", "sign_out"}:
            continue
        for method in (client.get, client.head, client.post):
            answer = method(there.address(route))
            assert answer.status_code == 302, route
            assert answer["Location"].startswith("/sign-in/?next="), route
        live = client.get(there.address(route), headers={"HX-Request": "true"})
        assert live["HX-Redirect"].startswith("/sign-in/"), route
    assert everything() == before


def test_signing_in_leads_to_no_other_site(client: Client, db, django_user_model, settings):
    settings.SIGN_IN_REQUIRED = True
    django_user_model.objects.create_user("tove", password="a long word indeed")
    for onward in ("https://evil.example/", "//evil.example/", "javascript:alert(1)", "\\\\evil.example"):
        given = {"username": "tove", "password": "a long word indeed", "next": onward}
        assert Client().post("/sign-in/", given)["Location"] == "/"


@pytest.mark.parametrize(
    "what", ["NUL\0in it", "half \ud800 a letter", "\u202ebackwards", "x" * 5000, "'\"`;--"]
)
def test_strange_letters_break_no_address(client: Client, there: There, what):
    """Where a page cannot take them it says so; none of them is a 500. The book may be PostgreSQL."""
    sent = what.encode("utf-8", "surrogatepass").decode("latin-1")
    names = ("q", "name", "owner", "comeback", "marked", "page", "from", "scheme", "diary", "next")
    for route in ROUTES:
        answer = client.get(there.address(route), dict.fromkeys(names, sent))
        assert answer.status_code < 500, route


def test_nothing_at_all_sent_to_any_form_breaks_nothing(client: Client, there: There):
    for route in ROUTES:
        for sent in ({}, {"line-TOTAL_FORMS": "x"}, {"limits-TOTAL_FORMS": "-1", "do": "more"}):
            with transaction.atomic():
                answer = client.post(there.address(route), sent)
                transaction.set_rollback(True)
            assert answer.status_code in {200, 204, 302, 405, 422}, (route, sent)


def test_a_ticket_nobody_has_heard_of_is_an_empty_form(client: Client, db, everything):
    before = everything()
    answer = client.get(f"/take-in/{uuid4()}/")
    assert answer.status_code == 200
    assert everything() == before
    assert timezone.now() > datetime.fromisoformat("2020-01-01T00:00:00+00:00")
