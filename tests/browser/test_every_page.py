"""
Every kind of page on a telephone and on a tablet, by day and by night: quiet, reachable, legible.

Each page is opened once on each device and looked at from all sides; the tests below read what was seen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from uuid import UUID

import pytest
from playwright.sync_api import Browser, Page

from browser import look
from browser.conftest import ARTEFACTS, DEVICES
from browser.served import Bench
from browser.watch import Watch

TICKET = UUID("7e6d5c4b-3a29-4180-9f8e-7d6c5b4a3928")
#: As in `fill.py`.
SESSION = UUID("1d2c3b4a-5968-4776-8574-a3b2c1d0e9f8")
#: Every kind of page, by what it is; the numbers are those of `fill.py`.
PAGES = {
    "front": "/",
    "jobs at one standing": "/jobs/looked-over/",
    "take-in": f"/take-in/{TICKET}/",
    "take-in of a comeback": f"/take-in/{TICKET}/?comeback=9",
    "card with everything": "/job/1/",
    "card just arrived": "/job/2/",
    "card that waits": "/job/6/",
    "card gone home": "/job/9/",
    "card sent back": "/job/10/",
    "finding": "/finding/1/",
    "photograph": "/photo/1/",
    "price": "/job/3/price/",
    "price and the answer": "/job/4/price/",
    "what it may cost": "/job/2/price/reckoned/?covers=all",
    "what it may cost, not known yet": "/job/14/price/reckoned/",
    "what a price is reckoned with": "/workshop/price/",
    "bill": "/job/7/bill/",
    "bill issued": "/job/9/bill/",
    "payments": "/job/9/payment/",
    "bills": "/bills/",
    "minutes": "/bills/minutes/",
    "bills and tax": "/workshop/bills/",
    "hand back": "/job/8/hand-back/",
    "hand back too early": "/job/2/hand-back/",
    "amend": "/job/1/amend/",
    "shutter": "/job/1/shutter/",
    "shutter of nothing yet": "/job/2/shutter/",
    "live": "/job/1/shutter/live/",
    "speak": "/job/1/speak/",
    "speak, job over": "/job/9/speak/",
    "live session": f"/job/1/shutter/live/?session={SESSION}",
    "reading": "/reading/1/",
    "reading that waits": "/reading/3/",
    "reading refused": "/reading/4/",
    "card with curtains": "/job/11/",
    "reading across a gate": "/reading/6/",
    "reading with a contact": "/reading/8/",
    "shutter of a gate": "/job/11/shutter/",
    "shutter by sound": "/job/12/shutter/",
    "reading by sound": "/reading/9/",
    "reading that cannot tell": "/reading/10/",
    "instruments": "/job/1/gauges/",
    "meter": "/job/1/gauges/meter/",
    "rangefinder": "/job/2/gauges/rangefinder/",
    "diaphragm by photograph": "/job/2/gauges/iris-photo/",
    "through focus": "/job/2/gauges/focus-edge/",
    "tilt": "/job/2/gauges/focus-tilt/",
    "focus and stop": "/job/2/gauges/focus-stops/",
    "limits of the instruments": "/workshop/instruments/",
    "meter of a job that is over": "/job/9/gauges/meter/",
    "gauging": "/gauging/11/",
    "gauging that waits": "/gauging/13/",
    "gauging refused": "/gauging/14/",
    "meter to be corrected": "/job/2/gauges/meter/?correct=14",
    "register": "/gauging/15/",
    "tilt told": "/gauging/16/",
    "focus and stop told": "/gauging/17/",
    "what is wrong, not told yet": "/job/13/causes/?now=yes",
    "what is wrong": "/job/2/causes/",
    "what is wrong of a job that is over": "/job/9/causes/",
    "what is wrong, nobody knows": "/job/14/causes/",
    "all looks": "/job/2/causes/looks/?q=mirror",
    "all faults": "/job/2/causes/faults/",
    "a fault": "/job/2/causes/fault/mirror-box.springs-off/",
    "what goes wrong in a kind": "/families/box/causes/?of=shutter",
    "way in of a job": "/job/13/way-in/",
    "taking apart": "/job/13/strip/",
    "taking apart, another part": "/job/13/strip/?name=focusing+screen",
    "taking apart what nobody knows": "/job/14/strip/",
    "a step": "/strip-step/2/",
    "the way back": "/job/13/back/",
    "a pocket": "/job/13/tray/1/2/",
    "gear": "/workshop/gear/1/",
    "dictation": "/job/2/hear/",
    "dictation on a job that is over": "/job/9/hear/",
    "what was heard": "/narration/1/",
    "what was heard, still open": "/narration/1/?show=open",
    "what was heard, one mended": "/narration/1/?mend=3",
    "what was heard, one misheard": "/narration/1/?drop=3",
    "words taught": "/workshop/words/",
    "find nothing yet": "/find/",
    "find": "/find/?q=vorrin",
    "trade, nothing asked": "/trade/",
    "trade": "/trade/?q=brass+%2B+steel%2C+salt",
    "trade, a danger": "/trade/?q=acetone+on+celluloid",
    "trade, misspelt": "/trade/?q=bras",
    "trade, a screw's photograph": "/trade/screw/",
    "kinds that come apart": "/strip/",
    "way in, nothing asked": "/strip/reflex-35-cloth/",
    "way in": "/strip/twin-lens-reflex/?reach=slow+train&off=covering.front-covering&from=front",
    "way in, drawn whole": "/strip/box/?reach=sector&view=whole",
    "way in, refused": "/strip/twin-lens-reflex/?reach=slow+train&spare=covering&find=lens",
    "parts of a kind": "/strip/box/parts/",
    "families": "/families/",
    "own family": "/families/oddling-with-leaf-shutter/",
    "own family, a part": "/families/oddling-with-leaf-shutter/part/lens-cell/",
    "own family, as a file": "/families/broken/as-file/",
    "own family of a job": "/job/15/family/",
    "scores": "/causes/scores/",
    "scores of a family with none": "/causes/scores/?family=box",
    "what the jobs taught": "/causes/learnt/",
    "what the jobs taught of a kind": "/causes/learnt/folding-roll-front-cell/?of=shutter",
    "owner": "/owner/1/",
    "shelf": "/shelf/",
    "put in": "/shelf/put/?family=box",
    "spare": "/spare/1/",
    "donors": "/shelf/donors/",
    "donor": "/donor/1/",
    "what to look for": "/shelf/short/?now=yes",
    "what fits what": "/shelf/fits/",
    "spares of a job": "/job/2/spares/",
    "workshop": "/workshop/",
    "sign in": "/sign-in/",
    "no such page": "/no-such-page/",
}


def _money_that_is_none(page: Page) -> None:
    page.get_by_label("Money", exact=True).fill("XXY")
    page.locator("section:has(#settings-title) .acts button").tap()


def _sent_otherwise(page: Page, button: str, value: str) -> None:
    """Press a button that sends something else than it did."""
    pressed = page.locator(button).first
    pressed.evaluate("(button, value) => { button.value = value }", value)
    pressed.tap()


#: Pages that are answers to a form, by what is sent: they show what a refusal looks like.
REFUSALS: dict[str, tuple[str, Callable[[Page], None]]] = {
    "take-in refused": (
        f"/take-in/{UUID(int=3)}/",
        lambda page: page.locator("#take-it-in").tap(),
    ),
    "price refused": ("/job/3/price/", lambda page: page.get_by_role("button", name="Tell this price").tap()),
    "workshop refused": ("/workshop/", _money_that_is_none),
    "an answer refused": (
        "/job/2/causes/?look=mirror-box.mirror-look",
        lambda page: _sent_otherwise(page, ".answer-big", "purple"),
    ),
    "hand back refused": (
        "/job/8/hand-back/",
        lambda page: page.locator(".next .do button.big").tap(),
    ),
}
#: Those that are looked at most: on screenshots, and on a telephone by night too. Every colour of the look is
#: held to its contrast by day and by night in `tests/web/test_look.py` as well.
MAIN = {
    "live",
    "live session",
    "speak",
    "front",
    "take-in",
    "card with everything",
    "shutter",
    "reading",
    "workshop",
    "find",
    "price",
    "what it may cost",
    "trade",
    "taking apart",
    "the way back",
    "way in of a job",
    "what is wrong",
    "what is wrong, not told yet",
    "what was heard",
}
EVERY = [*PAGES, *REFUSALS]


@dataclass
class Seen:
    """What was seen of one page on one device."""

    trouble: list[str] = field(default_factory=list)
    violations: dict[str, list[str]] = field(default_factory=dict)
    small: list[str] = field(default_factory=list)
    fine: list[str] = field(default_factory=list)
    wide: list[str] = field(default_factory=list)


Look = Callable[[str, str], Seen]


@pytest.fixture(scope="module")
def looked(chromium: Browser, filled: Bench) -> Iterator[Look]:
    """``looked(device, page)``: what is seen of it; each is opened once."""
    known: dict[tuple[str, str], Seen] = {}
    opened: dict[str, tuple[Page, Watch]] = {}

    def look_at(device: str, name: str) -> Seen:
        if (device, name) not in known:
            if device not in opened:
                context = chromium.new_context(locale="en-GB", **DEVICES[device])
                context.set_default_timeout(20_000)
                watch = Watch(context, filled.url)
                opened[device] = context.new_page(), watch
            known[device, name] = _seen(*opened[device], filled, device, name)
        return known[device, name]

    yield look_at
    for page, _ in opened.values():
        page.context.close()


def _seen(page: Page, watch: Watch, bench: Bench, device: str, name: str) -> Seen:
    seen = Seen()
    page.emulate_media(color_scheme="light")
    watch.trouble.clear()
    expected = ["404"] if name == "no such page" else []
    if name in REFUSALS:
        address, act = REFUSALS[name]
        page.goto(bench.url + address)
        act(page)
        page.locator(":is(.refused, .amiss):visible").first.wait_for()
        expected = ["422"]
    else:
        page.goto(bench.url + PAGES[name])
    for chart in page.locator("[data-chart]").all():
        chart.scroll_into_view_if_needed()
        chart.locator("canvas").first.wait_for(timeout=30_000)
    look.unfold(page)
    seen.small, seen.fine, seen.wide = look.small_targets(page), look.fine_print(page), look.too_wide(page)
    places = ARTEFACTS / "pages" / device
    places.mkdir(parents=True, exist_ok=True)
    for scheme in ("light", "dark") if name in MAIN and device == "phone" else ("light",):
        page.emulate_media(color_scheme=scheme)
        page.wait_for_timeout(60)
        if device == "phone":
            seen.violations[scheme] = look.violations(page, only_colours=scheme == "dark")
        if name in MAIN:
            shot = places / f"{name.replace(' ', '-')}-{scheme}.jpg"
            page.screenshot(path=shot, type="jpeg", quality=75, full_page=True)
    seen.trouble = [line for line in watch.trouble if not any(word in line for word in expected)]
    return seen


pages = pytest.mark.parametrize("name", EVERY)
devices = pytest.mark.parametrize("device", DEVICES)


@devices
@pages
def test_no_script_complains_and_nothing_is_asked_that_fails_or_lies_elsewhere(looked: Look, device, name):
    assert looked(device, name).trouble == []


@pages
def test_an_accessibility_engine_finds_nothing_by_day_or_by_night(looked: Look, name):
    """On the telephone alone: names, roles and colours are the same on every device."""
    found = looked("phone", name).violations
    assert found.keys() == ({"light", "dark"} if name in MAIN else {"light"})
    assert not any(found.values()), found


@devices
@pages
def test_whatever_acts_is_large_enough_for_a_thumb(looked: Look, device, name):
    assert looked(device, name).small == []


@devices
@pages
def test_no_letter_is_smaller_than_can_be_read_at_arms_length(looked: Look, device, name):
    assert looked(device, name).fine == []


@devices
@pages
def test_no_page_has_to_be_pushed_sideways(looked: Look, device, name):
    assert looked(device, name).wide == []
