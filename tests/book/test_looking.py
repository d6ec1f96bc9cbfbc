"""Findings and photographs."""

import io
from dataclasses import replace

import pytest
from PIL import Image, TiffImagePlugin

from book.cast import BY
from pegwood.book import benchwork, files, leaving, looking
from pegwood.book.keeping import export
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Job, StoredFile
from pegwood.book.refusal import Refused

pytestmark = pytest.mark.django_db
OIL = FindingDetails(part="shutter blades", condition="oil film", grade=3)


def photo(width: int = 64, height: int = 48, kind: str = "JPEG", **how: object) -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", (width, height), (180, 140, 60)).save(out, kind, **how)
    out.seek(0)
    return out


def held_sideways_at_a_place() -> io.BytesIO:
    """A phone's JPEG: turned by its EXIF note, with the position it was taken at."""
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation 6 of EXIF 2.32: the top is on the right
    exif[0x010F] = "somebody"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2] = "N", tuple(TiffImagePlugin.IFDRational(n) for n in (58, 8, 47))
    return photo(64, 48, exif=exif)


def test_a_finding_is_noted_with_its_grade(arrived):
    finding = looking.note_finding(arrived, replace(OIL, outlook="mend"), by=BY)
    assert (finding.part, finding.grade, finding.outlook) == ("shutter blades", 3, "mend")
    assert arrived.diary.get(what="found").new["grade"] == 3


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"part": " "}, "Which part"),
        ({"condition": ""}, "Say its condition"),
        ({"grade": 6}, "0 .as new. to 5"),
        ({"outlook": "maybe"}, "'mend', 'can stay'"),
        ({"part": "x" * 121}, "longer than 120"),
    ],
)
def test_a_finding_that_cannot_be_is_refused(arrived, wrong, says):
    with pytest.raises(Refused, match=says):
        looking.note_finding(arrived, replace(OIL, **wrong), by=BY)
    assert not arrived.findings.exists()


def test_amending_a_finding_keeps_the_old_value_in_the_diary(arrived):
    finding = looking.note_finding(arrived, OIL, by=BY)
    looking.amend_finding(finding, replace(OIL, grade=4), by=BY)
    entry = arrived.diary.get(what="amended a finding")
    assert (entry.old["grade"], entry.new["grade"]) == (3, 4)


def test_a_finding_struck_out_stays_in_the_diary(arrived):
    finding = looking.note_finding(arrived, OIL, by=BY)
    looking.strike_out(finding, "was a reflection", by=BY)
    looking.strike_out(finding, "twice is harmless", by=BY)
    finding.refresh_from_db()
    assert finding.struck_out
    entry = arrived.diary.get(what="struck out a finding")
    assert (entry.text, entry.old["condition"]) == ("was a reflection", "oil film")


def test_a_photograph_is_kept_as_it_came_and_shown_upright(arrived):
    content = held_sideways_at_a_place()
    kept = looking.add_photo(arrived, content, name="IMG 1.jpg", by=BY)
    assert files.read(kept.file) == content.getvalue()
    assert (kept.width, kept.height) == (48, 64)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
def test_what_phones_take_is_let_in(arrived, kind):
    kept = looking.add_photo(arrived, photo(kind=kind), name=f"x.{kind.lower()}", by=BY)
    small = Image.open(io.BytesIO(files.thumbnail(kept.file)))
    assert (small.format, small.size) == ("JPEG", (64, 48))


def test_nothing_but_pixels_leaves_in_a_paper():
    plain = Image.open(io.BytesIO(files.picture_for_paper(held_sideways_at_a_place().getvalue())))
    assert not plain.getexif()
    assert plain.size == (48, 64)
    assert "exif" not in plain.info


def test_what_is_transparent_lies_on_white_paper():
    out = io.BytesIO()
    Image.new("RGBA", (8, 8), (0, 0, 0, 0)).save(out, "PNG")
    plain = Image.open(io.BytesIO(files.picture_for_paper(out.getvalue())))
    assert plain.getpixel((4, 4)) == (255, 255, 255)


def test_the_same_photograph_twice_is_one(arrived):
    first = looking.add_photo(arrived, photo(), name="a.jpg", by=BY)
    again = looking.add_photo(arrived, photo(), name="b.jpg", by=BY)
    assert first == again
    assert StoredFile.objects.count() == 1


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"\xff\xd8\xff\xe0 and then nothing of the kind", "not a JPEG|damaged"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "not a JPEG"),
        (photo().getvalue()[:300], "damaged or cut short|not a JPEG"),
        (photo(kind="GIF").getvalue(), "not a JPEG"),
        (photo(kind="TIFF").getvalue(), "not a JPEG"),
        (b"%PDF-1.7\n", "not a JPEG"),
    ],
)
def test_what_is_not_a_whole_photograph_is_refused(arrived, content, says):
    with pytest.raises(Refused, match=says):
        looking.add_photo(arrived, io.BytesIO(content), name="x.jpg", by=BY)
    assert not StoredFile.objects.exists()


def test_a_small_file_that_unpacks_to_a_huge_one_is_refused(arrived):
    bomb = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(bomb, "PNG")
    assert len(bomb.getvalue()) < 100_000
    bomb.seek(0)
    with pytest.raises(Refused, match=r"pixels|unpacks"):
        looking.add_photo(arrived, bomb, name="bomb.png", by=BY)


def test_a_name_is_only_a_name(arrived):
    kept = looking.add_photo(arrived, photo(), name="../../etc/pass\x00wd\u202e<b>.jpg", by=BY)
    assert kept.file.name == "passwdb.jpg"


def test_a_finding_of_another_job_takes_no_photograph(arrived):
    from book.cast import BENNO, REFLEX
    from pegwood.book import arriving

    other = arriving.take_in(BENNO, REFLEX, by=BY)
    finding = looking.note_finding(other, OIL, by=BY)
    with pytest.raises(Refused, match="another job"):
        looking.add_photo(arrived, photo(), name="x.jpg", finding=finding, by=BY)


def test_nothing_is_found_on_a_job_that_is_over_whatever_the_page_still_shows(arrived):
    stale = Job.objects.get(pk=arrived.pk)
    leaving.send_back_unmended(arrived, "too dear", by=BY)
    with pytest.raises(Refused, match="is over"):
        looking.note_finding(stale, OIL, by=BY)
    with pytest.raises(Refused, match="is over"):
        benchwork.log_work(stale, "cleaned it", by=BY)
    with pytest.raises(Refused, match="is over"):
        looking.add_photo(stale, photo(), name="x.jpg", by=BY)


def test_a_photograph_struck_out_keeps_its_file_and_its_entry(arrived):
    kept = looking.add_photo(arrived, photo(), name="x.jpg", by=BY)
    looking.strike_out_photo(kept, "thumb in front", by=BY)
    looking.strike_out_photo(kept, "twice is harmless", by=BY)
    assert files.read(kept.file)
    assert arrived.diary.get(what="struck out a photograph").text == "thumb in front"


def test_work_struck_out_stays_in_the_diary(arrived):
    work = benchwork.log_work(arrived, "cleaned it", minutes=20, by=BY)
    benchwork.strike_out_work(work, "wrong job", by=BY)
    benchwork.strike_out_work(work, "twice is harmless", by=BY)
    assert arrived.diary.get(what="struck out work").old["minutes"] == 20


def test_what_was_struck_out_is_on_no_card_and_in_every_export(arrived):
    finding = looking.note_finding(arrived, OIL, by=BY)
    kept = looking.add_photo(arrived, photo(), name="x.jpg", finding=finding, by=BY)
    work = benchwork.log_work(arrived, "cleaned it", by=BY)
    looking.strike_out(finding, "a reflection", by=BY)
    looking.strike_out_photo(kept, "blurred", by=BY)
    benchwork.strike_out_work(work, "wrong job", by=BY)
    for rows in (arrived.findings, arrived.photos, arrived.work):
        assert not rows.exists()
    whole = export.job_as_data(arrived)
    assert [len(whole[part]) for part in ("findings", "photos", "work")] == [1, 1, 1]
    assert whole["findings"][0]["struck_out"] is True
