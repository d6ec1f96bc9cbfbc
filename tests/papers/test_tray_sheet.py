"""The tray sheet: what lies in which pocket, from the log to the ink; one too full stays in its place."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pypdf
import pytest
from PIL import Image, ImageChops

from book.cast import BY, FOLDER, ILSE, MONDAY
from papers.samples import FILES, TRAYS
from pegwood.anatomy.bench_log import Written
from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.agreeing import Line
from pegwood.book.files import read
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Job, Paper
from pegwood.book.stripping.back import explain, let_part_wait, log_back
from pegwood.book.stripping.kept import KeptDetails
from pegwood.book.stripping.off import OffDetails, log_off
from pegwood.book.stripping.undo import undo
from pegwood.book.workshop import change_settings
from pegwood.papers import make_paper, remake
from pegwood.papers.content import BadContent, Trays, from_json
from pegwood.papers.render import render, render_pages
from pegwood.papers.tray_sheet import Lying, Pocket, Tray
from pegwood.papers.view import view
from pegwood.pricing.money import Money

MILLIMETRE = 72 / 25.4  # points
TURNS = Written(kind="count turns", says="1 3/4 to the stop")
SCREWS = KeptDetails(kind="screw", count=3, thread="M1.7x0.35", length_mm=3.5, place="rear")
SHIM = KeptDetails(kind="shim", place="left strut", thickness_mm=0.2, thickness_u_mm=0.004)


@pytest.fixture
def job(db: None) -> Job:
    change_settings({"name": "Werfkade Camera Workshop", "time_zone": "Europe/Amsterdam"}, by=BY)
    job = arriving.take_in(ILSE, FOLDER, by=BY, at=MONDAY)
    looking.note_finding(job, FindingDetails(part="shutter blades", condition="oil film"), by=BY)
    moving.look_over(job, by=BY)
    agreeing.tell_price(job, [Line(what="clean the shutter", amount=Money(14500, "EUR"))], by=BY)
    agreeing.record_yes(job, how="by telephone", up_to=Money(18000, "EUR"), by=BY)
    return moving.put_on_bench(Job.objects.get(pk=job.pk), by=BY)


def sheet(job: Job) -> Trays:
    content = from_json(json.dumps(make_paper(job, "trays", by=BY, at=MONDAY).content))
    assert isinstance(content, Trays)
    return content


def lines(content: Trays, tray: int, pocket: int) -> list[tuple[str, str, bool]]:
    found = next(one for one in content.trays if one.number == tray)
    return [
        (one.role, one.text, one.out)
        for place in found.pockets
        if place.number == pocket
        for one in place.lying
    ]


def pages(pdf: bytes) -> list[str]:
    """The text of each page, with single spaces."""
    return [
        " ".join(page.extract_text().replace("\u200b", "").split())
        for page in pypdf.PdfReader(io.BytesIO(pdf)).pages
    ]


# --- from the log -----------------------------------------------------------------------------------------


def test_before_anything_is_off_the_sheet_is_the_first_tray_empty(job: Job) -> None:
    content = sheet(job)
    assert content.trays == (Tray(number=1),)
    assert (content.columns, content.rows) == (4, 3)


def test_a_sheet_for_a_strip_down_not_begun_has_the_workshops_own_trays(job: Job) -> None:
    change_settings({"tray_columns": 6, "tray_rows": 5}, by=BY)
    assert len(view(sheet(job))["trays"][0]["pockets"]) == 30


def test_a_pocket_holds_its_part_notes_screws_and_shims_with_their_uncertainty(job: Job) -> None:
    log_off(job, OffDetails(name="top cover", pocket=(1, 5), kept=(SCREWS, SHIM), notes=(TURNS,)), by=BY)
    content = sheet(job)
    assert lines(content, 1, 5) == [
        ("part", "top cover", True),
        ("note", "count turns: 1 3/4 to the stop", True),
        ("kept", "3 screws M1.7x0.35, 3.5 mm; rear", True),
        ("kept", "shim, 0.200 mm ± 0.008 mm (k = 2); left strut", True),  # twice the 0.004 mm told
    ]
    assert [tray.number for tray in content.trays] == [1, 2]
    assert content.trays[1].pockets == ()


def test_what_was_taken_from_the_family_says_that_it_was_not_measured(job: Job) -> None:
    usual = replace(SCREWS, as_family=True)
    log_off(job, OffDetails(name="top cover", pocket=(1, 1), kept=(usual,)), by=BY)
    assert "not measured" in lines(sheet(job), 1, 1)[1][1]


def test_screws_in_a_pocket_of_their_own_say_whose_they_are(job: Job) -> None:
    apart = replace(SCREWS, pocket=(1, 2))
    log_off(job, OffDetails(name="top cover", pocket=(1, 1), kept=(apart,), notes=(TURNS,)), by=BY)
    content = sheet(job)
    assert [role for role, _, _ in lines(content, 1, 1)] == ["part", "note"]
    assert lines(content, 1, 2)[0] == ("of", "top cover", True)
    assert [role for role, _, _ in lines(content, 1, 2)] == ["of", "kept"]


def test_a_part_beside_the_trays_stands_below_them_and_its_notes_are_not_lost(job: Job) -> None:
    apart = replace(SCREWS, pocket=(1, 2))
    log_off(job, OffDetails(name="back", notes=(TURNS,)), by=BY)
    log_off(job, OffDetails(name="top cover", kept=(apart,), notes=(TURNS,)), by=BY)
    content = sheet(job)
    assert [(one.role, one.text) for one in content.beside] == [
        ("part", "back"),
        ("note", "count turns: 1 3/4 to the stop"),
        ("part", "top cover"),
    ]
    assert [role for role, _, _ in lines(content, 1, 2)] == ["of", "note", "kept"]


def test_what_is_back_or_explained_is_struck_and_what_is_away_says_where(job: Job) -> None:
    back = log_off(job, OffDetails(name="top cover", pocket=(1, 1), kept=(SCREWS,), notes=(TURNS,)), by=BY)
    lost = log_off(job, OffDetails(name="click ball", pocket=(1, 2)), by=BY)
    away = log_off(job, OffDetails(name="front cell", pocket=(1, 3)), by=BY)
    log_back(back, by=BY, left={back.kept.get().pk: 1}, anyway=True)
    explain(lost, "lost, a new one goes in", by=BY)
    let_part_wait(away, "cleaning", by=BY)
    content = sheet(job)
    assert [out for _, _, out in lines(content, 1, 1)] == [False, False, True]
    first, second, third = content.trays[0].pockets
    assert first.lying[2].back == 2
    assert (second.lying[0].out, second.lying[0].explained) == (False, "lost, a new one goes in")
    assert (third.lying[0].out, third.lying[0].waits) == (True, "being cleaned")


def test_a_step_that_was_taken_back_is_not_on_the_sheet(job: Job) -> None:
    log_off(job, OffDetails(name="wrong part", pocket=(1, 1)), by=BY)
    undo(job, by=BY, at=MONDAY + timedelta(minutes=1))
    assert "wrong part" not in json.dumps(make_paper(job, "trays", by=BY).content)


def test_after_the_last_tray_there_is_no_further_one(job: Job) -> None:
    log_off(job, OffDetails(name="last of all", pocket=(40, 12)), by=BY)
    assert [tray.number for tray in sheet(job).trays] == [40]


def test_the_owner_is_named_nowhere_on_a_sheet_that_lies_open(job: Job) -> None:
    log_off(job, OffDetails(name="top cover", pocket=(1, 1)), by=BY)
    paper = make_paper(job, "trays", by=BY, at=MONDAY)
    assert ILSE.name not in json.dumps(paper.content)
    assert ILSE.name not in " ".join(pages(read(paper.file)))


def test_forty_steps_fill_four_trays_and_the_sheet_is_made_again_to_the_byte(job: Job) -> None:
    for n in range(40):
        at = (1 + n // 12, 1 + n % 12)
        log_off(job, OffDetails(name=f"part number {n}", pocket=at, kept=(SCREWS, SHIM)), by=BY)
    paper = make_paper(job, "trays", by=BY, at=MONDAY)
    filed = read(paper.file)
    told = pages(filed)
    assert len(told) == 5
    assert all(f"part number {n} " in told[n // 12] for n in range(40))
    assert "part number" not in told[4]
    log_off(job, OffDetails(name="one more"), by=BY)
    assert remake(Paper.objects.get(pk=paper.pk)) == filed


# --- what cannot be ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"columns": 13}, "Trays.columns: 13. Expected 1 to 12"),
        ({"trays": ()}, "none. Expected at least one"),
        ({"trays": (Tray(number=1), Tray(number=1))}, "number 1 stands there twice"),
        ({"trays": (Tray(number=1, pockets=(Pocket(number=13, lying=()),)),)}, "pocket 13. Expected 1 to 12"),
    ],
)
def test_a_tray_that_cannot_be_is_refused(wrong: dict[str, Any], says: str) -> None:
    with pytest.raises(BadContent, match=re.escape(says)):
        replace(TRAYS, **wrong)


# --- the ink ----------------------------------------------------------------------------------------------


def in_first_pocket(lying: list[str], columns: int = 4, rows: int = 3, pocket: int = 1) -> Trays:
    told = tuple(Lying(step=n, role="part", text=text) for n, text in enumerate(lying, 1))
    tray = Tray(number=1, pockets=(Pocket(number=pocket, lying=told),) if told else ())
    return replace(TRAYS, columns=columns, rows=rows, trays=(tray,), beside=())


def test_each_tray_is_a_page_with_its_number_and_all_its_pockets() -> None:
    first, second = pages(render(TRAYS, FILES))
    for told, tray in ((first, "Tray 1"), (second, "Tray 2")):
        assert tray in told
        assert all(re.search(rf"\b{n}\b", told) for n in range(1, 13))
        assert "4 March 2026, 14:05" in told
        assert "417-trays-1" in told
    assert "count turns: 1 3/4 to the stop" in first
    assert "Beside the trays" in first
    assert "Beside" not in second


def test_the_number_of_a_pocket_is_read_at_arms_length() -> None:
    # 28 pt: capitals of 7 mm, and twelve numbers on a page of twelve pockets
    sizes: list[float] = []

    def visit(text: str, _cm: object, matrix: list[float], _font: object, size: float) -> None:
        if text.strip():
            sizes.append(size * abs(matrix[3] or matrix[0]))

    pypdf.PdfReader(io.BytesIO(render(in_first_pocket([]), FILES))).pages[0].extract_text(visitor_text=visit)
    assert sizes.count(28) == 12


@pytest.mark.parametrize(("columns", "rows"), [(4, 3), (8, 6), (12, 12), (12, 1), (1, 12)])
def test_a_pocket_too_full_says_how_many_more_there_are(columns: int, rows: int) -> None:
    names = [f"thing{n:03}x" for n in range(300)]
    (told,) = pages(render(in_first_pocket(names, columns, rows), FILES))
    shown = sum(name in told for name in names)
    left_out = re.search(r"and (\d+) more \(see the log\)|\+(\d+), see log", told)
    assert left_out
    assert shown >= 1
    assert shown + int(left_out[1] or left_out[2]) == 300


@pytest.mark.parametrize(("columns", "rows"), [(4, 3), (12, 12), (12, 1), (1, 12)])
@pytest.mark.parametrize(
    "lying", [["W" * 120] * 9, ["a part of a rather long name"] * 40], ids=["wide", "many"]
)
def test_a_pocket_too_full_leaves_its_neighbours_as_they_are(
    columns: int, rows: int, lying: list[str]
) -> None:
    place = 2 if columns > 1 else 5  # with a neighbour on every side there is
    (full,) = render_pages(in_first_pocket(lying, columns, rows, place), FILES, ppi=72)
    (empty,) = render_pages(in_first_pocket([], columns, rows), FILES, ppi=72)
    changed = ImageChops.difference(
        *(Image.open(io.BytesIO(page)).convert("L").crop((0, 0, 842, 550)) for page in (full, empty))
    ).getbbox()
    assert changed
    # the grid of the sheet: 15 mm from the left, 269 mm wide; the pocket's edges from its number alone
    width = 269 * MILLIMETRE / columns
    left = 15 * MILLIMETRE + ((place - 1) % columns) * width
    assert left - 1 <= changed[0]
    assert changed[2] <= left + width + 1
    assert changed[3] - changed[1] <= (210 - 25 - 21) * MILLIMETRE / rows


def test_a_name_too_long_for_a_small_pocket_is_cut_and_says_so() -> None:
    (told,) = pages(render(in_first_pocket(["Zeitlupenhemmwerk " * 6], 12, 12), FILES))
    assert "see log" in told
    (whole,) = pages(render(in_first_pocket(["Zeitlupenhemmwerk " * 6]), FILES))
    assert whole.count("Zeitlupenhemmwerk") == 6  # no word broken where a smaller size holds it
    assert "see the log" not in whole


def test_what_is_struck_through_is_drawn_so() -> None:
    def page(out: bool) -> bytes:
        lying = (Lying(step=1, role="part", text="cocking ring", out=out),)
        tray = Tray(number=1, pockets=(Pocket(number=1, lying=lying),))
        return render_pages(replace(TRAYS, trays=(tray,), beside=()), FILES, ppi=72)[0]

    stands, struck = (Image.open(io.BytesIO(page(out))).convert("L") for out in (True, False))
    longest = [_longest_run(image.crop((80, 92, 225, 125))) for image in (stands, struck)]
    assert longest[0] < 20 < 60 < longest[1]  # a line through the whole name


def _longest_run(image: Image.Image) -> int:
    """The longest run of dark pixels in any row."""
    longest = 0
    for y in range(image.height):
        row = "".join("x" if image.getpixel((x, y)) < 200 else " " for x in range(image.width))
        longest = max(longest, *(len(run) for run in row.split(" ")))
    return longest
