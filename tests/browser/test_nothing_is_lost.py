"""Reloads, lines that drop, impatient thumbs and a server that dies: nothing that was typed is lost."""

from __future__ import annotations

import itertools
import re

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from browser.conftest import PHONE, Opened
from browser.served import Bench
from browser.things import CLEANED, photograph, recorded, sent
from browser.watch import Watch

NAMES = (f"Maite Orlan {n}" for n in itertools.count(1))
JOB = re.compile(r"/job/\d+/$")
OFFLINE = ("ERR_INTERNET_DISCONNECTED", "Failed to fetch", "net::ERR")
DEAD = ("ERR_CONNECTION_REFUSED", "ERR_CONNECTION_RESET", "ERR_EMPTY_RESPONSE", "Failed to fetch", "net::ERR")


@pytest.fixture
def phone(bench: Bench, opened: Opened) -> tuple[Page, Watch, BrowserContext]:
    context, watch = opened(bench.url, **PHONE)
    return context.new_page(), watch, context


def begin(page: Page, bench: Bench) -> str:
    name = next(NAMES)
    page.goto(bench.url + "/take-in/")
    page.locator("label:has([name=family][value=box])").tap()
    page.get_by_label("Name or telephone").fill(name)
    page.get_by_label("What the owner tells").fill("Found on the ferry.\nIt rattles.")
    page.locator("label:has([name=accessories][value=hood])").tap()
    page.locator("label:has([name=promise][value='1w'])").tap()
    expect(page.locator("#kept")).to_have_text(re.compile("^kept"))
    return name


def add_photo(page: Page, grey: int) -> None:
    page.locator("#photos input[type=file]").nth(0).set_input_files(
        sent(f"{grey}.jpg", photograph(grey=grey), "image/jpeg")
    )


def all_is_there(page: Page, name: str, photos: int) -> None:
    expect(page.get_by_label("Name or telephone")).to_have_value(name)
    expect(page.get_by_label("What the owner tells")).to_have_value("Found on the ferry.\nIt rattles.")
    expect(page.locator("[name=family][value=box]")).to_be_checked()
    expect(page.locator("[name=accessories][value=hood]")).to_be_checked()
    expect(page.locator("[name=promise][value='1w']")).to_be_checked()
    expect(page.locator("#draft-tray figure:not(.waiting)")).to_have_count(photos)


def take_it_in(page: Page, bench: Bench, name: str) -> dict:
    page.locator("#take-it-in").tap()
    page.wait_for_url(JOB)
    (mine,) = [job for job in bench.jobs() if job["owner"] == name]
    return bench.job(mine["number"])


def test_a_reload_in_the_middle_keeps_every_field_and_photograph(bench: Bench, phone):
    page, _, _ = phone
    name = begin(page, bench)
    add_photo(page, 100)
    add_photo(page, 160)  # while the first is on its way
    expect(page.locator("#draft-tray figure:not(.waiting)")).to_have_count(2, timeout=4_000)
    page.reload()
    all_is_there(page, name, 2)
    job = take_it_in(page, bench, name)
    assert (len(job["photos"]), job["accessories"]) == (2, "hood")


def test_a_reload_at_once_after_a_key_keeps_that_key(bench: Bench, phone):
    """Faster than the page sends what was typed."""
    page, _, _ = phone
    name = begin(page, bench)
    page.get_by_label("Maker").press_sequentially("Kestrane")
    page.reload()
    expect(page.get_by_label("Maker")).to_have_value("Kestrane")
    assert take_it_in(page, bench, name)["camera"]["maker"] == "Kestrane"


def test_what_was_begun_is_found_again_from_the_front(bench: Bench, phone):
    page, _, _ = phone
    name = begin(page, bench)
    page.goto(bench.url + "/take-in/")
    page.locator(".begun a", has_text=name).tap()
    all_is_there(page, name, 0)


def test_a_dropped_line_keeps_all_and_it_is_saved_when_it_is_back(bench: Bench, phone):
    page, watch, context = phone
    name = begin(page, bench)
    with watch.expecting(*OFFLINE):
        context.set_offline(True)
        page.get_by_label("Maker").fill("Kestrane")
        add_photo(page, 110)
        expect(page.locator("#kept")).to_contain_text("no line")
        expect(page.locator("#draft-tray figure.waiting")).to_contain_text("waits for the line")
        page.locator("#take-it-in").tap()
        page.wait_for_timeout(300)
        assert not JOB.search(page.url)
        context.set_offline(False)
        page.wait_for_url(JOB)  # it waited for the photograph, then went by itself
    (mine,) = [job for job in bench.jobs() if job["owner"] == name]
    job = bench.job(mine["number"])
    assert (job["camera"]["maker"], len(job["photos"])) == ("Kestrane", 1)


def test_an_impatient_thumb_opens_one_job(bench: Bench, phone):
    page, _, _ = phone
    name = begin(page, bench)
    page.evaluate(
        "() => { const b = document.getElementById('take-it-in'); b.click(); b.click(); b.click(); }"
    )
    page.wait_for_url(JOB)
    assert len([job for job in bench.jobs() if job["owner"] == name]) == 1


def test_two_taps_without_scripts_open_one_job(bench: Bench, opened: Opened):
    context, _ = opened(bench.url, **PHONE, java_script_enabled=False)
    page, name = context.new_page(), next(NAMES)
    page.goto(bench.url + "/take-in/")
    page.locator("label:has([name=family][value=box])").tap()
    page.get_by_label("Name or telephone").fill(name)
    form, address = page.locator("#take-in-form"), page.url
    token = form.locator("[name=csrfmiddlewaretoken]").get_attribute("value")
    typed = {"csrfmiddlewaretoken": token, "family": "box", "name": name, "do": "take"}
    for _ in range(2):
        answer = context.request.post(address, form=typed, max_redirects=0, headers={"Origin": bench.url})
        assert answer.status == 302
    assert len([job for job in bench.jobs() if job["owner"] == name]) == 1


def test_a_finding_noted_twice_by_an_impatient_thumb_is_one(bench: Bench, phone):
    page, _, _ = phone
    name = begin(page, bench)
    job = take_it_in(page, bench, name)
    page.get_by_label("What you see").fill("red window, cracked")
    page.evaluate(
        "() => { const b = document.querySelector('.note-as button'); b.click(); b.click(); b.click(); }"
    )
    expect(page.locator(".findings > li")).to_have_count(1)
    page.wait_for_timeout(500)
    assert len(bench.job(job["number"])["findings"]) == 1


def test_a_server_that_dies_and_comes_back_has_all_of_it(bench: Bench, phone):
    page, watch, _ = phone
    name = begin(page, bench)
    add_photo(page, 120)
    expect(page.locator("#draft-tray figure:not(.waiting)")).to_have_count(1)
    with watch.expecting(*DEAD):
        bench.kill()
        page.get_by_label("Maker").fill("Kestrane")
        add_photo(page, 170)
        expect(page.locator("#kept")).to_contain_text("no line")
        bench.start()
        expect(page.locator("#kept")).to_have_text(re.compile("^kept"), timeout=20_000)
        expect(page.locator("#draft-tray figure:not(.waiting)")).to_have_count(2, timeout=20_000)
    page.reload()
    all_is_there(page, name, 2)
    job = take_it_in(page, bench, name)
    assert (job["camera"]["maker"], len(job["photos"])) == ("Kestrane", 2)
    assert "sound" in bench.pegwood("check", "--json")


def test_a_recording_cut_off_by_a_dying_server_is_read_when_it_is_back(bench: Bench, phone):
    page, watch, _ = phone
    job = take_it_in(page, bench, begin(page, bench))
    page.goto(f"{bench.url}/job/{job['number']}/shutter/")
    page.get_by_label("Or another marking").fill("1/50")
    gate = recorded(CLEANED, seed=9)
    page.locator("input[name=recording]").set_input_files(sent("gate.wav", gate.wav, "audio/wav"))
    page.get_by_role("button", name="Send it and have it read").tap()
    page.wait_for_url("**/reading/*/")
    # The page asks every second how far the reading is: it may ask while nobody answers.
    with watch.expecting(*DEAD, "htmx:sendError", "htmx:afterRequest"):
        bench.kill()
        bench.start()
        page.goto(page.url)
    expect(page.get_by_role("button", name="Accept as found")).to_be_visible(timeout=60_000)
    (measured,) = bench.job(job["number"])["measurements"]
    assert measured["result"]["summary"]["n"] == len(gate.effective_s)


def test_a_recording_sent_while_the_bench_is_down_is_sent_by_itself_when_it_is_back(bench: Bench, phone):
    page, watch, _ = phone
    job = take_it_in(page, bench, begin(page, bench))
    page.goto(f"{bench.url}/job/{job['number']}/shutter/")
    page.get_by_label("Or another marking").fill("1/50")
    gate = recorded(CLEANED, seed=9)
    page.locator("input[name=recording]").set_input_files(sent("gate.wav", gate.wav, "audio/wav"))
    with watch.expecting(*DEAD):
        bench.kill()
        page.get_by_role("button", name="Send it and have it read").tap()
        expect(page.locator("[data-part=refused]")).to_contain_text("The line dropped")
        bench.start()
        page.wait_for_url("**/reading/*/", timeout=30_000)
    expect(page.get_by_role("button", name="Accept as found")).to_be_visible(timeout=60_000)


def test_a_price_half_written_survives_a_reload(bench: Bench, phone):
    page, _, _ = phone
    job = take_it_in(page, bench, begin(page, bench))
    page.get_by_label("What you see").fill("shutter spring, broken")
    page.get_by_role("button", name="to mend").tap()
    page.get_by_role("button", name="It is looked over").tap()
    expect(page.locator(".said")).to_contain_text("looked over")
    page.goto(f"{bench.url}/job/{job['number']}/price/")
    page.get_by_label("Line 2, What for").fill("a new spring")
    page.get_by_label("Line 2, Sum").fill("8.00")
    page.reload()
    expect(page.get_by_label("Line 2, What for")).to_have_value("a new spring")
    expect(page.get_by_label("Line 2, Sum")).to_have_value("8.00")


def test_what_comes_back_into_a_form_never_covers_what_the_bench_has_newer(bench: Bench, phone):
    page, _, context = phone
    job = take_it_in(page, bench, begin(page, bench))
    amend = f"{bench.url}/job/{job['number']}/amend/"
    page.goto(amend)
    page.get_by_label("Maker").fill("Kestrane")
    page.locator("#id_story").fill("Half a sentence")
    beside = context.new_page()  # meanwhile, in another tab
    beside.goto(amend)
    beside.get_by_role("button", name="Throw it away").tap()
    beside.get_by_label("Maker").fill("Tessaly")
    beside.locator("#id_serial").fill("4711")
    beside.get_by_role("button", name="Amend it").tap()
    beside.wait_for_url(JOB)
    beside.close()
    page.get_by_label("Model").fill("Wayfarer")
    page.reload()
    expect(page.locator("#id_story")).to_have_value("Half a sentence")
    expect(page.get_by_label("Model")).to_have_value("Wayfarer")
    expect(page.get_by_label("Maker")).to_have_value("Tessaly")
    expect(page.locator("#id_serial")).to_have_value("4711")
    expect(page.locator(".said")).to_contain_text("the newer stands")


def test_what_came_back_into_a_form_can_be_thrown_away(bench: Bench, phone):
    page, _, _ = phone
    job = take_it_in(page, bench, begin(page, bench))
    page.goto(f"{bench.url}/job/{job['number']}/amend/")
    page.get_by_label("Maker").fill("Kestrane")
    page.reload()
    expect(page.get_by_label("Maker")).to_have_value("Kestrane")
    page.get_by_role("button", name="Throw it away").tap()
    expect(page.get_by_label("Maker")).to_have_value("")
    page.reload()
    expect(page.get_by_label("Maker")).to_have_value("")
    expect(page.locator(".said")).to_have_count(0)


def test_a_photograph_that_the_bench_refuses_stays_until_somebody_throws_it_away(bench: Bench, phone):
    page, watch, _ = phone
    job = take_it_in(page, bench, begin(page, bench))
    with watch.expecting("422"):
        page.locator("#photos input[type=file]").nth(0).set_input_files(
            sent("torn.jpg", photograph()[:3000], "image/jpeg")
        )
        expect(page.locator(".print.waiting [role=alert]")).to_contain_text("torn.jpg")
    page.goto(bench.url)
    page.get_by_role("button", name="1 photograph waits in this browser").tap()
    expect(page.locator("#waiting-tray")).to_contain_text("torn.jpg")
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save it").tap()
    assert saved.value.path().read_bytes() == photograph()[:3000]
    page.get_by_role("button", name="Throw it away").tap()
    expect(page.locator(".print.waiting")).to_have_count(0)
    page.reload()
    expect(page.locator("#photos-waiting")).to_be_empty()
    assert bench.job(job["number"])["photos"] == []


def test_a_photograph_of_a_finding_that_is_struck_out_meanwhile_goes_to_its_job(bench: Bench, phone):
    page, watch, context = phone
    job = take_it_in(page, bench, begin(page, bench))
    page.get_by_label("What you see").fill("red window, cracked")
    page.get_by_role("button", name="to mend").tap()
    expect(page.locator(".findings > li")).to_have_count(1)
    page.locator(".findings > li").get_by_role("link", name="amend").tap()
    page.wait_for_url("**/finding/*/")
    with watch.expecting("404", *OFFLINE):
        context.set_offline(True)
        page.locator("input[type=file][data-finding]").nth(0).set_input_files(
            sent("window.jpg", photograph(grey=140), "image/jpeg")
        )
        expect(page.locator(".print.waiting")).to_contain_text("waits for the line")
        number = int(page.url.rstrip("/").split("/")[-1])
        bench.fill(
            "import django; django.setup()\n"
            "from pegwood.book.looking import strike_out\n"
            "from pegwood.book.models import Finding\n"
            f"strike_out(Finding.objects.get(pk={number}), 'another camera', by='Tove Halm')"
        )
        context.set_offline(False)
        expect(page.locator("#photos-waiting")).to_be_empty(timeout=20_000)
    assert len(bench.job(job["number"])["photos"]) == 1
