"""A visit that ends while a page is open: nothing that is in the page is lost."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import PHONE, Opened
from browser.served import Bench
from browser.things import CLEANED, photograph, recorded, sent
from browser.watch import Watch

NAME, PASSWORD = "jorun", "orangewood and naphtha"
NAMES = (f"Ilse Marrick {n}" for n in itertools.count(1))
JOB = re.compile(r"/job/\d+/$")
ENDED = ("401", "htmx:responseError", "htmx:afterRequest", "htmx:afterOnLoad")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    bench = Bench(tmp_path_factory.mktemp("shared") / "workshop", sign_in=True)
    bench.pegwood("user", "add", NAME, "--password", PASSWORD)
    yield bench.start()
    bench.stop()


def sign_in(page: Page) -> None:
    page.get_by_label("Name").fill(NAME)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").tap()
    page.wait_for_url(lambda url: "sign-in" not in url)


@pytest.fixture
def signed_in(bench: Bench, opened: Opened) -> tuple[Page, Watch]:
    context, watch = opened(bench.url, **PHONE)
    page = context.new_page()
    page.goto(bench.url)
    sign_in(page)
    return page, watch


def end_visit(page: Page) -> None:
    """As when the repairer signs out in another tab, or the visit grew too old."""
    page.context.clear_cookies(name="sessionid")


def sign_in_beside(page: Page) -> None:
    """Through the link that the page shows, in another tab."""
    with page.context.expect_page() as other:
        page.get_by_role("link", name="Sign in").first.tap()
    sign_in(other.value)
    other.value.close()


def take_one_in(page: Page, bench: Bench) -> int:
    page.goto(bench.url + "/take-in/")
    page.locator("label:has([name=family][value=box])").tap()
    page.get_by_label("Name or telephone").fill(next(NAMES))
    page.locator("#take-it-in").tap()
    page.wait_for_url(JOB)
    return int(page.url.split("/")[-2])


def test_a_form_at_the_counter_outlives_its_visit(bench: Bench, signed_in):
    page, watch = signed_in
    page.goto(bench.url + "/take-in/")
    page.locator("label:has([name=family][value=box])").tap()
    page.get_by_label("Name or telephone").fill("Wenn Arder")
    expect(page.locator("#kept")).to_have_text(re.compile("^kept"))
    with watch.expecting(*ENDED):
        end_visit(page)
        page.get_by_label("What the owner tells").fill("It fell into the harbour.")
        page.locator("#photos input[type=file]").nth(0).set_input_files(
            sent("wet.jpg", photograph(grey=90), "image/jpeg")
        )
        expect(page.locator("#kept")).to_contain_text("signed out: kept on this device")
        expect(page.locator("#draft-tray figure.waiting")).to_contain_text("signed out")
        sign_in_beside(page)
        expect(page.locator("#kept")).to_have_text(re.compile("^kept"), timeout=20_000)
        expect(page.locator("#draft-tray figure:not(.waiting)")).to_have_count(1, timeout=20_000)
    page.locator("#take-it-in").tap()
    page.wait_for_url(JOB)
    job = bench.job(int(page.url.split("/")[-2]))
    assert (job["story"], len(job["photos"])) == ("It fell into the harbour.", 1)


def test_what_is_sent_after_the_visit_ended_stays_typed_and_goes_through_once_signed_in(
    bench: Bench, signed_in
):
    page, watch = signed_in
    number = take_one_in(page, bench)
    page.get_by_label("What you see").fill("red window, cracked")
    with watch.expecting(*ENDED):
        end_visit(page)
        page.get_by_role("button", name="to mend").tap()
        expect(page.locator(".refused.line")).to_contain_text("You are signed out")
    expect(page.get_by_label("What you see")).to_have_value("red window, cracked")
    sign_in_beside(page)
    page.get_by_role("button", name="to mend").tap()
    expect(page.locator(".findings > li")).to_have_count(1)
    (finding,) = bench.job(number)["findings"]
    assert finding["part"] == "red window"


def test_a_recording_sent_after_the_visit_ended_stays_chosen(bench: Bench, signed_in):
    page, watch = signed_in
    number = take_one_in(page, bench)
    page.goto(f"{bench.url}/job/{number}/shutter/")
    page.get_by_label("Or another marking").fill("1/50")
    gate = recorded(CLEANED, seed=9)
    page.locator("input[name=recording]").set_input_files(sent("gate.wav", gate.wav, "audio/wav"))
    with watch.expecting(*ENDED):
        end_visit(page)
        page.get_by_role("button", name="Send it and have it read").tap()
        expect(page.locator("[data-part=refused]")).to_contain_text("signed out")
    sign_in_beside(page)
    page.get_by_role("button", name="Send it and have it read").tap()
    page.wait_for_url("**/reading/*/")
    expect(page.get_by_role("button", name="Accept as found")).to_be_visible(timeout=60_000)


def test_after_signing_in_anew_one_is_back_on_the_page_that_asked(bench: Bench, signed_in):
    page, _ = signed_in
    number = take_one_in(page, bench)
    end_visit(page)
    page.goto(f"{bench.url}/job/{number}/price/")
    sign_in(page)
    assert page.url == f"{bench.url}/job/{number}/price/"
