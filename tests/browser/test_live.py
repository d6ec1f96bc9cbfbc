"""
Listening live in a real browser, whose microphone is a file: a firing at 1/25 every second and more.

The file is the simulator's, which shares no code with the instrument. Every page opens it from its beginning.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, Page, expect

from browser.conftest import FLAGS, PHONE, ears
from browser.served import Bench, free_port
from browser.test_measuring import TAKE_IN
from browser.test_nothing_is_lost import DEAD, OFFLINE
from browser.test_visits import NAME, PASSWORD, end_visit
from browser.watch import Watch
from pegwood.demo import simulator as sim

TABLET = {"viewport": {"width": 800, "height": 1100}}
LISTENED_TO = """
const ears = navigator.mediaDevices;
const open = ears?.getUserMedia.bind(ears);
if (ears) ears.getUserMedia = async (asked) => (window.opened = await open(asked));
"""


@dataclass(frozen=True)
class Gate:
    """The file, the mean effective time of its firings, [s], and when each passes half of full light, [s]."""

    file: Path
    effective_s: float
    opens_s: tuple[float, ...]

    def nothing_is_missing(self, result: dict) -> None:
        """Firings follow one another as in the file: a lost piece would bring them nearer together."""
        at = np.array([shot["at_s"] for shot in result["shots"]])
        expected = np.array(self.opens_s[: len(at)])
        assert len(at) > 2
        assert np.abs(np.diff(at) - np.diff(expected)).max() < 0.01, (at, expected)


@pytest.fixture(scope="module")
def gate(tmp_path_factory: pytest.TempPathFactory) -> Gate:
    """What the browser hears."""
    rng = np.random.default_rng(21)
    firings = [sim.fire_leaf(sim.LeafShutter(), sim.HEALTHY, 0.04, i, rng) for i in range(30)]
    bench = sim.LightGate(converter=sim.Converter(sample_rate_hz=48_000))
    recording = sim.record(firings, bench, rng, lead_s=1.5, pause_s=1.2)
    file = tmp_path_factory.mktemp("gate") / "gate.wav"
    file.write_bytes(sim.as_audio(recording))
    sound, rate = soundfile.read(file)
    lit = sound > 0.5 * sound.max()
    opens = np.flatnonzero(lit[1:] & ~lit[:-1]) / rate
    effective = float(np.mean([truth.effective_s for truth in recording.truths(20_001)]))
    return Gate(file, effective, tuple(opens[np.diff(opens, prepend=-1.0) > 0.5]))


@pytest.fixture(scope="module")
def listening(chromium: Browser, program: str, gate: Gate) -> Iterator[Browser]:
    """A browser of its own, for its microphone is another file."""
    browser = chromium.browser_type.launch(executable_path=program, args=[*FLAGS, *ears(gate.file)])
    yield browser
    browser.close()


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    bench = Bench(tmp_path_factory.mktemp("live") / "workshop", free_port()).fill(TAKE_IN).start()
    yield bench
    bench.stop()


@pytest.fixture
def page(listening: Browser, bench: Bench) -> Iterator[tuple[Page, Watch]]:
    yield from watched(listening, bench)


def watched(browser: Browser, bench: Bench, device: dict = TABLET) -> Iterator[tuple[Page, Watch]]:
    context = browser.new_context(locale="en-GB", **device)
    context.set_default_timeout(20_000)
    context.add_init_script(LISTENED_TO)
    watch = Watch(context, bench.url)
    yield context.new_page(), watch
    context.close()
    assert watch.trouble == []


def listen(page: Page, bench: Bench, *, firings: int = 3, moves_on: bool = False) -> None:
    page.goto(f"{bench.url}/job/1/shutter/live/")
    chosen = page.locator("[name=speeds]:checked").evaluate_all("boxes => boxes.map((box) => box.value)")
    for marked in set(chosen) - {"1/25", "1/50", "1/100"}:
        page.locator(f"[name=speeds][value='{marked}']").uncheck()
    page.locator(f"[name=firings][value='{firings}']").check()
    if moves_on:
        page.get_by_label("Go to the next speed by itself").check()
    page.get_by_role("button", name="Listen", exact=True).first.click()
    expect(page.locator("[data-part=input-says]")).to_contain_text("Listening to")
    expect(dial(page)).to_have_text("1/25")


def test_on_a_phone_the_bar_leaves_what_was_fired_to_be_seen(listening, bench):
    for page, _ in watched(listening, bench, PHONE):
        page.goto(f"{bench.url}/job/1/shutter/live/")
        page.locator("[name=phase]").last.scroll_into_view_if_needed()
        page.get_by_role("button", name="Listen", exact=True).first.click()
        at_least(page, 1)
        bar = page.locator(".live-bar").bounding_box()
        assert bar["height"] < 0.2 * 844
        assert bar["y"] + bar["height"] == 844
        assert page.locator(".live-bar").inner_text().count(" Hz") == 1
        for button in page.locator(".live-bar button").all():
            assert button.bounding_box()["height"] >= 44
        assert 0 <= dial(page).bounding_box()["y"] < bar["y"]


def dial(page: Page):
    return page.locator(".dial-at")


def firings(page: Page):
    return page.locator(".firings-now ol.lines > li")


def at_least(page: Page, n: int) -> None:
    """Wait for so many that were timed: one that is cut in two as an input goes away is told, not timed."""
    firings(page).filter(has=page.locator(".what > .num")).nth(n - 1).wait_for()


def keep(page: Page) -> list[dict]:
    """Keep the session; the readings as the server then has them, the newest first."""
    page.get_by_role("button", name="Keep with the job").click()
    page.wait_for_url("**/shutter/*")
    kept = re.search(r"Kept: ([^.]*)\.", page.locator(".said").inner_text())
    assert kept
    found = []
    for link in page.locator("#open-readings li a").all()[: len(kept[1].split(", "))]:
        address = link.get_attribute("href")
        for _ in range(200):
            answer = page.request.get(f"{page.url.split('/job')[0]}{address}result.json")
            if answer.ok:
                found.append(answer.json())
                break
            page.wait_for_timeout(100)
    return found


def test_a_shutter_is_walked_down_by_keys_and_kept(page, bench: Bench, gate: Gate):
    page, _ = page
    listen(page, bench)
    at_least(page, 3)
    expect(page.locator(".pips")).to_contain_text("belong together")
    expect(page.locator("[data-part=told]")).to_contain_text("Next: set the dial to 1/50")
    page.keyboard.press("PageDown")
    expect(dial(page)).to_have_text("1/50")
    expect(firings(page)).to_have_count(0)
    at_least(page, 2)
    page.keyboard.press("Delete")
    expect(page.locator(".firings-now li.struck")).to_have_count(1)
    page.keyboard.press("ArrowLeft")
    expect(dial(page)).to_have_text("1/25")
    page.keyboard.press("Space")
    expect(dial(page)).to_have_text("1/50")
    results = {result["marked"]: result for result in keep(page)}
    assert set(results) == {"1/25", "1/50"}
    assert results["1/25"]["summary"]["effective_s"] == pytest.approx(gate.effective_s, rel=0.01)
    assert any("struck out by hand" in note for note in results["1/50"]["notes"])


def test_it_goes_to_the_next_speed_by_itself_when_told_so(page, bench: Bench):
    page, _ = page
    listen(page, bench, moves_on=True)
    expect(dial(page)).to_have_text("1/50", timeout=20_000)
    expect(page.locator(".step").first).to_contain_text("done")


def test_a_pedal_never_presses_a_button_that_a_finger_pressed_before(page, bench: Bench):
    page, _ = page
    listen(page, bench)
    at_least(page, 2)
    page.locator("[data-do=strike].quiet").click()
    expect(page.locator(".firings-now li.struck")).to_have_count(1)
    page.keyboard.press("Space")
    expect(dial(page)).to_have_text("1/50")


def test_a_tab_that_is_hidden_and_whose_timers_sleep_goes_on_listening(page, bench: Bench):
    page, _ = page
    listen(page, bench)
    at_least(page, 1)
    page.evaluate("window.setTimeout = window.requestAnimationFrame = () => 0")
    page.context.new_page().bring_to_front()
    at_least(page, 4)


def test_a_lost_line_loses_nothing_and_says_so(page, bench: Bench, gate: Gate):
    page, watch = page
    listen(page, bench)
    at_least(page, 1)
    with watch.expecting(*OFFLINE):
        page.context.set_offline(True)
        expect(page.locator("[data-part=line]")).to_contain_text("is kept here")
        page.wait_for_timeout(3000)
        expect(page.get_by_role("link", name="Save what waits")).to_be_visible()
        page.context.set_offline(False)
        expect(page.locator("[data-part=line]")).to_be_hidden()
    at_least(page, 4)
    (result,) = keep(page)
    gate.nothing_is_missing(result)


def test_a_page_loaded_anew_sends_what_waited_and_takes_the_session_up(page, bench: Bench):
    page, watch = page
    listen(page, bench)
    at_least(page, 1)
    session = page.url
    with watch.expecting(*OFFLINE):
        page.context.set_offline(True)
        expect(page.locator("[data-part=line]")).to_contain_text("is kept here")
        page.keyboard.press("PageDown")  # what was done waits as well
        expect(dial(page)).to_have_text("1/50")
        page.wait_for_timeout(2500)
        page.goto("about:blank")
    page.context.set_offline(False)
    page.goto(session)
    expect(dial(page)).to_have_text("1/50")
    at_least(page, 1)
    page.get_by_role("button", name="Listen again").click()
    at_least(page, 3)
    slow, fast = sorted(keep(page), key=lambda result: result["marked"])
    assert slow["marked"] == "1/25"
    assert fast["summary"]["n"] >= 3


def test_an_input_that_is_unplugged_stops_it_and_what_was_heard_is_kept(page, bench: Bench):
    page, _ = page
    listen(page, bench)
    at_least(page, 2)
    page.evaluate(
        """() => {
            const [track] = window.opened.getTracks();
            track.stop();
            track.dispatchEvent(new Event("ended"));
        }"""
    )
    expect(page.locator("[data-part=input-says]")).to_contain_text("went away")
    page.get_by_role("button", name="Listen again").click()
    at_least(page, 4)
    (result,) = keep(page)
    assert result["summary"]["n"] >= 4


def test_a_server_that_is_killed_and_started_again_goes_on_where_it_was(page, bench: Bench, gate: Gate):
    page, watch = page
    listen(page, bench)
    at_least(page, 2)
    with watch.expecting(*DEAD, "502", "503"):
        bench.kill()
        expect(page.locator("[data-part=line]")).to_contain_text("is kept here")
        bench.start()
        expect(page.locator("[data-part=line]")).to_be_hidden(timeout=30_000)
    at_least(page, 5)
    (result,) = keep(page)
    assert result["summary"]["n"] >= 5
    gate.nothing_is_missing(result)


def test_a_page_that_was_overtaken_by_another_says_so_and_stops(page, bench: Bench):
    page, watch = page
    listen(page, bench)
    at_least(page, 1)
    with watch.expecting("409"):
        other = page.context.new_page()
        other.goto(page.url)
        other.get_by_role("button", name="Listen again").click()
        expect(page.locator("[data-part=refused]")).to_contain_text("Another page")
    at_least(other, 2)


def test_a_visit_that_ends_meanwhile_costs_nothing(
    listening: Browser, gate: Gate, tmp_path_factory: pytest.TempPathFactory
):
    bench = Bench(tmp_path_factory.mktemp("signed") / "workshop", sign_in=True).fill(TAKE_IN)
    bench.pegwood("user", "add", NAME, "--password", PASSWORD)
    bench.start()
    try:
        for page, watch in watched(listening, bench):
            page.goto(bench.url)
            sign_in(page)
            listen(page, bench)
            at_least(page, 1)
            with watch.expecting("401"):
                end_visit(page)
                expect(page.locator("[data-part=line]")).to_contain_text("signed out")
                with page.context.expect_page() as other:
                    page.locator("[data-part=line]").get_by_role("link", name="Sign in").click()
                sign_in(other.value)
                other.value.close()
                expect(page.locator("[data-part=line]")).to_be_hidden()
            at_least(page, 4)
            (result,) = keep(page)
            gate.nothing_is_missing(result)
    finally:
        bench.stop()


def sign_in(page: Page) -> None:
    page.get_by_label("Name").fill(NAME)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "sign-in" not in url)
