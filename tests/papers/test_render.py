"""The ink: the same bytes each time, text of people never executed, every sheet readable."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from papers.samples import (
    BARE,
    BILL,
    CERTIFICATE,
    CONDITION,
    FILES,
    HOSTILE,
    LETTERS,
    LONG_WORD,
    RECEIPT,
    RICH,
    filed,
    hostile,
    picture,
)
from pegwood.papers.content import BadContent, PaperContent, Workshop, from_json, to_json
from pegwood.papers.render import render, render_pages

MILLIMETRE = 72 / 25.4  # points


def words_on(pdf: bytes) -> str:
    """All text of a PDF, without the marks that let long words break and with single spaces."""
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    text = " ".join(page.extract_text() for page in pages)
    return " ".join(text.replace("\u200b", "").split())


def squeezed(text: str) -> str:
    return "".join(text.split())


# --- the same bytes -------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", RICH)
def test_a_paper_made_twice_is_the_same_to_the_byte(kind: str) -> None:
    assert render(RICH[kind], FILES) == render(RICH[kind], FILES)


@pytest.mark.parametrize("kind", RICH)
def test_a_paper_made_from_its_json_is_the_same_to_the_byte(kind: str) -> None:
    assert render(from_json(to_json(RICH[kind])), FILES) == render(RICH[kind], FILES)


def test_a_fresh_process_elsewhere_at_another_hour_makes_the_same_bytes(tmp_path: Path) -> None:
    desk = tmp_path / "desk"
    desk.mkdir()
    program = (
        "import hashlib\n"
        "from papers.samples import FILES, RICH\n"
        "from pegwood.papers.render import render\n"
        "for kind in RICH: print(kind, hashlib.sha256(render(RICH[kind], FILES)).hexdigest())\n"
    )
    environment = {
        **os.environ,
        "PYTHONPATH": str(Path(__file__).parents[1]),
        "TMPDIR": str(desk),
        "TZ": "Pacific/Kiritimati",
        "LANG": "de_DE.UTF-8",
        "SOURCE_DATE_EPOCH": "86400",
        "PYTHONHASHSEED": "7",
    }
    told = subprocess.run(
        [sys.executable, "-c", program],
        cwd=desk,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    here = {kind: hashlib.sha256(render(RICH[kind], FILES)).hexdigest() for kind in RICH}
    assert dict(line.split() for line in told.stdout.splitlines()) == here
    assert not list(desk.iterdir()), "drafts of the sheets were left lying about"


def test_another_content_makes_other_bytes() -> None:
    assert render(RECEIPT, FILES) != render(replace(RECEIPT, story="another"), FILES)


def test_the_date_in_the_file_is_the_one_on_the_paper() -> None:
    told = pypdf.PdfReader(io.BytesIO(render(BILL, FILES))).metadata
    assert told is not None
    assert told.creation_date is not None
    assert told.creation_date == datetime.fromisoformat("2026-04-02T10:30:00+02:00")
    assert told.title == "Bill 417"
    assert told.author == BILL.head.workshop.name


# --- text of people -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("turn", "kind"), list(enumerate(RICH)))
def test_markup_in_any_field_is_shown_and_never_executed(turn: int, kind: str) -> None:
    # turned, so that the short fields, which hold only the first few signs, see another text on each paper
    texts = HOSTILE[turn:] + HOSTILE[:turn]
    shown = squeezed(words_on(render(hostile("\n".join(texts))[kind], FILES)))
    for text in texts:
        assert squeezed(text) in shown


@pytest.mark.parametrize("kind", RICH)
def test_letters_of_many_scripts_and_signs_without_letters_make_a_sheet(kind: str) -> None:
    shown = words_on(render(hostile(LETTERS)[kind], FILES))
    assert "Łódź Ærø ŝ Ωμέγα Жёлтый" in shown
    assert "U+5C71" in shown


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1, max_size=60))
def test_any_text_at_all_makes_a_sheet(text: str) -> None:
    if text.strip():
        assert render(hostile(text)["care"], FILES).startswith(b"%PDF")


def test_a_mark_no_font_can_join_still_makes_a_sheet() -> None:
    joined = "क\u1acf ض\u0483 x\u20e3\u20dd"
    assert render(replace(RECEIPT, story=joined), FILES).startswith(b"%PDF")


# --- sheets ---------------------------------------------------------------------------------------------


def pages_of(content: PaperContent) -> list[pypdf.PageObject]:
    return list(pypdf.PdfReader(io.BytesIO(render(content, FILES))).pages)


@pytest.mark.parametrize(
    ("kind", "width", "height"),
    [
        ("receipt", 148, 210),
        ("care", 148, 210),
        ("trays", 297, 210),
        *[(k, 210, 297) for k in ("condition", "certificate", "price", "bill", "record")],
    ],
)
def test_each_paper_has_its_size(kind: str, width: int, height: int) -> None:
    for page in pages_of(RICH[kind]):
        assert float(page.mediabox.width) == pytest.approx(width * MILLIMETRE, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(height * MILLIMETRE, abs=0.1)


@pytest.mark.parametrize("kind", RICH)
def test_a_usual_paper_is_one_leaf(kind: str) -> None:
    assert len(pages_of(RICH[kind])) <= 2


@pytest.mark.parametrize("kind", BARE)
def test_a_paper_with_nothing_filled_in_is_made(kind: str) -> None:
    assert 1 <= len(pages_of(BARE[kind])) <= 2


def _sizes(page: pypdf.PageObject) -> Iterator[float]:
    found: list[float] = []

    def visit(text: str, _cm: object, matrix: list[float], _font: object, size: float) -> None:
        if text.strip():
            found.append(size * abs(matrix[3] or matrix[0]))

    page.extract_text(visitor_text=visit)
    yield from found


@pytest.mark.parametrize("kind", RICH)
def test_no_text_is_smaller_than_ten_points(kind: str) -> None:
    sizes = [size for page in pages_of(RICH[kind]) for size in _sizes(page)]
    assert len(sizes) > 20
    assert min(sizes) >= 9.99


def _ink_in_margins(page: bytes, ppi: int, left_mm: float, right_mm: float) -> tuple[bool, bool]:
    """Whether anything dark stands left of the text's edge or right of it."""
    image = Image.open(io.BytesIO(page)).convert("L").point(lambda tone: 255 if tone < 128 else 0)
    edge, per_mm = image.width, ppi / 25.4
    left = image.crop((0, 0, int(left_mm * per_mm), image.height)).getbbox() is not None
    right = image.crop((edge - int(right_mm * per_mm), 0, edge, image.height)).getbbox() is not None
    return left, right


@pytest.mark.parametrize("kind", RICH)
@pytest.mark.parametrize("text", [LONG_WORD, "W" * 300], ids=["word", "wide"])
def test_long_words_stay_between_the_margins(kind: str, text: str) -> None:
    small = kind in {"receipt", "care"}
    for page in render_pages(hostile(text)[kind], FILES, ppi=72):
        # the tag's string reaches 8 mm into the left margin; the punched holes lie left of that
        assert _ink_in_margins(page, 72, 11 if small else 14, 9 if small else 11) == (False, False)


def test_forty_findings_and_twelve_photographs_all_stand_there() -> None:
    findings = tuple(
        replace(CONDITION.findings[n % 6], part=f"part number {n}", photos=(picture(n % 4),))
        for n in range(40)
    )
    report = replace(CONDITION, findings=findings, photos=tuple(picture(n) for n in range(12)))
    pages = pages_of(report)
    shown = " ".join(page.extract_text() for page in pages)
    assert all(f"part number {n}" in shown for n in range(40))
    assert 4 <= len(pages) <= 9
    assert "page 1 of" in shown


def test_a_story_of_six_pages_is_told_whole() -> None:
    story = " ".join(f"word{n}" for n in range(2200))
    shown = words_on(render(replace(RECEIPT, story=story), FILES))
    assert "word0 " in shown
    assert "word2199" in shown


def test_three_places_of_one_gate_stand_in_chart_and_table() -> None:
    places = ("first edge", "centre", "last edge")
    speeds = tuple(replace(speed, where=place) for speed in CERTIFICATE.speeds for place in places)
    shown = words_on(render(replace(CERTIFICATE, speeds=speeds), FILES))
    assert shown.count("last edge") == 2 * len(CERTIFICATE.speeds)


def test_a_certificate_prints_what_its_view_says() -> None:
    shown = words_on(render(CERTIFICATE, FILES))
    for text in (
        "1.064",
        "± 0.033 s",
        "+1.84",
        "outside",
        "within",
        "too close to call",
        "LG-02",
        "k = 2.13",
    ):
        assert text in shown


# --- an archive's and a screen reader's PDF -------------------------------------------------------------


def test_the_file_calls_itself_archival_and_is_tagged() -> None:
    reader = pypdf.PdfReader(io.BytesIO(render(RECEIPT, FILES)))
    catalogue = reader.trailer["/Root"].get_object()
    metadata = catalogue["/Metadata"].get_object().get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in metadata
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in metadata
    assert catalogue["/MarkInfo"]["/Marked"]
    assert catalogue["/Lang"] == "en"


def test_every_font_is_embedded() -> None:
    fonts = set()
    for page in pages_of(CERTIFICATE):
        for font in page["/Resources"]["/Font"].values():
            descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            fonts.add(descriptor["/FontName"].partition("+")[2].partition("-")[0])
            assert {"/FontFile2", "/FontFile3"} & set(descriptor)
    assert fonts <= {"LibertinusSerif", "DejaVuSansMono", "NewCM10"}


# --- pictures -------------------------------------------------------------------------------------------


def _jpeg(**told: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), "grey").save(out, "JPEG", **told)
    return out.getvalue()


def _with_exif() -> bytes:
    exif = Image.Exif()
    exif[0x010F] = "Kestrane"
    exif.get_ifd(0x8825)[1] = "N"  # the position
    return _jpeg(exif=exif)


def _cmyk() -> bytes:
    out = io.BytesIO()
    Image.new("CMYK", (60, 40)).save(out, "JPEG")
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (_with_exif(), "Expected no EXIF"),
        (_cmyk(), "Expected grey or RGB"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "cannot be read"),
        (b"%PDF-1.7", "cannot be read"),
        (b"", "cannot be read"),
        (b"GIF89a" + bytes(40), "cannot be read"),
    ],
)
def test_a_picture_that_must_not_leave_the_house_is_refused(content: bytes, reason: str) -> None:
    photo = filed(content)
    try:
        with pytest.raises(BadContent, match=reason):
            render(replace(RECEIPT, photos=(photo,)), FILES)
    finally:
        del FILES[photo.file]


def test_a_picture_that_is_missing_or_not_itself_is_refused() -> None:
    name = RECEIPT.photos[0].file
    with pytest.raises(BadContent, match="is missing"):
        render(RECEIPT, {key: content for key, content in FILES.items() if key != name})
    with pytest.raises(BadContent, match="not what its name says"):
        render(RECEIPT, {**FILES, name: FILES[name] + b" "})


def test_pictures_that_no_paper_names_are_never_looked_at() -> None:
    bare = replace(RECEIPT, photos=(), head=replace(RECEIPT.head, workshop=Workshop(name="W")))
    assert render(bare, {"../../escape": b"x"}) == render(bare)
