"""A whole strip-down of forty steps and the way back, by a pedal and a thumb, and what is forgotten on it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from browser.conftest import TABLET, Opened
from browser.served import Bench

STEPS = 40
#: The curtains, the mirror and the latch of a reflex: more than forty parts are in the way.
ON_THE_BENCH = """
import django; django.setup()
from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.stripping.way_in import Aim, take_aim
from pegwood.pricing.money import Money
who = "Tove Halm"
camera = arriving.CameraDetails(family="reflex-35-cloth", maker="Vorrin", model="Reflex")
job = arriving.take_in(arriving.OwnerDetails(name="Ilse Marrick"), camera, by=who)
looking.note_finding(job, looking.FindingDetails(part="first curtain", condition="pinholes"), by=who)
moving.look_over(job, by=who)
agreeing.tell_price(job, [agreeing.Line(what="curtains", amount=Money(20000, "EUR"))], by=who)
agreeing.record_yes(job, how="by letter", up_to=Money(25000, "EUR"), by=who)
moving.put_on_bench(job, by=who)
reach = ("shutter.drum", "mirror-box.mirror", "mirror-box.focusing-screen", "back.latch-bar")
take_aim(job, Aim(reach=reach), by=who)
"""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    bench = Bench(tmp_path_factory.mktemp("strip") / "workshop").fill(ON_THE_BENCH).start()
    yield bench
    bench.stop()


def heading(page: Page) -> str:
    return page.locator("#strip h1").evaluate("title => title.firstChild.textContent.trim()")


def pedal(page: Page) -> None:
    """Press the pedal and wait for the next step."""
    before = page.locator("#strip form.off-step").get_attribute("id")
    page.keyboard.press("PageDown")
    page.locator(f"#{before}").wait_for(state="detached")


def test_forty_steps_off_and_in_again_with_a_screw_left_over_and_a_shim_swapped(opened: Opened, bench: Bench):
    context, watch = opened(bench.url, **TABLET)
    page = context.new_page()
    page.goto(f"{bench.url}/job/1/strip/")
    page.get_by_role("button", name="Let the clock run").tap()
    shims: list[tuple[str, str]] = []
    screwed = ""
    for n in range(1, STEPS + 1):
        if n == 7:  # a slip of the knuckle, taken back
            pedal(page)
            page.keyboard.press("Delete")
            page.wait_for_url("**/strip/")
            page.get_by_text("Taken back").wait_for()
        name = heading(page)
        thick = page.get_by_label("Thickness, mm").locator("visible=true")
        if thick.count() and len(shims) < 2:
            # two shims that can be told apart by a micrometer
            thick.first.fill("0.20" if not shims else "0.35")
            shims.append((name, thick.first.input_value()))
        if not screwed and page.locator(".kept-row:not(.new):has-text('screw')").count():
            screwed = name
        pedal(page)
    log = bench.job(1)["taken_off"]
    assert [row["number"] for row in log if not row["struck_out"]] == list(range(1, STEPS + 1))
    assert sum(row["struck_out"] for row in log) == 1
    assert all(row["seconds"] > 0 for row in log)
    assert len(shims) == 2
    assert screwed

    page.goto(f"{bench.url}/job/1/back/")
    swapped = False
    for _ in range(STEPS):
        name = heading(page)
        hand = page.get_by_label("In the hand, mm")
        if not swapped and hand.count() and name in dict(shims):
            other = next(mm for one, mm in shims if one != name)
            hand.first.fill(other)
            with watch.expecting("422"):
                page.get_by_role("button", name="It is in", exact=True).tap()
                refused = page.locator("#strip .refused").first
                refused.wait_for()
            assert "does not fit" in refused.inner_text()
            assert other.rstrip("0") in refused.inner_text()
            assert heading(page).startswith(name), "nothing was written down"
            page.get_by_label("In the hand, mm").first.fill(dict(shims)[name])
            swapped = True
        if name == screwed:
            page.get_by_label("Stays in the pocket").first.fill("1")
        pedal(page)
    assert swapped
    # the last part is in, and the screw that is left is named with where it belongs
    left = page.locator("#leftovers")
    left.wait_for()
    assert f"It belongs to the {screwed}" in left.inner_text()
    assert "tray 1" in left.inner_text()

    move(page, bench, "Prove it")
    with watch.expecting("422"):
        move(page, bench, "Call it ready")
    assert "It is not whole" in page.locator("main .refused").first.inner_text()

    page.goto(f"{bench.url}/job/1/back/")
    page.locator(".pocket.full .look-in").tap()
    page.get_by_label("How many lie there now").first.fill("0")
    page.get_by_role("button", name="Write it down").tap()
    page.get_by_role("heading", name="It is whole").wait_for()
    move(page, bench, "Call it ready")
    assert bench.job(1)["standing"] == "ready"


def move(page: Page, bench: Bench, label: str) -> None:
    page.goto(f"{bench.url}/job/1/")
    page.locator(f"#next-thing button:has-text('{label}')").tap()
    page.wait_for_load_state("networkidle")
