"""The board, the job card and the search in a real browser: for every eye, by keyboard, on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from browser.served import Bench

PHONE, TABLET, LAPTOP = ({"width": w, "height": h} for w, h in [(390, 844), (800, 1100), (1280, 800)])
FILL = """
import django; django.setup()
from datetime import timedelta
from django.utils import timezone
from pegwood.book import agreeing, arriving, looking, moving
from pegwood.pricing.money import Money
by, ago = "Tove Halm", timezone.now() - timedelta(days=20)
late = (timezone.now() - timedelta(days=4)).date()
camera = arriving.CameraDetails(family="folding-roll-front-cell", maker="Vorrin", model="Wayfarer")
ilse = arriving.OwnerDetails(name="Ilse Marrick", phone="0555-0132")
job = arriving.take_in(ilse, camera, by=by, story="found in a cellar", promised_on=late, at=ago)
seen = looking.FindingDetails(part="shutter blades", condition="oil film", grade=3, outlook="mend")
looking.note_finding(job, seen, by=by)
moving.look_over(job, by=by)
agreeing.tell_price(job, [agreeing.Line(what="clean the shutter", amount=Money(14500, "EUR"))], by=by)
agreeing.record_yes(job, how="by telephone", by=by)
box = arriving.CameraDetails(family="box")
for name in ("Benno Tjaard", "Oda Wessel", "Arend Visser"):
    arriving.take_in(arriving.OwnerDetails(name=name), box, by=by)
"""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A served workshop: job 1 agreed and late, jobs 2 to 4 just taken in; gives its address."""
    bench = Bench(tmp_path_factory.mktemp("workshop") / "workshop").fill(FILL).start()
    yield bench.url
    bench.stop()


@pytest.fixture
def opened(chromium, bench):
    """Open pages of a given size; none may complain, nor ask another host for anything."""
    trouble: list[str] = []
    contexts = []

    def open_page(size=TABLET, **how):
        context = chromium.new_context(viewport=size, base_url=bench, **how)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: trouble.append(str(error)))
        page.on(
            "console",
            # A refused form is answered 422 on purpose; the browser remarks on it.
            lambda said: (
                said.type in ("error", "warning") and "422" not in said.text and trouble.append(said.text)
            ),
        )
        page.on(
            "request",
            lambda asked: asked.url.startswith((bench, "data:", "blob:")) or trouble.append(asked.url),
        )
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert trouble == []


def test_results_follow_the_typing_and_can_be_opened_by_keyboard(opened):
    page = opened(PHONE)
    page.goto("/find/")
    page.locator("#q").type("oil fi", delay=20)
    page.locator("#found mark").first.wait_for()
    assert "Vorrin Wayfarer" in page.locator("#found").inner_text()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/job/1/")


def test_after_a_refusal_the_focus_goes_to_it_and_what_was_typed_is_there(opened):
    page = opened(TABLET)
    page.goto("/job/2/")
    page.get_by_text("Send it back unmended").first.click()
    page.locator("#text-send-back-unmended").fill("   ")
    page.get_by_role("button", name="Send it back unmended").click()
    page.locator(".refused").wait_for()
    assert page.evaluate("document.activeElement.id") == "text-send-back-unmended"
    assert page.get_by_text("Write the reason").is_visible()


def test_without_javascript_a_job_is_moved_and_things_are_found(opened):
    page = opened(PHONE, java_script_enabled=False)
    page.goto("/")
    page.get_by_role("link", name="Go to 1").click()
    page.get_by_role("button", name="Put it on the bench").click()
    assert "on the bench" in page.locator(".gauge .now").inner_text()
    page.locator("#lookup").fill("marrick")
    page.locator("#lookup").press("Enter")
    assert page.locator(".tag.small").count() == 1


def test_the_gauge_on_a_phone_still_says_where_the_job_stands(opened):
    page = opened(PHONE)
    page.goto("/job/3/")
    assert page.locator(".gauge .now > span").bounding_box()["width"] > 40
    assert page.locator(".gauge").bounding_box()["width"] <= PHONE["width"]


def test_on_paper_the_card_is_a_bench_sheet_without_buttons(opened):
    page = opened(LAPTOP)
    page.goto("/job/4/")
    page.emulate_media(media="print")
    for gone in (".mast", ".next", "form", "#papers", "#diary", ".foot"):
        assert page.locator(f"{gone}:visible").count() == 0, gone
    for there in (".tag", ".gauge", "#camera", ".by-hand"):
        assert page.locator(there).is_visible(), there
    box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", page.pdf(prefer_css_page_size=True))
    # A5 is 148 mm x 210 mm (ISO 216, from memory); a point is 1/72 inch.
    assert [float(side) / 72 * 25.4 for side in box.groups()] == pytest.approx([148, 210], abs=0.5)
