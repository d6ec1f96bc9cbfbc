"""A narration typed at the bench and settled by single keys; nothing typed is lost to a reload."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import TABLET, Opened
from browser.served import Bench

JOB = """
import django; django.setup()
from pegwood.book import arriving
camera = arriving.CameraDetails(family="folding-roll-front-cell", maker="Vorrin", model="Wayfarer")
for n in range(2):
    arriving.take_in(arriving.OwnerDetails(name=f"Ilse Marrick {n}"), camera, by="Tove Halm")
"""
TOLD = """0:00:10 the shutter blades are oily
0:00:20 slow train might be gummed
0:00:30 no fungus on the rear element
0:00:40 the bellows are torn
0:00:50 the winding knob is bent"""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    bench = Bench(tmp_path_factory.mktemp("hear") / "workshop").fill(JOB).start()
    yield bench
    bench.stop()


def in_focus(page: Page, what: str) -> None:
    expect(page.locator(f"#{what}")).to_be_focused()


def test_five_things_are_settled_by_a_key_each_and_the_focus_goes_on(opened: Opened, bench: Bench):
    context, _watch = opened(bench.url, **TABLET)
    page = context.new_page()
    page.goto(f"{bench.url}/job/1/hear/")
    page.get_by_label("What was said").fill(TOLD)
    page.reload()
    expect(page.get_by_label("What was said")).to_have_value(TOLD)
    page.get_by_role("button", name="Hear it").first.tap()
    in_focus(page, "p-1")
    settled = page.locator("#heard-top h1")
    page.keyboard.press("k")
    in_focus(page, "p-2")
    expect(settled).to_have_text("1 of 5 settled")
    page.keyboard.press("d")
    in_focus(page, "p-3")
    page.keyboard.press("n")
    in_focus(page, "p-4")
    page.keyboard.press("m")
    four = page.locator("#p-4")
    expect(four.get_by_label("Part", exact=True)).to_be_focused()
    four.get_by_label("Condition", exact=True).fill("pinholes, three")
    page.keyboard.press("k")  # in a field a key writes
    expect(four.get_by_label("Condition", exact=True)).to_have_value("pinholes, threek")
    page.keyboard.press("Backspace")
    page.reload()  # with the mend half typed
    page.locator("#p-4 [data-do=mend]").tap()
    expect(four.get_by_label("Condition", exact=True)).to_have_value("pinholes, three")
    page.get_by_role("button", name="Mend and keep").tap()
    in_focus(page, "p-5")
    expect(settled).to_have_text("3 of 5 settled")
    page.keyboard.press("u")  # takes the last one back, whatever is in focus
    expect(settled).to_have_text("2 of 5 settled")
    page.get_by_role("button", name="Keep the 3 plain ones").tap()
    expect(page.locator("#heard-top h1")).to_have_text("All 5 are settled")
    page.get_by_role("link", name="To the job card").tap()
    for condition in ("oily", "no fungus", "torn", "bent"):
        expect(page.locator("#findings")).to_contain_text(condition)
    expect(page.locator("#findings")).not_to_contain_text("gummed")


def test_it_all_works_without_a_script(opened: Opened, bench: Bench):
    context, _watch = opened(bench.url, **{**TABLET, "java_script_enabled": False})
    page = context.new_page()
    page.goto(f"{bench.url}/job/2/hear/")
    page.get_by_label("What was said").fill(TOLD)
    page.get_by_role("button", name="Hear it").first.tap()
    page.locator("#p-1").get_by_role("button", name="Keep").tap()
    expect(page.locator("#heard-top h1")).to_have_text("1 of 5 settled")
    page.locator("#p-2").get_by_role("link", name="Mend").tap()
    page.locator("#p-2").get_by_label("Condition", exact=True).fill("rust")
    page.get_by_role("button", name="Mend and keep").tap()
    page.locator("#p-3").get_by_role("button", name="Drop").tap()
    expect(page.locator("#heard-top h1")).to_have_text("3 of 5 settled")
    page.get_by_role("button", name="Undo").tap()
    expect(page.locator("#heard-top h1")).to_have_text("2 of 5 settled")
