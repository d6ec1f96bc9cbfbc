"""
Measuring in a real browser: the sound input, the charts, the line that drops.

The browser's microphone is a file: a recording by the simulator, which shares no code with the instrument.
"""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from pegwood.demo import simulator as sim

pytestmark = pytest.mark.browser

TAKE_IN = """
import django; django.setup()
from pegwood.book.arriving import CameraDetails, OwnerDetails, take_in
camera = CameraDetails(family="folding-roll-front-cell", maker="Vorrin", model="Wayfarer", year_made=1952)
take_in(OwnerDetails(name="Ilse Marrick"), camera, by="Tove Halm")
"""


def simulated(rate_hz: int = 48_000) -> sim.Recording:
    """Three firings of a healthy leaf shutter at 1/25, with a second of dark to either side."""
    rng = np.random.default_rng(11)
    firings = [sim.fire_leaf(sim.LeafShutter(), sim.HEALTHY, 0.04, i, rng) for i in range(3)]
    gate = sim.LightGate(
        diode=sim.Photodiode(bandwidth_hz=15e3), converter=sim.Converter(sample_rate_hz=rate_hz)
    )
    return sim.record(firings, gate, rng, lead_s=1.0, pause_s=0.8)


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[float]]:
    """A file that the browser takes for a microphone, and the true effective times in it."""
    recording = simulated()
    file = tmp_path_factory.mktemp("heard") / "gate.wav"
    file.write_bytes(sim.as_audio(recording))
    return file, [truth.effective_s for truth in recording.truths(40_001)]


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A served workshop with one job in it; gives its address."""
    folder = tmp_path_factory.mktemp("workshop")
    here = {
        **os.environ,
        "PEGWOOD_WORKSHOP": str(folder),
        "DJANGO_SETTINGS_MODULE": "pegwood.frame.settings",
        "PYTHONUNBUFFERED": "1",
    }
    subprocess.run([sys.executable, "-m", "django", "migrate", "-v0"], env=here, check=True)
    subprocess.run([sys.executable, "-c", TAKE_IN], env=here, check=True)
    command = [sys.executable, "-m", "pegwood", "serve", "--port", "0", "--no-browser"]
    server = subprocess.Popen(command, env=here, stdout=subprocess.PIPE, text=True)
    assert server.stdout is not None
    address = re.search(r"http://\S+", server.stdout.readline())
    assert address, "the server did not say where it is"
    yield address[0].rstrip("/")
    server.terminate()
    server.wait(20)


@pytest.fixture(scope="module")
def chromium(heard: tuple[Path, list[float]]):
    from playwright.sync_api import sync_playwright

    program = os.environ.get("PEGWOOD_CHROMIUM") or shutil.which("chromium")
    assert program, "No Chromium. Set PEGWOOD_CHROMIUM, or leave these out with -m 'not browser'."
    ears = [
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-audio-capture={heard[0]}%noloop",
        "--autoplay-policy=no-user-gesture-required",
        "--disable-background-networking",
        "--no-sandbox",
    ]
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=ears)
        yield browser
        browser.close()


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
            "buffer": content or sim.as_audio(simulated(96_000)),
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
    length_s = soundfile.info(heard[0]).duration
    page.wait_for_timeout(1000 * length_s + 700)
    assert re.search(r"\d+\.\d s · highest so far \d+ %", page.locator("[data-part=figures]").inner_text())
    page.get_by_role("button", name="Stop").click()
    page.get_by_text("ready to be sent").wait_for()
    page.get_by_role("button", name="Send it").click()
    page.get_by_role("button", name="Accept as found").wait_for(timeout=60_000)
    found = page.request.get(f"{page.url}result.json").json()
    truth = np.mean(heard[1])
    assert found["summary"]["n"] == len(heard[1])
    assert found["warnings"] == []
    # What lies between file and browser is not ours; a per cent shows a wrong rate or a lost block.
    assert found["summary"]["effective_s"] == pytest.approx(truth, rel=0.01)


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
    assert page.locator("[data-chart]").count() == 3
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
        {"name": "gate.wav", "mimeType": "audio/wav", "buffer": sim.as_audio(simulated())}
    )
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


@pytest.mark.parametrize("width", [390, 800])
def test_an_accessibility_engine_finds_nothing_serious(page, bench, width):
    from axe_playwright_python.sync_playwright import Axe

    page.set_viewport_size({"width": width, "height": 1000})
    send_file(page, bench, "1/200")
    page.get_by_role("button", name="Accept as found").wait_for(timeout=60_000)
    for address in (page.url, f"{bench}/job/1/shutter/"):
        page.goto(address)
        charts_drawn(page)
        found = [v for v in Axe().run(page).response["violations"] if v["impact"] in ("serious", "critical")]
        assert [(v["id"], [n["target"] for n in v["nodes"]]) for v in found] == []
        wider = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wider <= 0, "the page is wider than the screen"
