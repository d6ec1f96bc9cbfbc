"""
Speaking in a real browser, whose microphone is a file: hold the key, let go; what stands on the card.

The voice is espeak-ng's and the noise the tests' own. The file plays once, from when the ear opens.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, Page, expect

from browser.conftest import FLAGS, ears
from browser.served import Bench
from browser.test_measuring import TAKE_IN
from browser.watch import Watch
from hearing.voices import RATE_HZ, at_the_bench, noise

pytestmark = pytest.mark.voices
SAYS = "bellows, badly torn, needs patching"
#: Of nothing but the workshop before it is said, [s]: time to open the ear and to press the key.
BEFORE_S = 6.0


@pytest.fixture(scope="module")
def microphone(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, float]:
    """The file, and how long the sentence in it is, [s]."""
    said = np.frombuffer(at_the_bench(SAYS, "en-us", 150, 3), dtype="<i2") / 32768
    rng = np.random.default_rng(9)
    quiet = [noise(int(RATE_HZ * s), rng) * 0.005 for s in (BEFORE_S, 8.0)]
    file = tmp_path_factory.mktemp("said") / "said.wav"
    soundfile.write(file, np.concatenate([quiet[0], said, quiet[1]]), RATE_HZ, subtype="PCM_16")
    return file, len(said) / RATE_HZ


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    bench = Bench(tmp_path_factory.mktemp("speak") / "workshop").fill(TAKE_IN).start()
    yield bench
    bench.stop()


@pytest.fixture
def page(chromium: Browser, program: str, microphone, bench: Bench) -> Iterator[Page]:
    browser = chromium.browser_type.launch(executable_path=program, args=[*FLAGS, *ears(microphone[0])])
    context = browser.new_context(locale="en-GB", viewport={"width": 800, "height": 1100})
    context.set_default_timeout(20_000)
    watch = Watch(context, bench.url)
    yield context.new_page()
    browser.close()
    assert watch.trouble == []


def test_a_finding_is_spoken_and_stands_on_the_card_and_undo_takes_it_off(
    page: Page, microphone, bench: Bench
):
    page.goto(f"{bench.url}/job/1/speak/")
    page.get_by_role("button", name="Open the ear").click()
    expect(page.locator("[data-part=input-says]")).to_contain_text("The ear is open")
    page.wait_for_timeout(int(1000 * (BEFORE_S - 1.5)))
    page.locator("h1, h2").first.click()
    page.keyboard.down("Space")
    page.wait_for_timeout(int(1000 * (microphone[1] + 3.0)))
    page.keyboard.up("Space")
    expect(page.locator("[data-part=does]")).to_contain_text("Noted: bellows")
    expect(page.locator("[data-part=heard]")).to_contain_text("bellows badly torn needs patching")
    page.goto(f"{bench.url}/job/1/")
    expect(page.locator("#findings")).to_contain_text("torn")
    expect(page.locator("#findings")).to_contain_text("Needs: patch.")


def test_what_is_written_is_done_as_well_and_taken_back(page: Page, bench: Bench):
    page.goto(f"{bench.url}/job/1/speak/")
    page.get_by_label("Or write it").fill("lens standard, bent")
    page.get_by_role("button", name="Do it").click()
    expect(page.locator("[data-part=does]")).to_contain_text("bent")
    page.get_by_role("button", name="Undo the last").click()
    expect(page.locator("[data-part=does]")).to_contain_text("Taken back")
    page.get_by_label("Or write it").fill("the kettle")
    page.get_by_role("button", name="Do it").click()
    expect(page.locator("[data-part=does]")).to_contain_text("nothing Pegwood can do")


def test_sentences_that_teach_a_voice_are_read_one_by_one(page: Page, bench: Bench):
    page.goto(f"{bench.url}/job/1/speak/")
    says, sentence = page.locator("[data-part=teach-says]"), page.locator("[data-part=to-read]")
    expect(page.get_by_role("button", name="Read to it")).to_be_disabled()
    page.get_by_role("button", name="Open the ear").click()
    page.get_by_role("button", name="Read to it").click()
    expect(says).to_contain_text("1 of 16: hold the key and read this.")
    first = sentence.inner_text()
    page.keyboard.down("Space")
    page.wait_for_timeout(900)
    page.keyboard.up("Space")
    expect(says).to_contain_text("2 of 16")
    assert sentence.inner_text() != first
    page.get_by_role("button", name="The last one again").click()
    expect(sentence).to_have_text(first)
    page.get_by_role("button", name="Stop reading").click()
    expect(says).to_contain_text("Nothing was learned")
    expect(page.locator("[data-part=does]")).to_contain_text("Nothing yet")  # what is read is never obeyed
