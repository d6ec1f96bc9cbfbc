"""
Measuring in a real browser: the sound input, the charts, the line that drops.

The browser's microphone is a file: a recording by the simulator, which shares no code with the instrument.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator

import numpy as np
import pytest
import soundfile
from playwright.sync_api import expect

from browser.served import Bench
from browser.things import three_firings
from pegwood.demo import simulator as sim

TAKE_IN = """
import django; django.setup()
from pegwood.book.arriving import CameraDetails, OwnerDetails, take_in
camera = CameraDetails(family="folding-roll-front-cell", maker="Vorrin", model="Wayfarer", year_made=1952)
take_in(OwnerDetails(name="Ilse Marrick"), camera, by="Tove Halm")
"""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A served workshop with one job in it; gives its address."""
    bench = Bench(tmp_path_factory.mktemp("workshop") / "workshop").fill(TAKE_IN).start()
    yield bench.url
    bench.stop()


@pytest.fixture
def page(chromium, bench):
    """A page that must not complain, nor ask any other host for anything."""
    context = chromium.new_context(viewport={"width": 800, "height": 1100})
    page = context.new_page()
    trouble: list[str] = []
    page.on("pageerror", lambda error: trouble.append(str(error)))
    page.on(
        "console",
        lambda said: (
            trouble.append(f"{said.text} {said.location['url']}")
            if said.type in ("error", "warning")
            else None
        ),
    )
    page.on(
        "request",
        lambda asked: (
            None if asked.url.startswith((bench, "blob:", "data:")) else trouble.append(f"asked {asked.url}")
        ),
    )
    page.trouble = trouble
    yield page
    context.close()
    assert trouble == []


def tap(page, marked: str) -> None:
    page.locator(f"input[name=marked][value='{marked}']").check()


def send_file(page, bench: str, marked: str = "1/25", content: bytes | None = None) -> None:
    page.goto(f"{bench}/job/1/shutter/")
    tap(page, marked)
    page.locator("input[type=file]").set_input_files(
        {
            "name": "gate.wav",
            "mimeType": "audio/wav",
            "buffer": content or sim.as_audio(three_firings(96_000)),
        }
    )
    page.get_by_role("button", name="Send it").click()


def charts_drawn(page) -> None:
    """Scroll through the page until every chart on it is there."""
    for place in page.locator("[data-chart]").all():
        place.scroll_into_view_if_needed()
        place.locator("canvas").first.wait_for(timeout=30_000)


def test_the_sound_input_is_recorded_sent_and_read(page, bench, heard):
    page.goto(f"{bench}/job/1/shutter/")
    tap(page, "1/25")
    page.get_by_role("button", name="Record", exact=True).click()
    page.get_by_text("Listening").wait_for()
    length_s = soundfile.info(heard.file).duration
    page.wait_for_timeout(1000 * length_s + 700)
    assert re.search(r"\d+\.\d s · highest so far \d+ %", page.locator("[data-part=figures]").inner_text())
    page.get_by_role("button", name="Stop").click()
    page.get_by_text("ready to be sent").wait_for()
    page.get_by_role("button", name="Send it").click()
    page.get_by_role("button", name="Accept as found").wait_for(timeout=60_000)
    found = page.request.get(f"{page.url}result.json").json()
    truth = np.mean(heard.effective_s)
    assert found["summary"]["n"] == len(heard.effective_s)
    assert found["warnings"] == []
    # What lies between file and browser is not ours; a per cent shows a wrong rate or a lost block.
    assert found["summary"]["effective_s"] == pytest.approx(truth, rel=0.01)


def test_a_recording_that_grows_too_long_stops_by_itself_and_is_kept(page, bench):
    page.goto(f"{bench}/job/1/shutter/")
    page.locator("[data-recorder]").evaluate("place => { place.dataset.longest = 1.5; }")
    page.get_by_role("button", name="Record", exact=True).click()
    page.get_by_text("It stopped by itself").wait_for(timeout=15_000)
    (name, size) = page.locator("input[name=recording]").evaluate(
        "it => [it.files[0].name, it.files[0].size]"
    )
    assert name == "job-1-speed.wav"
    assert size > 1.5 * 8000 * 3  # [bytes] of 24 bits at the lowest rate that a sound input has


def written_in(page, samples: np.ndarray) -> tuple[soundfile.SoundFile, np.ndarray]:
    """What the page's own writer makes of samples of shape (n, channels), read back by another library."""
    written = page.evaluate(
        """async (samples) => {
            const { WavWriter } = await import("/static/bench/wav.js");
            const wav = new WavWriter(44100, samples.length);
            const blocks = (from, to) => samples.map((channel) => Float32Array.from(channel.slice(from, to)));
            wav.add(blocks(0, 4096));
            wav.add(blocks(4096));
            return [...new Uint8Array(await (await wav.finish()).arrayBuffer())];
        }""",
        samples.T.tolist(),
    )
    with soundfile.SoundFile(io.BytesIO(bytes(written))) as file:
        return file, file.read(always_2d=True)


@pytest.mark.parametrize("channels", [1, 2])
def test_the_wav_written_in_the_browser_holds_what_was_heard(page, bench, channels):
    page.goto(f"{bench}/job/1/shutter/")
    samples = np.random.default_rng(3).uniform(-1, 1, (4097, channels))  # an odd number of bytes for one
    samples[:2] = [[1.0], [-1.0]]
    file, back = written_in(page, samples)
    assert (file.samplerate, file.subtype, file.channels) == (44100, "PCM_24", channels)
    assert np.abs(back - samples.astype(np.float32)).max() <= 2**-23


def test_one_sensor_given_on_two_channels_is_written_once(page, bench):
    page.goto(f"{bench}/job/1/shutter/")
    one = np.random.default_rng(3).uniform(-1, 1, (5000, 1))
    file, back = written_in(page, np.hstack([one, one]))
    assert file.channels == 1
    assert np.abs(back - one.astype(np.float32)).max() <= 2**-23


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_chart_is_drawn_under_the_content_policy(page, bench, scheme):
    page.emulate_media(color_scheme=scheme)
    send_file(page, bench)
    page.get_by_role("button", name="Accept as found").wait_for(timeout=60_000)
    charts_drawn(page)
    assert page.locator("[data-chart]").count() == 4
    page.get_by_role("button", name="Accept as found").click()
    page.wait_for_url("**/shutter/")
    charts_drawn(page)


def test_charts_follow_the_screen_from_light_to_dark(page, bench):
    send_file(page, bench, "1/50")
    page.get_by_role("button", name="Accept as found").wait_for(timeout=60_000)
    charts_drawn(page)
    with page.expect_request("**/firing-1.json?scheme=dark"):
        page.emulate_media(color_scheme="dark")
    charts_drawn(page)


def test_a_dropped_line_loses_nothing_and_it_is_sent_when_the_line_is_back(page, bench):
    page.goto(f"{bench}/job/1/shutter/")
    tap(page, "1/100")
    page.locator("input[type=file]").set_input_files(
        {"name": "gate.wav", "mimeType": "audio/wav", "buffer": sim.as_audio(three_firings())}
    )
    charts_drawn(page)  # or the line would drop while one of them is fetched
    page.context.set_offline(True)
    page.get_by_role("button", name="Send it").click()
    page.get_by_text("What you chose is still here").wait_for()
    page.trouble.clear()  # the browser's own word that it is offline
    page.context.set_offline(False)
    page.wait_for_url("**/reading/*/", timeout=60_000)


def test_a_refusal_is_said_at_the_form_and_what_was_chosen_stays(page, bench):
    page.goto(f"{bench}/job/1/shutter/")
    page.locator("input[type=file]").set_input_files(
        {"name": "gate.wav", "mimeType": "audio/wav", "buffer": b"RIFF"}
    )
    page.get_by_role("button", name="Send it").click()
    page.get_by_text("Tap the speed the dial stood at.").wait_for()
    assert page.evaluate("document.querySelector('input[type=file]').files[0].name") == "gate.wav"
    assert page.evaluate("document.activeElement.name") == "marked"
    page.trouble[:] = [line for line in page.trouble if "422" not in line]  # the browser notes every refusal


CLOCK = {
    "calibration": "clock", "stated_rate_hz": 96_000, "by": "tone", "reference_hz": 1000.0, "error": 63e-6,
    "error_u": 6e-6,
}  # fmt: skip


def test_a_saved_calibration_dropped_on_the_gears_page_is_used_from_then_on(page, bench):
    page.goto(f"{bench}/workshop/")
    page.get_by_text("List gear, or when it was checked").click()
    page.get_by_label("What it is").fill("light gate")
    page.get_by_role("button", name="List it").click()
    page.get_by_role("link", name="light gate").click()
    page.locator("[name=what][value=saved]").check()
    assert page.get_by_label("Its true figure").is_hidden(), "a saved one has its reference in it"
    file = {"name": "clock.json", "mimeType": "application/json", "buffer": json.dumps(CLOCK).encode()}
    page.locator("input[type=file]").set_input_files(file)
    page.get_by_role("button", name="Calibrate with it").click()
    page.get_by_text("use what stands here by themselves").wait_for()
    send_file(page, bench)
    page.get_by_text("The clock was calibrated on").wait_for()


def test_what_is_asked_of_a_recording_goes_by_what_it_holds(page, bench):
    page.goto(f"{bench}/job/1/shutter/")
    mirror, fps = page.get_by_label("A mirror"), page.get_by_label("Filmed at")
    assert (mirror.is_visible(), fps.is_visible()) == (False, False)
    page.locator("[name=taken_by][value=sound]").check()
    assert (mirror.is_visible(), fps.is_visible()) == (True, False)
    assert page.get_by_text("How it was recorded", exact=True).is_hidden()
    page.locator("[name=taken_by][value=video]").check()
    assert (mirror.is_visible(), fps.is_visible()) == (False, True)


def test_every_photograph_that_was_chosen_is_named_before_it_is_sent(page, bench):
    """A series in its order, since positions are told in that; two single ones as well."""

    def photographs(*names):
        return [{"name": name, "mimeType": "image/jpeg", "buffer": b"not yet looked at"} for name in names]

    page.goto(f"{bench}/job/1/gauges/focus-edge/")
    page.locator("input[type=file]").set_input_files(photographs("near.jpg", "mid.jpg", "far.jpg", "end.jpg"))
    says = page.locator("[data-part=sent]")
    expect(says).to_contain_text("4 files")
    expect(says).to_contain_text("1: near.jpg, 2: mid.jpg, 3: far.jpg, 4: end.jpg")
    page.goto(f"{bench}/job/1/gauges/glass-cleaned/")
    page.locator("input[type=file]").nth(0).set_input_files(photographs("before.jpg"))
    page.locator("input[type=file]").nth(1).set_input_files(photographs("after.jpg"))
    expect(says).to_contain_text("1: before.jpg, 2: after.jpg")
