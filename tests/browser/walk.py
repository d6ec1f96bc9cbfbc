"""
One job from the door to the door, as a thumb goes through it: what is seen is tapped, what is asked is typed.

The same steps with scripts and without: only what is waited for differs.
"""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from browser.served import Bench
from browser.things import Recorded, photograph, sent

JOB = re.compile(r"/job/(\d+)/")
READING_S = 60


class Walk:
    """`page` is driven, `shots` is where its pictures go, `scripts` says whether scripts run in it."""

    def __init__(self, page: Page, bench: Bench, shots: Path, *, scripts: bool = True) -> None:
        self.page, self.bench, self.shots, self.scripts = page, bench, shots, scripts
        self.step = 0
        shots.mkdir(parents=True, exist_ok=True)

    # --- a thumb ---

    def go(self, address: str) -> None:
        self.page.goto(self.bench.url + address)

    def shot(self, name: str) -> None:
        self.step += 1
        self.page.screenshot(
            path=self.shots / f"{self.step:02}-{name}.jpg", type="jpeg", quality=75, full_page=True
        )

    def tap(self, what: Locator) -> None:
        what.tap()

    def choose(self, name: str, value: str) -> None:
        """Tap the tile of one of few."""
        self.tap(self.page.locator(f'label:has(input[name="{name}"][value="{value}"])').first)

    def press(self, label: str, within: str = "main") -> None:
        """Press a button, or what looks like one, by what stands on it."""
        place = self.page.locator(within)
        pressed = place.get_by_role("button", name=label, exact=True)
        self.tap(pressed.or_(place.get_by_role("link", name=label, exact=True)).first)

    def next(self, label: str) -> None:
        """The filled button beside the next thing."""
        filled = self.page.locator(".next .do :is(button, .button):not(.quiet)")
        expect(filled).to_have_count(1)
        expect(filled).to_have_text(label)
        self.tap(filled)

    def open(self, summary: str) -> None:
        self.tap(self.page.locator("summary", has_text=summary).first)

    def type(self, label: str, text: str) -> None:
        self.page.get_by_label(label, exact=True).first.fill(text)

    def said(self, text: str) -> None:
        expect(self.page.locator(".said").first).to_contain_text(text)

    def card(self, number: int) -> None:
        self.go(f"/job/{number}/")
        expect(self.page.locator(".tag .no").first).to_contain_text(str(number))

    # --- the steps ---

    def settle(self, name: str, repairer: str) -> None:
        """The workshop's name, rate and time."""
        self.go("/")
        self.shot("front-empty")
        self.press("Workshop", ".ways")
        self.type("Workshop's name", name)
        self.type("Your name", repairer)
        self.type("Address", "Kettle Quay 3\nMaarhaven")
        self.type("An hour's work", "60.00")
        self.type("The workshop's time", "Europe/Amsterdam")
        self.press("Write it down", "section:has(#settings-title)")
        self.said("settings are written down")
        expect(self.page.locator(".foot")).to_contain_text(name)
        self.shot("workshop")

    def take_in(self, owner: str, serial: str) -> int:
        """Kind, owner, story, accessories, photographs, promise."""
        self.go("/")
        self.page.locator(".next .do .button", has_text="Take in a camera").tap()
        self.choose("family", "folding-roll-front-cell")
        self.type("Maker", "Vorrin")
        self.type("Model", "Wayfarer")
        self.type("Serial number", serial)
        self.open("Lens, shutter, year")
        self.type("Year made", "1952")
        self.type("Name or telephone", owner)
        self.type("Telephone", "0555-0132")
        self.type("What the owner tells", "Found in a cellar.\nThe shutter sticks when it is cold.")
        self.choose("accessories", "case")
        self.choose("accessories", "strap")
        self.choose("promise", "2w")
        self.photographs()
        self.shot("take-in")
        self.next("Take it in")
        self.page.wait_for_url(JOB)
        self.said("Taken in. Write")
        self.shot("card-arrived")
        return self.number

    @property
    def number(self) -> int:
        found = JOB.search(self.page.url)
        assert found, self.page.url
        return int(found[1])

    def photographs(self) -> None:
        """One from the telephone's camera, one from its gallery."""
        shoot = self.page.locator("#photos input[type=file]")
        shoot.nth(0).set_input_files(sent("front.jpg", photograph(), "image/jpeg"))
        shoot.nth(1).set_input_files(sent("back.heic", photograph("HEIF", grey=90), "image/heic"))
        if self.scripts:
            expect(self.page.locator("#draft-tray figure:not(.waiting)")).to_have_count(2)

    def paper(self, kind: str, title: str) -> str:
        """Make a paper; say where it is opened."""
        self.tap(self.page.locator(f"#papers button[value={kind}]"))
        self.said("is made and filed")
        link = self.page.locator(".paper-list a", has_text=title).first
        expect(link).to_be_visible()
        return str(link.get_attribute("href"))

    def finding(self, line: str, grade: int, outlook: str, part: str = "") -> None:
        """One line and two taps."""
        seen = self.page.locator(".findings > li")
        before = seen.count()
        if part:
            self.choose("part", part)
        self.type("What you see", line)
        self.choose("grade", str(grade))
        self.press(outlook, "#findings")
        expect(seen).to_have_count(before + 1)

    def measure(self, marked: str, recording: Recorded, phase: str) -> None:
        """Send a recording, have it read, accept it. Begins on the shutter's page, and ends there."""
        self.choose("marked", marked)
        self.page.locator("input[name=recording]").set_input_files(
            sent("gate.wav", recording.wav, "audio/wav")
        )
        self.press("Send it and have it read")
        accept = self.page.get_by_role("button", name=f"Accept {phase}", exact=True)
        self.page.wait_for_url("**/reading/*/")
        if self.scripts:
            expect(accept).to_be_visible(timeout=1000 * READING_S)
            self.charts()
        else:
            again = self.page.get_by_role("link", name="See how far it has come")
            for _ in range(2 * READING_S):
                expect(accept.or_(again).first).to_be_visible()
                if accept.count():
                    break
                self.page.wait_for_timeout(500)
                self.tap(again)
        self.shot(f"reading-{phase.replace(' ', '-')}")
        self.tap(accept)
        self.said(f"{marked} is written down {phase}")
        self.charts()
        self.shot(f"shutter-{phase.replace(' ', '-')}")

    def charts(self) -> None:
        """Look at every chart of the page, until it is there."""
        if not self.scripts:
            return
        for place in self.page.locator("[data-chart]").all():
            place.scroll_into_view_if_needed()
            place.locator("canvas").first.wait_for(timeout=30_000)

    def price(self, *, minutes: int, part: str, amount: str) -> None:
        """The lines come from the findings that are to be mended; one more for a part."""
        expect(self.page.get_by_label("Line 1, What for")).to_have_value(re.compile("shutter blades"))
        self.type("Line 1, Minutes", str(minutes))
        self.type("Line 2, What for", part)
        self.page.get_by_label("Line 2, Kind", exact=True).select_option(label="part")
        self.type("Line 2, Sum", amount)
        if self.scripts:
            expect(self.page.locator(".reckoned b")).to_contain_text("57.50")
        self.shot("price")
        self.next("Tell this price")
        self.said("The price is written down")

    def yes(self, up_to: str) -> None:
        self.choose("how", "by telephone")
        self.type("Agreed up to", up_to)
        self.shot("yes")
        self.press("Record the yes")
        self.said("Agreed.")

    def work(self, done: str, minutes: int) -> None:
        self.type("What was done", done)
        self.press(f"{minutes} min", "#work")
        expect(self.page.locator("#work table")).to_contain_text(done)

    def find(self, text: str, number: int) -> None:
        """Look it up as it is typed; without scripts by the button of the keyboard."""
        self.go("/find/")
        self.page.locator("#q").press_sequentially(text, delay=30)
        if not self.scripts:
            self.page.locator("#q").press("Enter")
        hit = self.page.locator("#found .tag a", has_text=f"Job {number}").first
        expect(hit).to_be_visible()
        self.shot("find")
        self.tap(hit)
        self.page.wait_for_url(f"**/job/{number}/")
