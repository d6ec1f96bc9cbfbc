"""The bench without a hand on the screen."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from browser import look
from browser.conftest import Opened
from browser.served import Bench

WIDE = {"viewport": {"width": 1280, "height": 800}, "reduced_motion": "reduce"}
MOST_STOPS = 160


@pytest.mark.parametrize("address", ["/", "/job/1/", "/job/1/shutter/", "/workshop/"])
def test_the_first_stop_leads_past_the_head_to_the_work(filled: Bench, opened: Opened, address):
    page = _page(opened, filled.url + address)
    page.keyboard.press("Tab")
    here = look.focus(page)
    assert here is not None
    assert (here["text"], here["shown"], here["inView"]) == ("To the work", True, True)
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()
    page.keyboard.press("Tab")
    assert page.evaluate("document.querySelector('main').contains(document.activeElement)")


@pytest.mark.parametrize("address", ["/", "/job/1/", "/job/3/", "/job/3/price/", "/job/8/hand-back/"])
def test_the_next_thing_is_a_few_stops_from_the_work(filled: Bench, opened: Opened, address):
    page = _page(opened, filled.url + address)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    for _stop in range(6):
        page.keyboard.press("Tab")
        here = look.focus(page)
        if here and here["filled"]:
            return
    pytest.fail("the filled button is not reached in six stops")


@pytest.mark.parametrize(
    "address",
    [
        "/",
        "/job/1/",
        "/job/1/shutter/",
        "/job/2/causes/?now=yes",
        "/reading/3/",
        "/take-in/",
        "/workshop/",
        "/find/?q=vorrin",
    ],
)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_wherever_the_keyboard_is_it_can_be_seen(filled: Bench, opened: Opened, address, scheme):
    page = _page(opened, filled.url + address, color_scheme=scheme)
    page.wait_for_load_state("networkidle")  # what comes later moves the rest
    unseen, stops = [], 0
    for _stop in range(MOST_STOPS):
        page.keyboard.press("Tab")
        here = look.focus(page)
        if here is None:
            break  # round once
        stops += 1
        if not (here["shown"] and here["inView"]):
            unseen.append(here["html"])
    assert unseen == []
    assert stops > 4


def test_a_camera_is_taken_in_and_looked_over_with_no_hand_on_the_screen(bench: Bench, opened: Opened):
    page = _page(opened, bench.url + "/")
    _to(page, "Take in a camera", "A")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/take-in/[0-9a-f-]+/"))
    _to(page, "family", "INPUT")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowRight")
    _to(page, "id_maker")
    page.keyboard.type("Vorrin")
    _to(page, "id_name")
    page.keyboard.type("Ilse Marrick")
    _to(page, "id_story")
    page.keyboard.type("found in a cellar")
    _to(page, "Take it in", "BUTTON")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/job/\d+/"))
    number = int(re.search(r"/job/(\d+)/", page.url)[1])
    _to(page, "id_line")
    page.keyboard.type("bellows, two pinholes")
    _to(page, "to mend", "BUTTON")
    page.keyboard.press("Enter")
    expect(page.locator(".findings > li")).to_have_count(1)
    expect(page.locator("#id_line")).to_be_focused()  # ready for the next one
    _to(page, "It is looked over", "BUTTON")
    page.keyboard.press("Enter")
    expect(page.locator(".said")).to_contain_text("looked over")
    job = bench.job(number)
    assert (job["standing"], job["camera"]["maker"]) == ("looked over", "Vorrin")
    assert job["findings"][0]["outlook"] == "mend"


def _page(opened: Opened, address: str, **how: object) -> Page:
    context, _ = opened("/".join(address.split("/")[:3]), **{**WIDE, **how})
    page = context.new_page()
    page.goto(address)
    page.evaluate(
        "document.activeElement.blur()"
    )  # a page may put the hand where it is wanted; begin at the top
    return page


def _to(page: Page, wanted: str, tag: str = "") -> None:
    """Press Tab until what bears that text, name or id is reached."""
    for _stop in range(2 * MOST_STOPS):
        page.keyboard.press("Tab")
        there = look.is_at(page, wanted, tag)
        if there:
            return
    pytest.fail(f"{wanted!r} is not reached by keyboard")
