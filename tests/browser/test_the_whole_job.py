"""One whole job, door to door: on a telephone, on a tablet, and on a browser without scripts."""

from __future__ import annotations

import hashlib
import io
import json
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from PIL import Image

from browser.conftest import ARTEFACTS, DEVICES, PHONE, Opened
from browser.served import Bench
from browser.things import CLEANED, GUMMED, Recorded, photograph, recorded
from browser.walk import Walk
from pegwood.papers import KINDS

FOUND = recorded(GUMMED, seed=3)
LEFT = recorded(CLEANED, seed=4)
#: How far a measured value may lie from the truth, in its own standard uncertainties.
COVERAGE = 3


@dataclass(frozen=True)
class Done:
    """What came of it: the job, its comeback, and the papers as they were opened."""

    walk: Walk
    number: int
    comeback: int
    papers: dict[str, bytes]


def door_to_door(walk: Walk, *, owner: str, serial: str) -> Done:
    papers: dict[str, str] = {}
    walk.settle("Halm, camera repairs", "Tove Halm")
    number = walk.take_in(owner, serial)
    papers["receipt"] = walk.paper("receipt", "Receipt")
    walk.finding("shutter blades, oil film", 3, "to mend")
    walk.finding("two pinholes", 2, "can stay", part="bellows")
    walk.shot("card-findings")
    walk.next("It is looked over")
    walk.said("looked over")
    walk.next("Measure as found")
    walk.measure("1/50", FOUND, "as found")
    walk.card(number)
    papers["condition"] = walk.paper("condition", "Condition report")
    walk.next("Write the price")
    walk.price(minutes=45, part="light seals", amount="12.50")
    walk.yes("80.00")
    papers["price"] = walk.paper("price", "The price")
    walk.next("Put it on the bench")
    papers["trays"] = walk.paper("trays", "Tray sheet")
    walk.work("cleaned the blades, dried them", 30)
    walk.shot("card-bench")
    walk.next("Prove it")
    walk.next("Measure as left")
    walk.measure("1/50", LEFT, "as left")
    walk.card(number)
    walk.charts()
    walk.shot("card-proved")
    walk.next("Call it ready")
    papers["certificate"] = walk.paper("certificate", "Shutter certificate")
    walk.next("Write the bill")
    walk.shot("bill")
    walk.next("Write the bill")
    walk.said("The bill is written")
    papers["bill"] = walk.paper("bill", "Bill")
    walk.next("Hand it back")
    walk.choose("paid_how", "cash")
    walk.shot("hand-back")
    walk.next("Hand it back")
    walk.said("It is gone home")
    papers["care"] = walk.paper("care", "Care and guarantee")
    walk.shot("card-home")
    walk.find(serial[:6].lower(), number)
    walk.next("It came back")
    walk.type("What the owner tells", "It sticks again at the slow speeds.")
    walk.shot("comeback")
    walk.next("Take it in")
    walk.said("Taken in. Write")
    walk.shot("card-comeback")
    opened = {kind: walk.page.request.get(walk.bench.url + link).body() for kind, link in papers.items()}
    return Done(walk, number, walk.number, opened)


WAYS = {
    "tablet": (DEVICES["tablet"], True),
    "without scripts": ({**PHONE, "java_script_enabled": False}, False),
}


@pytest.fixture(scope="module")
def walked() -> dict[str, Done]:
    """What came of each way, for the tests below."""
    return {}


@pytest.mark.parametrize("way", WAYS)
def test_a_camera_goes_through_the_workshop_from_door_to_door(bench: Bench, opened: Opened, walked, way):
    how, scripts = WAYS[way]
    context, _watch = opened(bench.url, **how)
    walk = Walk(context.new_page(), bench, ARTEFACTS / f"job-{way.replace(' ', '-')}", scripts=scripts)
    n = list(WAYS).index(way)
    walked[way] = door_to_door(walk, owner=f"Ilse Marrick {n}", serial=f"K{n}7-20417")

    done = walked[way]
    job, papers, comeback = bench.job(done.number), done.papers, bench.job(done.comeback)
    it_stands_as_it_was_told(job)
    the_figures_agree_with_the_truth(job)
    the_photographs_came_whole(bench, job, context.request.get)
    the_papers_are_those_that_were_filed(bench, job, papers)
    assert (comeback["standing"], comeback["comeback_of"]) == ("arrived", done.number)
    assert comeback["owner"]["name"] == job["owner"]["name"]
    assert json.loads(bench.pegwood("check", "--json"))["sound"] is True


def it_stands_as_it_was_told(job: dict[str, Any]) -> None:
    assert (job["standing"], job["owner"]["name"][:12]) == ("gone home", "Ilse Marrick")
    assert job["story"].replace("\r\n", "\n") == "Found in a cellar.\nThe shutter sticks when it is cold."
    assert job["accessories"] == "case, strap"
    findings = sorted(job["findings"], key=lambda finding: finding["id"])
    assert [(f["part"], f["condition"], f["grade"], f["outlook"]) for f in findings] == [
        ("shutter blades", "oil film", 3, "mend"),
        ("bellows", "two pinholes", 2, "can stay"),
    ]
    assert [(w["done"], w["minutes"]) for w in job["work"]] == [("cleaned the blades, dried them", 30)]
    # 45 minutes at 60.00 an hour and a part for 12.50: reckoned by hand.
    lines = sorted(job["price_lines"], key=lambda line: line["id"])
    told = [(line["sheet"], line["kind"], line["minutes"], line["amount_minor"]) for line in lines]
    assert told == [
        ("price", "labour", 45, 4500),
        ("price", "part", None, 1250),
        ("bill", "labour", 45, 4500),
        ("bill", "part", None, 1250),
    ]
    assert job["camera"]["year_made"] == 1952
    deeds = [entry["what"] for entry in sorted(job["diary"], key=lambda entry: entry["id"])]
    assert deeds[0] == "took in"
    assert all(entry["who"] == "Tove Halm" for entry in job["diary"])


def the_figures_agree_with_the_truth(job: dict[str, Any]) -> None:
    for phase, recording in (("as found", FOUND), ("as left", LEFT)):
        (measured,) = [m for m in job["measurements"] if m["phase"] == phase]
        assert (measured["marked"], measured["progress"]) == ("1/50", "read")
        agrees(measured["result"], recording)


def agrees(result: dict[str, Any], recording: Recorded) -> None:
    shots, summary = result["shots"], result["summary"]
    assert summary["n"] == len(shots) == len(recording.effective_s)
    for shot, truth in zip(shots, recording.effective_s, strict=True):
        assert abs(shot["effective_s"] - truth) < COVERAGE * shot["effective_u_s"]
        assert shot["effective_u_s"] < 0.01 * truth, "so wide that anything would agree"
    truth = float(np.mean(recording.effective_s))
    assert abs(summary["effective_s"] - truth) < COVERAGE * summary["effective_u_s"]


def the_photographs_came_whole(bench: Bench, job: dict[str, Any], get) -> None:
    """Byte for byte in the store; upright and without place on the page."""
    came = [photograph(), photograph("HEIF", grey=90)]
    assert [photo["file"] for photo in job["photos"]] == [hashlib.sha256(one).hexdigest() for one in came]
    assert [bench.file(photo["file"]) for photo in job["photos"]] == came
    shown = Image.open(io.BytesIO(get(f"{bench.url}/photo/{job['photos'][0]['id']}/large.jpg").body()))
    assert (shown.size, len(shown.getexif())) == ((240, 320), 0)
    red, _, blue = shown.getpixel((120, 10))
    assert red > 2 * blue, "the red edge is on top"
    assert (job["photos"][1]["width"], job["photos"][1]["height"]) == (320, 240)


def the_papers_are_those_that_were_filed(bench: Bench, job: dict[str, Any], opened: dict[str, bytes]) -> None:
    filed = {paper["kind"]: paper["file"] for paper in job["papers"]}
    # nothing was dictated, so there is no record of it
    assert set(filed) == set(opened) == set(KINDS) - {"record"}
    for kind, content in opened.items():
        assert content.startswith(b"%PDF-"), kind
        assert hashlib.sha256(content).hexdigest() == filed[kind], kind
        assert content == bench.file(filed[kind])
        assert b"Exif\0" not in content, "no photograph carries its place out of the house"
