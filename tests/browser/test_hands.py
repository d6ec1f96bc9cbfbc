"""Take-in, findings and prices in a real browser: with a thumb, over a line that drops."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator

import pytest

from browser.served import Bench
from browser.things import photograph

PHONE, TABLET = {"width": 390, "height": 844}, {"width": 800, "height": 1100}
TAKE_IN = """
import django; django.setup()
from pegwood.book.arriving import CameraDetails, OwnerDetails, take_in
from pegwood.book.looking import FindingDetails, note_finding
from pegwood.book.moving import look_over
camera = CameraDetails(family="folding-roll-front-cell", maker="Vorrin", model="Wayfarer", year_made=1952)
take_in(OwnerDetails(name="Ilse Marrick", phone="0555-0132"), camera, by="Tove Halm")
camera = CameraDetails(family="box", maker="Aldermoor", model="Plain")
job = take_in(OwnerDetails(name="Benno Tjaard"), camera, by="Tove Halm")
note_finding(job, FindingDetails(part="shutter spring", condition="broken", outlook="mend"), by="Tove Halm")
look_over(job, by="Tove Halm")
"""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A served workshop: job 1 just taken in, job 2 looked over; gives its address."""
    bench = Bench(tmp_path_factory.mktemp("workshop") / "workshop").fill(TAKE_IN).start()
    yield bench.url
    bench.stop()


@pytest.fixture(params=[PHONE, TABLET], ids=["phone", "tablet"])
def page(chromium, bench, request):
    """A page on which no script may fail and nothing may ask another host."""
    context = chromium.new_context(viewport=request.param)
    page = context.new_page()
    trouble: list[str] = []
    page.on("pageerror", lambda error: trouble.append(str(error)))
    page.on(
        "request",
        lambda asked: (
            None if asked.url.startswith((bench, "blob:", "data:")) else trouble.append(f"asked {asked.url}")
        ),
    )
    yield page
    context.close()
    assert trouble == []


def shot(grey: int) -> dict[str, object]:
    return {"name": "front.jpg", "mimeType": "image/jpeg", "buffer": photograph(grey=grey)}


def tap(page, selector: str) -> None:
    page.locator(f"label:has({selector})").first.click()


def until(page, true: str) -> None:
    """Wait until an expression is true; asked from outside, since the pages let no text run as a script."""
    for _ in range(100):
        if page.evaluate(true):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"never came true: {true}")


NAMES = (f"Maite Orlan {n}" for n in itertools.count(1))


def begin(page, bench: str) -> str:
    """Kind, name and story; a namesake would be asked about, so everybody has a name of their own."""
    name = next(NAMES)
    page.goto(f"{bench}/take-in/")
    tap(page, "[name=family][value=box]")
    page.fill("#id_name", name)
    page.fill("#id_story", "found on the ferry")
    until(page, "document.querySelector('#kept').textContent.startsWith('kept')")
    return name


def take_it_in(page) -> None:
    page.click("#take-it-in")
    page.wait_for_url(re.compile(r"/job/\d+/$"))


def test_a_thumb_takes_a_camera_in_and_its_tag_fills_itself(page, bench):
    name = begin(page, bench)
    assert page.inner_text("[data-echo=what]") == "Box camera"
    assert page.inner_text("[data-echo=who]") == f"for {name} · found on the ferry"
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    take_it_in(page)
    assert "Taken in." in page.inner_text(".said")
    assert page.evaluate("Object.keys(localStorage)") == []


def test_what_is_typed_while_the_line_is_down_comes_back_after_a_reload(page, bench):
    begin(page, bench)
    page.route("**/draft/", lambda route: route.abort())
    page.fill("#id_maker", "Kestrane")
    until(page, "document.querySelector('#kept').textContent.startsWith('no line')")
    page.reload()
    page.wait_for_selector("#take-in-form .said")
    assert page.input_value("#id_maker") == "Kestrane"
    page.unroute("**/draft/")
    take_it_in(page)
    assert "Kestrane" in page.inner_text("h1")


def test_sending_it_off_while_the_line_is_down_loses_nothing(page, bench):
    begin(page, bench)
    page.context.set_offline(True)
    page.click("#take-it-in")
    page.wait_for_selector(".refused.line")
    assert page.input_value("#id_story") == "found on the ferry"
    page.context.set_offline(False)
    take_it_in(page)


def test_a_photograph_outlives_a_dropped_line_and_a_reload(page, bench):
    begin(page, bench)
    page.set_input_files(".shoot input >> nth=0", shot(10))
    page.wait_for_selector("#draft-tray figure:not(.waiting)")
    page.route("**/photo/", lambda route: route.abort())
    page.set_input_files(".shoot input >> nth=1", [shot(20), shot(30)])
    page.wait_for_selector("#draft-tray >> text=waits for the line")
    page.reload()
    page.wait_for_selector("#draft-tray .waiting >> nth=1")
    page.unroute("**/photo/")
    page.evaluate("dispatchEvent(new Event('online'))")
    until(page, "document.querySelectorAll('#draft-tray figure:not(.waiting)').length === 3")
    take_it_in(page)
    assert page.locator("#photo-tray figure").count() == 3


def test_the_form_waits_for_a_photograph_that_is_still_on_its_way(page, bench):
    begin(page, bench)
    held = []
    page.route("**/photo/", lambda route: held.append(route))
    page.set_input_files(".shoot input >> nth=0", shot(40))
    page.wait_for_selector("#draft-tray .waiting")
    page.click("#take-it-in")
    until(page, "document.querySelector('#take-it-in').textContent.startsWith('Waiting for 1')")
    held[0].continue_()
    page.wait_for_url(re.compile(r"/job/\d+/$"))
    assert page.locator("#photo-tray figure").count() == 1


def test_somebody_known_is_suggested_while_the_name_is_typed(page, bench):
    page.goto(f"{bench}/take-in/")
    page.locator("#id_name").press_sequentially("marri")
    page.locator("label:has-text('Ilse Marrick')").click()
    assert page.locator("#id_phone").is_hidden()
    page.wait_for_selector("[data-echo=who] >> text=for Ilse Marrick")


def test_a_finding_is_one_line_and_two_taps_and_the_next_one_begins(page, bench):
    page.goto(f"{bench}/job/1/")
    page.fill("#id_line", "bellows, two pinholes")
    tap(page, "[name=grade][value='2']")
    page.click("button:has-text('to mend')")
    page.wait_for_selector(".findings .fresh >> text=two pinholes")
    assert page.input_value("#id_line") == ""
    assert page.evaluate("document.activeElement.id") == "id_line"


def test_a_finding_that_is_refused_stays_and_has_the_focus(page, bench):
    page.goto(f"{bench}/job/1/")
    tap(page, "[value='red window']")
    page.click("button:has-text('only seen')")
    page.wait_for_selector("#findings .amiss")
    assert page.is_checked("#note-finding [value='red window']")
    until(page, "document.activeElement.id === 'id_line'")


def test_a_line_half_typed_is_there_after_a_reload(page, bench):
    page.goto(f"{bench}/job/1/")
    page.fill("#id_line", "struts, be")
    page.reload()
    page.wait_for_selector("#note-finding .said")
    assert page.input_value("#id_line") == "struts, be"


def test_a_price_adds_up_while_it_is_typed_and_outlives_a_reload_with_all_its_lines(page, bench):
    page.goto(f"{bench}/job/2/price/")
    page.click("button:has-text('More lines')")
    page.fill("#id_line-0-amount", "80")
    page.fill("#id_line-3-what", "postage")
    page.fill("#id_line-3-amount", "12.30")
    page.wait_for_selector("#reckoned >> text=92.30")
    page.fill("#id_line-6-what", "a new spring")
    page.reload()
    until(page, "[...document.querySelectorAll('.line input')].some(i => i.value === 'a new spring')")
    values = page.eval_on_selector_all(".line .what input", "fields => fields.map(f => f.value)")
    assert [value for value in values if value] == ["shutter spring: broken", "postage", "a new spring"]
