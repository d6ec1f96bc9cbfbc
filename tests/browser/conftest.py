"""
Real Chromium, steered through Playwright, before a real server.

The program is the one that ``PEGWOOD_CHROMIUM`` names, else the first found on the path; none is a failure in
one line. Screenshots are left in ``artefacts/browser/``, which git ignores.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, sync_playwright

from browser.served import Bench, free_port
from browser.things import Heard, microphone
from browser.watch import Watch

ARTEFACTS = Path(__file__).resolve().parents[2] / "artefacts" / "browser"
PROGRAMS = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome", "chrome")
FLAGS = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-gpu",
    "--disable-quic",
)
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
TABLET = {"viewport": {"width": 800, "height": 1100}, "has_touch": True}
DEVICES = {"phone": PHONE, "tablet": TABLET}


def ears(file: Path) -> tuple[str, ...]:
    """Flags with which a file is the browser's microphone, and nobody is asked."""
    return (
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-audio-capture={file}%noloop",
        "--autoplay-policy=no-user-gesture-required",
    )


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="package")
def heard(tmp_path_factory: pytest.TempPathFactory) -> Heard:
    """A file that the browser takes for a microphone, and the true effective times in it."""
    return microphone(tmp_path_factory.mktemp("heard") / "gate.wav")


@pytest.fixture(scope="package")
def program() -> str:
    named = os.environ.get("PEGWOOD_CHROMIUM")
    found = shutil.which(named) if named else next(filter(None, map(shutil.which, PROGRAMS)), None)
    if found is None:
        pytest.fail("No Chromium: install it, or name it in PEGWOOD_CHROMIUM.", pytrace=False)
    return found


# Not for the whole session: while Playwright runs, Django would refuse every other test its database.
@pytest.fixture(scope="package")
def chromium(heard: Heard, program: str) -> Iterator[Browser]:
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=[*FLAGS, *ears(heard.file)])
        yield browser
        browser.close()


@pytest.fixture(scope="package")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """A bench with some of everything on it. Nobody writes into its book."""
    bench = Bench(tmp_path_factory.mktemp("filled") / "workshop")
    bench.fill(Path(__file__).with_name("fill.py").read_text(encoding="utf-8")).start()
    yield bench
    bench.stop()


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """An empty bench, as on the first day."""
    bench = Bench(tmp_path_factory.mktemp("bench") / "workshop", free_port()).start()
    yield bench
    bench.stop()


Opened = Callable[..., tuple[BrowserContext, Watch]]


@pytest.fixture
def opened(chromium: Browser) -> Iterator[Opened]:
    """``opened(home, **how)``: a watched browser for one test; at its end nothing may be amiss."""
    all_of_them: list[tuple[BrowserContext, Watch]] = []

    def open_one(home: str, **how: object) -> tuple[BrowserContext, Watch]:
        context = chromium.new_context(locale="en-GB", **how)
        context.set_default_timeout(20_000)
        all_of_them.append((context, Watch(context, home)))
        return all_of_them[-1]

    yield open_one
    trouble = [line for _, watch in all_of_them for line in watch.trouble]
    for context, _ in all_of_them:
        context.close()
    assert trouble == []
