"""A story and five looks with a thumb on a tablet, what the bars say then, and a mend written down."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import PHONE, TABLET, Opened
from browser.served import Bench

TAKEN_IN = """
import django; django.setup()
from pegwood.book import arriving
camera = arriving.CameraDetails(family="folding-roll-front-cell", maker="Vorrin", model="Wayfarer")
ilse = arriving.OwnerDetails(name="Ilse Marrick")
arriving.take_in(ilse, camera, by="Tove Halm", story="The shutter sticks.")
"""
#: What somebody sees of a shutter whose train is gummed and whose blades are oiled.
SEEN = (
    ("shutter.hangs-1s", "hangs"),
    ("shutter.blades-look", "drops"),
    ("shutter.blades-rust-seen", "no"),
    ("shutter.iris-feel", "don't know"),
)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    bench = Bench(tmp_path_factory.mktemp("wrong") / "workshop").fill(TAKEN_IN).start()
    yield bench
    bench.stop()


def bars(page: Page) -> dict[str, float]:
    """The likely faults by name, and the width of their bars as they are drawn, in per cent."""
    found = {}
    for row in page.locator("#likely .why > summary:has(.bar-track)").all():
        track = row.locator(".bar-track").bounding_box()
        bar = row.locator(".bar-track i").bounding_box()
        name = row.locator(".bar-name").evaluate("name => name.firstChild.textContent.trim()")
        assert track
        assert bar
        found[name] = 100 * bar["width"] / track["width"]
    return found


def said(page: Page) -> dict[str, str]:
    """The likely faults by name, and their chances as they are written."""
    rows = page.locator("#likely .why > summary:has(.bar-track)").all()
    return {
        row.locator(".bar-name").evaluate("name => name.firstChild.textContent.trim()"): row.locator(
            ".bar-says"
        ).inner_text()
        for row in rows
    }


def test_a_story_and_five_looks_by_thumb_bring_up_what_is_wrong(opened: Opened, bench: Bench):
    context, _ = opened(bench.url, **TABLET)
    page = context.new_page()
    page.goto(f"{bench.url}/job/1/causes/")
    page.locator(".answer-big").first.wait_for()
    page.locator("#so-unserved-long").tap()
    page.locator("#so-unserved-long[aria-pressed=true]").wait_for()
    expect(page.locator("#so-unserved-long")).to_be_focused()
    page.locator("#not-sand").tap()
    page.locator("#not-sand[aria-pressed=true]").wait_for()
    at_first = bars(page)

    # the first as it is proposed, the others chosen from the list
    proposed = page.locator("#look-asks").inner_text()
    page.locator(".answer-big").first.tap()
    page.get_by_role("button", name="Take it back").wait_for()
    expect(page.locator("#look-asks")).not_to_have_text(proposed)
    for sign, answer in SEEN:
        page.get_by_role("link", name="Another look").tap()
        page.locator("#causes-find").fill(sign.partition(".")[0])
        page.locator(f"a[href$='look={sign}']").tap()
        page.get_by_role("button", name=answer.capitalize() if "'" in answer else answer, exact=True).tap()
        page.locator(".said").wait_for()
        assert page.url.endswith("/causes/"), "a reload shows the next look, not this one again"
    assert page.locator("#answered .answered li").count() == 5

    now, words = bars(page), said(page)
    first, second = list(now)[:2]
    assert {first, second} == {"Oil on the shutter blades", "Slow train gummed"}
    assert now[first] > at_first.get(first, 0)
    assert list(now.values()) == sorted(now.values(), reverse=True)
    for name, width in now.items():
        assert abs(width - float(words[name].split()[0])) <= 1.0, "what is drawn is what is written"

    # why, in place; then it is found, mended, and stands on the card
    page.locator("#likely .why > summary").first.tap()
    why = page.locator(".why[open] .fault")
    why.get_by_text("raised its odds").first.wait_for()
    why.get_by_role("button", name="It is there").tap()
    page.locator("#likely").get_by_text("● found").wait_for()
    mend = page.locator(".why[open] .mend").first
    assert mend.locator(".caution").count()
    mend.get_by_label("Minutes").fill("25")
    mend.get_by_role("button", name="Done", exact=True).tap()
    page.locator("#likely").get_by_text("● mended").wait_for()
    assert [row["minutes"] for row in bench.job(1)["work"]] == [25]
    page.goto(f"{bench.url}/job/1/")
    expect(page.locator("#wrong")).to_contain_text("5 looks so far")


def test_a_slip_of_the_thumb_is_taken_back_where_it_was_made(opened: Opened, bench: Bench):
    context, _ = opened(bench.url, **PHONE)
    page = context.new_page()
    page.goto(f"{bench.url}/job/1/causes/?look=shutter.slow-speeds")
    before = page.locator("#answered .answered li").count()
    page.locator(".answer-big").last.tap()
    page.get_by_role("button", name="Take it back").tap()
    page.get_by_text("Taken back.").wait_for()
    assert page.locator("#answered .answered li").count() == before


def test_without_a_script_every_press_is_a_form(opened: Opened, bench: Bench):
    context, _ = opened(bench.url, **TABLET, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{bench.url}/job/1/causes/?look=shutter.slow-speeds")
    page.get_by_role("button", name="Don't know").tap()
    page.get_by_text("Measure 1 s to 1/15 s: don't know.").wait_for()
    page.locator("#likely summary").first.tap()
    page.get_by_role("link", name="Why, and what mends it").first.tap()
    page.get_by_role("button", name="It is not", exact=True).tap()
    page.get_by_text("is not there").first.wait_for()
