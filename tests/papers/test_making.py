"""From the job book to a filed paper and back: what it holds, what it refuses, the same bytes again."""

from __future__ import annotations

import hashlib
import io
import json
import os
from dataclasses import asdict, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pypdf
import pytest
from PIL import Image

from book.cast import BY, FOLDER, ILSE, MONDAY
from pegwood.book import agreeing, arriving, benchwork, leaving, looking, measuring, moving
from pegwood.book.agreeing import Line
from pegwood.book.billing import payments
from pegwood.book.files import read, store
from pegwood.book.files.store import keep
from pegwood.book.keeping.check import strays
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Gear, Job, Measurement, Paper, StoredFile
from pegwood.book.papering import file_paper
from pegwood.book.workshop import change_settings
from pegwood.instruments.shutter import MarkedSpeed
from pegwood.instruments.shutter.results import Curve, Shot, ShutterResult, Summary
from pegwood.instruments.uncertainty import Component, Measured, combine
from pegwood.instruments.verdicts import Limit, verdict
from pegwood.papers import KINDS, RefusedPaper, make_paper, remake
from pegwood.papers.content import Bill, Care, Certificate, Condition, Price, Receipt, from_json
from pegwood.papers.words import ENGLISH
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db


def words_on(paper: Paper) -> str:
    pages = pypdf.PdfReader(io.BytesIO(read(paper.file))).pages
    return " ".join(" ".join(page.extract_text().replace("\u200b", "") for page in pages).split())


def content(paper: Paper) -> Any:
    return from_json(json.dumps(paper.content))


def picture(colour: str = "grey", form: str = "JPEG", **told: Any) -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", (640, 480), colour).save(out, form, **told)
    out.seek(0)
    return out


def with_position() -> io.BytesIO:
    exif = Image.Exif()
    exif[0x010F] = "a telephone's maker"
    exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 5.0, 0.0)})
    return picture(exif=exif)


@pytest.fixture
def shop(db: None) -> None:
    new = {
        "name": "Werfkade Camera Workshop",
        "repairer": "Joos Verwey",
        "address": "Werfkade 11\n4417 Maarhaven",
        "phone": "0555-0417",
        "time_zone": "Europe/Amsterdam",
        "terms": "Paid when fetched.",
    }
    change_settings(new, by=BY)


@pytest.fixture
def job(shop: None) -> Job:
    job = arriving.take_in(
        ILSE,
        FOLDER,
        by=BY,
        story="Found in a cellar.\nThe shutter sticks.",
        accessories="leather case, strap torn\nlens cap",
        promised_on=date(2031, 4, 3),
        at=MONDAY,
    )
    for n in range(8):
        looking.add_photo(
            job, picture(f"#{n}0{n}0{n}0"), by=BY, name=f"{n}.jpg", caption=f"view {n}", at=MONDAY
        )
    return job


@pytest.fixture
def seen(job: Job) -> Job:
    blades = looking.note_finding(
        job,
        FindingDetails(part="Shutter blades", condition="oil film", grade=3, outlook="mend"),
        by=BY,
        at=MONDAY,
    )
    looking.note_finding(
        job,
        FindingDetails(part="Front element", condition="light haze", grade=1, outlook="can stay"),
        by=BY,
        at=MONDAY,
    )
    looking.add_photo(job, with_position(), by=BY, name="blades.jpg", finding=blades, caption="the blades")
    return moving.look_over(job, by=BY)


@pytest.fixture
def priced(seen: Job) -> Job:
    lines = [
        Line(what="clean the shutter", minutes=105, amount=Money(10500, "EUR")),
        Line(what="light seal", kind="part", amount=Money(450, "EUR")),
    ]
    return agreeing.tell_price(seen, lines, by=BY, at=MONDAY)


@pytest.fixture
def ready(priced: Job) -> Job:
    agreeing.record_yes(priced, how="by telephone", up_to=Money(18000, "EUR"), by=BY, at=MONDAY)
    moving.put_on_bench(priced, by=BY)
    benchwork.log_work(priced, "cleaned in naphtha", part="shutter blades", minutes=80, by=BY)
    moving.prove(priced, by=BY)
    agreeing.write_bill(priced, [Line(what="clean the shutter", amount=Money(10950, "EUR"))], by=BY)
    return moving.call_ready(priced, by=BY)


# --- readings, as the instrument gives them -------------------------------------------------------------

HALF_EV = Limit(-0.5, 0.5, "Workshop's default", "practice", "Marked times of 1/250 s and slower.")


def a_result(
    marked: str,
    error_ev: float,
    *,
    n: int = 5,
    limit: Limit | None = HALF_EV,
    reading: Any = "exact",
    warnings: tuple[str, ...] = (),
) -> ShutterResult:
    """What the instrument would give for a group of firings of that error."""
    speed = MarkedSpeed.parse(marked)
    target = speed.seconds(reading)
    mean = (target or 2.0) * 2**error_ev
    parts = (
        Component("repeatability", 0.004 * mean, max(1, n - 1), "A", "standard deviation of the mean"),
        Component("clock", 1e-5 * mean, note="sampling clock", source="data sheet", mark="memory"),
    )
    effective = combine(mean, parts)
    error = None if target is None else Measured(error_ev, effective.u / mean * 1.4427, effective.df)
    shots = tuple(
        Shot(
            0.5 + i, 0, effective, None, None, None, Measured(0.83, 0.01), None, False, 0.0, Curve((), (), {})
        )
        for i in range(n)
    )
    summary = Summary(n, effective, 0.05, 0.12, error, None, verdict(error, limit), limit)
    return ShutterResult(
        "x.wav", "Light gate, read between 2 % and 98 %.", "DC", 96_000.0, shots, summary, warnings,
        ("The dark level was steady.",), speed, reading,
    )  # fmt: skip


def measured(
    job: Job,
    result: ShutterResult | None,
    phase: str,
    *,
    marked: str = "",
    reason: str = "",
    gear: Gear | None = None,
) -> Measurement:
    recording = keep(
        io.BytesIO(b"RIFF" + repr((result, phase)).encode()),
        name="x.wav",
        media_type="audio/wav",
        at_most=10**6,
    )
    measurement = Measurement.objects.create(
        job=job,
        marked=result.marked.text if result and result.marked else marked,
        recording=recording,
        gear=gear,
        progress="refused" if result is None else "read",
        reason=reason,
        result=None if result is None else json.loads(json.dumps(result.to_json(), allow_nan=False)),
        settings={"reading": "exact", "shutter": "leaf", "limit": asdict(HALF_EV)},
        at=MONDAY,
        by=BY,
    )
    return measuring.accept_measurement(measurement, phase, by=BY, at=MONDAY) if phase else measurement


@pytest.fixture
def gate(shop: None) -> Gear:
    return benchwork.list_gear("Light gate", serial="LG-02", checked_on=date(2031, 1, 12), by=BY)


@pytest.fixture
def proved(seen: Job, gate: Gear) -> Job:
    measured(seen, a_result("1/125", 0.9, warnings=("One firing of six stuck.",)), "as found", gear=gate)
    measured(seen, a_result("1/125", 0.07), "as left", gear=gate)
    measured(seen, a_result("1", 0.04, limit=None), "as left", gear=gate)
    measured(seen, a_result("B", 0.0, n=1, limit=None), "as left", gear=gate)
    measured(seen, None, "", marked="1/500", reason="The lamp flickered. Use a lamp on direct current.")
    return seen


# --- each paper -----------------------------------------------------------------------------------------


def test_a_receipt_holds_what_was_taken_in(job: Job) -> None:
    paper = make_paper(job, "receipt", by=BY, at=MONDAY)
    receipt = content(paper)
    assert isinstance(receipt, Receipt)
    assert receipt.head.number == paper.number == f"{job.number}-receipt-1"
    assert receipt.head.made_at == "2031-03-03T10:30:00+01:00"
    assert receipt.accessories == ("leather case, strap torn", "lens cap")
    assert receipt.promised_on == "2031-04-03"
    assert len(receipt.photos) == 6
    shown = words_on(paper)
    for text in (
        "Ilse Marrick",
        "Vorrin",
        "Pocket Six",
        "A-20417",
        "The shutter sticks.",
        "3 April 2031",
        "view 5",
    ):
        assert text in shown


def test_a_comeback_says_whose_guarantee_it_comes_under(ready: Job) -> None:
    leaving.hand_back(ready, by=BY, at=MONDAY)
    again = arriving.take_in(ILSE, ready.camera, by=BY, comeback_of=ready, at=MONDAY)
    assert f"job no. {ready.number}" in words_on(make_paper(again, "receipt", by=BY, at=MONDAY))


def test_a_report_holds_the_findings_that_stand(seen: Job) -> None:
    mistaken = looking.note_finding(seen, FindingDetails(part="Bellows", condition="torn"), by=BY)
    looking.strike_out(mistaken, "looked again", by=BY)
    report = content(make_paper(seen, "condition", by=BY, at=MONDAY))
    assert isinstance(report, Condition)
    assert [finding.part for finding in report.findings] == ["Shutter blades", "Front element"]
    assert report.findings[0].photos[0].caption == "the blades"
    assert report.looked_over_by == BY  # who looked, not whose workshop it is


def test_a_price_holds_its_lines_and_how_long_it_stands(priced: Job) -> None:
    price = content(make_paper(priced, "price", by=BY, at=MONDAY))
    assert isinstance(price, Price)
    assert price.total == Money(10950, "EUR")
    assert price.lines[0].quantity == "105"
    assert price.valid_until == "2031-04-02"
    assert price.up_to is None
    agreeing.record_yes(priced, how="by telephone", up_to=Money(18000, "EUR"), by=BY)
    priced.refresh_from_db()
    assert content(make_paper(priced, "price", by=BY, at=MONDAY)).up_to == Money(18000, "EUR")


def test_a_bill_holds_what_was_agreed_and_what_was_paid(ready: Job) -> None:
    bill = content(make_paper(ready, "bill", by=BY, at=MONDAY))
    assert isinstance(bill, Bill)
    assert (bill.agreed and bill.agreed.how, bill.paid) == ("by telephone", None)
    ready = leaving.hand_back(ready, by=BY, paid=Money(10950, "EUR"), paid_how="by card", at=MONDAY)
    paper = make_paper(ready, "bill", by=BY, at=MONDAY)
    assert paper.number.endswith("-bill-2")
    assert ENGLISH["paid.full"] in words_on(paper)


def test_a_slip_runs_from_the_day_of_fetching_and_then_to_a_day(ready: Job) -> None:
    before = content(make_paper(ready, "care", by=BY, at=MONDAY))
    assert isinstance(before, Care)
    assert (before.guarantee_until, before.guarantee_months) == (None, 6)
    assert before.done == ("shutter blades: cleaned in naphtha",)
    assert before.left_alone == ("Front element: light haze",)
    ready = leaving.hand_back(ready, by=BY, at=MONDAY)
    after = content(make_paper(ready, "care", by=BY, at=MONDAY))
    assert (after.guarantee_until, after.guarantee_months) == ("2031-09-03", None)


def test_a_certificate_repeats_the_instrument_and_reckons_nothing_anew(proved: Job) -> None:
    paper = make_paper(proved, "certificate", by=BY, at=MONDAY)
    certificate = content(paper)
    assert isinstance(certificate, Certificate)
    assert [speed.marked for speed in certificate.speeds] == ["1", "1/125"]
    fast = certificate.speeds[1]
    result = a_result("1/125", 0.07).to_json()["summary"]
    assert fast.target_s == 1 / 128
    assert fast.left.effective_s == result["effective_s"]
    assert fast.left.error_u_ev == result["error_u_ev"]
    # Student's t for four degrees of freedom at 95 %: 2.776 (JCGM 100:2008, table G.2, from memory)
    assert fast.left.coverage_factor == pytest.approx(2.776, abs=0.002)
    assert fast.left.error_ev + fast.left.half_width_ev == pytest.approx(result["error_95_ev"][1])
    assert (fast.found.verdict, fast.left.verdict) == ("outside", "within")
    assert certificate.speeds[0].left.verdict == "no limit given"
    assert fast.left.efficiency == pytest.approx(0.83)
    assert [share.name for share in fast.left.budget] == ["repeatability", "clock"]
    assert certificate.gear[0].serial == "LG-02"
    assert (
        certificate.held[0].left == "open for 2.0000 ± 0.0000 s"
        or "open for 2.00" in certificate.held[0].left
    )
    assert certificate.remarks == ("1/125 as found: One firing of six stuck.",)
    assert certificate.refused[0].reason.startswith("The lamp flickered")
    shown = words_on(paper)
    for text in (
        "7.813 ms",
        "outside",
        "practice",
        "LG-02",
        "The lamp flickered",
        "The dark level was steady.",
    ):
        assert text in shown


# --- filed, and made again ------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", sorted(KINDS.keys() - {"certificate", "record"}))
def test_a_filed_paper_is_made_again_to_the_byte(ready: Job, kind: str) -> None:
    paper = make_paper(ready, kind, by=BY)
    filed = read(paper.file)
    assert hashlib.sha256(filed).hexdigest() == paper.file_id
    # everything but the paper itself may change since
    change_settings({"name": "Another Workshop", "locale": "nl_NL", "mark": ""}, by=BY)
    ready.photos.all().delete()
    assert remake(Paper.objects.get(pk=paper.pk)) == filed


def test_a_certificate_is_made_again_to_the_byte(proved: Job) -> None:
    paper = make_paper(proved, "certificate", by=BY, at=MONDAY)
    assert remake(Paper.objects.get(pk=paper.pk)) == read(paper.file)


def test_making_a_paper_is_written_in_the_diary(job: Job) -> None:
    paper = make_paper(job, "receipt", by=BY, at=MONDAY)
    entry = job.diary.filter(what="made a paper").get()
    assert (entry.text, entry.who) == (paper.number, BY)


def test_no_picture_leaves_with_the_place_it_was_taken(seen: Job) -> None:
    paper = make_paper(seen, "condition", by=BY)
    pdf = read(paper.file)
    for told in (b"Exif", b"a telephone's maker", b"GPS"):
        assert told not in pdf
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        for embedded in page.images:
            assert not dict(Image.open(io.BytesIO(embedded.data)).getexif())


def test_a_transparent_mark_is_set_on_white(job: Job) -> None:
    out = io.BytesIO()
    Image.new("RGBA", (300, 200), (0, 0, 0, 0)).save(out, "PNG")
    kept = looking.keep_photo(io.BytesIO(out.getvalue()), "mark.png")
    change_settings({"mark": kept.sha256}, by=BY)
    receipt = content(make_paper(job, "receipt", by=BY))
    mark = Image.open(store().verified(receipt.head.workshop.mark))
    assert mark.convert("RGB").getpixel((150, 100)) == (255, 255, 255)


def test_one_made_by_another_typesetter_is_not_passed_off_as_the_same(job: Job) -> None:
    paper = make_paper(job, "receipt", by=BY)
    paper.content["made_with"]["typst"] = "0.1"
    paper.content["content"]["story"] = "what an older typesetter would have set otherwise"
    with pytest.raises(RefusedPaper, match=r"was made with Typst 0\.1"):
        remake(paper)


def test_content_that_was_changed_since_does_not_come_out_as_filed(job: Job) -> None:
    paper = make_paper(job, "receipt", by=BY)
    paper.content["content"]["story"] = "another story"
    with pytest.raises(RefusedPaper, match="other bytes than were filed"):
        remake(paper)


def test_a_picture_gone_from_the_store_is_named(job: Job) -> None:
    paper = make_paper(job, "receipt", by=BY)
    store().path(content(paper).photos[0].file).unlink()
    with pytest.raises(RefusedPaper, match="gone"):
        remake(paper)


# --- refused --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "reason"),
    [
        ("condition", "No finding is written down yet"),
        ("certificate", "No reading was accepted yet"),
        ("price", "No price has been told yet"),
        ("bill", "No bill has been written yet"),
        ("care", "No work is written down yet"),
        ("letter", "There is no paper 'letter'"),
        ("", "There is no paper"),
    ],
)
def test_a_paper_without_its_matter_is_refused_and_nothing_is_filed(job: Job, kind: str, reason: str) -> None:
    with pytest.raises(RefusedPaper, match=reason) as refusal:
        make_paper(job, kind, by=BY)
    assert "\n" not in str(refusal.value)
    assert not job.papers.exists()


def test_a_workshop_without_a_name_makes_no_paper(db: None) -> None:
    job = arriving.take_in(ILSE, FOLDER, by=BY, at=MONDAY)
    with pytest.raises(RefusedPaper, match="no name yet"):
        make_paper(job, "receipt", by=BY)


def test_a_damaged_photograph_is_refused_with_its_reason(job: Job) -> None:
    store().path(job.photos.earliest("pk").file_id).write_bytes(b"torn")
    with pytest.raises(RefusedPaper, match="damaged"):
        make_paper(job, "receipt", by=BY)


def test_readings_against_two_kinds_of_target_are_not_mixed(seen: Job) -> None:
    measured(seen, a_result("1/125", 0.1), "as left")
    measured(seen, a_result("1/60", 0.1), "as left")
    measured(seen, a_result("1/30", 0.1, reading="as marked"), "as left")
    with pytest.raises(RefusedPaper, match="send the recordings of 1/30 again"):
        make_paper(seen, "certificate", by=BY)


def test_a_reading_set_aside_does_not_stand_on_the_certificate(proved: Job) -> None:
    measuring.set_aside(proved.measurements.get(marked="1"), "wrong dial", by=BY)
    certificate = content(make_paper(proved, "certificate", by=BY))
    assert [speed.marked for speed in certificate.speeds] == ["1/125"]


def test_a_reading_without_uncertainty_is_refused(seen: Job) -> None:
    bare = a_result("1/125", 0.1)
    certain = replace(bare, summary=replace(bare.summary, error=Measured(0.1, 0.0)))
    measured(seen, certain, "as left")
    with pytest.raises(RefusedPaper, match="has no uncertainty"):
        make_paper(seen, "certificate", by=BY)


def test_two_made_at_the_same_moment_do_not_share_a_number(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    first = make_paper(job, "receipt", by=BY)
    monkeypatch.setattr("pegwood.papers.make.next_number", lambda *_: first.number)
    with pytest.raises(RefusedPaper, match="at the same moment"):
        make_paper(job, "receipt", by=BY)
    assert job.papers.count() == 1


def test_a_paper_of_another_format_is_refused(job: Job) -> None:
    paper = file_paper(job, "receipt", "9-receipt-9", {"format": 99}, b"%PDF-", by=BY, at=datetime.now(UTC))
    with pytest.raises(RefusedPaper, match="no paper's"):
        remake(paper)


def test_tidying_a_year_later_leaves_every_paper_its_pictures(seen: Job) -> None:
    for kind in ("receipt", "condition"):
        make_paper(seen, kind, by=BY, at=MONDAY)
    assert Paper.objects.get(kind="receipt").pictures.exists()
    StoredFile.objects.update(stored_at=MONDAY)
    for name in store().names():
        os.utime(store().path(name), (0, 0))
    strays(tidy=True)
    for paper in Paper.objects.all():
        assert remake(paper) == read(paper.file)


def test_a_speed_measured_after_all_is_not_called_unmeasured(proved: Job) -> None:
    accepted = proved.measurements.exclude(phase="").first()
    assert accepted is not None
    for marked, at in ((accepted.marked, accepted.at - timedelta(minutes=5)), ("1/400", accepted.at)):
        Measurement.objects.create(
            job=proved,
            marked=marked,
            recording=accepted.recording,
            progress="refused",
            reason="No firing found",
            at=at,
            by=BY,
        )
    sheet = content(make_paper(proved, "certificate", by=BY, at=MONDAY))
    refused = {refusal.marked for refusal in sheet.refused}
    assert "1/400" in refused
    assert accepted.marked not in refused


def test_a_certificate_is_signed_by_who_measured(proved: Job) -> None:
    proved.measurements.update(by="Pim, apprentice")
    sheet = content(make_paper(proved, "certificate", by=BY, at=MONDAY))
    assert sheet.signed_by == "Pim, apprentice"


def test_a_bill_paid_later_bears_the_day_it_was_paid(ready: Job) -> None:
    home = leaving.hand_back(ready, by=BY, at=MONDAY)
    paid = payments.record_payment(
        home, Money(100, "EUR"), "by transfer", by=BY, at=MONDAY + timedelta(days=30)
    )
    bill = content(make_paper(paid, "bill", by=BY, at=MONDAY + timedelta(days=31)))
    assert bill.paid_on == (MONDAY + timedelta(days=30)).date().isoformat()
