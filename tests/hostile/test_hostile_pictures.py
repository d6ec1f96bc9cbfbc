"""Every way a picture comes in, tried with pictures that are none, or are traps."""

from __future__ import annotations

import io
import random
import tracemalloc

import pytest
from django.test import Client
from PIL import Image

from hostile import pictures
from hostile.bounds import bounded
from hostile.conftest import TICKET, Door
from hostile.sent import Sent, refusals
from pegwood.book.drafts import find_draft
from pegwood.book.files.pictures import inspect, picture_for_paper
from pegwood.book.keeping.export import job_as_data
from pegwood.book.models import Job, Photo, StoredFile
from pegwood.book.refusal import Refused

A_DRAFT = "book.Draft"

#: What it is, its bytes, and what the refusal says of it and of what to do.
REFUSED = {
    "nothing at all": (lambda: b"", ("Choose",)),
    "one byte": (lambda: b"\xff", ("not a JPEG, PNG or HEIC", "Choose one of these")),
    "a JPEG cut short": (lambda: pictures.photograph()[:900], ("cut short", "send it again")),
    "a PNG cut short": (lambda: pictures.photograph("PNG")[:900], ("cut short", "send it again")),
    "a HEIC cut short": (lambda: pictures.photograph("HEIF")[:400], ("r.jpg is",)),
    "an SVG with a script": (lambda: pictures.SVG, ("not a JPEG, PNG or HEIC",)),
    "a web page": (lambda: pictures.PAGE, ("not a JPEG, PNG or HEIC",)),
    "a GIF that is a script": (lambda: b"GIF89a/*" + pictures.PAGE, ("not a JPEG, PNG or HEIC",)),
    "a real GIF": (lambda: pictures.photograph("GIF"), ("not a JPEG, PNG or HEIC",)),
    "a TIFF": (lambda: pictures.photograph("TIFF"), ("not a JPEG, PNG or HEIC",)),
    "a WebP": (lambda: pictures.photograph("WEBP"), ("not a JPEG, PNG or HEIC",)),
    "PostScript": (lambda: b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nquit\n", ("not a JPEG",)),
    "a PDF": (lambda: b"%PDF-1.7\n1 0 obj\n", ("not a JPEG, PNG or HEIC",)),
    "a ZIP": (lambda: pictures.zipped(), ("not a JPEG, PNG or HEIC",)),
    "a program": (lambda: b"\x7fELF\x02\x01\x01" + bytes(200), ("not a JPEG, PNG or HEIC",)),
    "a PNG of 30000 x 30000": (pictures.png_bomb, ("far more than a photograph", "Send the photograph")),
    "a PNG of no width": (lambda: pictures.png(0, 9, b""), ("r.jpg is",)),
    "a PNG whose remark unpacks to 200 MB": (pictures.png_text_bomb, ("again",)),
    "a JPEG that says 65500 x 65500": (
        lambda: pictures.with_size(pictures.photograph(), 65_500, 65_500),
        ("far more than a photograph",),
    ),
    "a HEIC that says 60000 x 60000": (lambda: pictures.heic_of_size(60_000, 60_000), ("again",)),
}


@pytest.fixture(scope="module")
def made() -> dict[str, bytes]:
    return {}


@pytest.mark.parametrize("what", REFUSED)
def test_it_is_refused_in_one_line_and_nothing_is_kept(
    client: Client, job: Job, photo_door: Door, everything, made, what
):
    build, words = REFUSED[what]
    content = made.setdefault(what, build()) if what not in made else made[what]
    before, told = everything(), job_as_data(job)
    with bounded(cpu_s=3, megabytes=200):
        answer = photo_door.send(client, job, Sent(content))
    assert answer.status_code == 422
    (line, *others) = refusals(answer)
    assert not [other for other in others if other != line], "one refusal, said once at its place"
    assert all(word in line for word in words), line
    assert line.endswith(".")
    assert len(line) < 260
    after = everything()
    assert {**after, A_DRAFT: None} == {**before, A_DRAFT: None}
    assert job_as_data(job) == told
    if draft := find_draft(TICKET):
        assert (draft.photos, draft.fields["story"]) == ([], "nothing moves")
        assert "nothing moves</textarea>" in answer.content.decode(), "what was typed stays typed"


def test_one_that_is_too_large_is_refused_before_it_is_opened(
    client: Client, job: Job, photo_door: Door, everything, monkeypatch
):
    monkeypatch.setattr("pegwood.book.files.pictures.LARGEST_FILE", 1024**2)
    before = everything()
    sent = Sent(pictures.png_long_remark(30 * 1024**2), "large.png")
    tracemalloc.start()
    answer = photo_door.send(client, job, sent)
    in_the_book = inspect_peak(sent.content)
    tracemalloc.stop()
    assert answer.status_code == 422
    assert "larger than 1 MB" in " ".join(refusals(answer))
    assert {**everything(), A_DRAFT: None} == {**before, A_DRAFT: None}
    assert in_the_book < 2 * 1024**2


def inspect_peak(content: bytes) -> int:
    """Bytes that looking at such a file takes at most, beside the file itself."""
    file = io.BytesIO(content)
    tracemalloc.reset_peak()
    before = tracemalloc.get_traced_memory()[0]
    with pytest.raises(Refused):
        inspect(file)
    return tracemalloc.get_traced_memory()[1] - before


@pytest.mark.parametrize(
    ("what", "content"),
    [
        ("a JPEG", pictures.photograph()),
        ("a grey JPEG", pictures.photograph(mode="L")),
        ("a JPEG for the printing press", pictures.photograph(mode="CMYK")),
        ("a progressive JPEG", pictures.photograph(progressive=True)),
        ("a PNG", pictures.photograph("PNG")),
        ("a PNG one can see through", pictures.photograph("PNG", mode="RGBA")),
        ("a PNG with a palette", pictures.photograph("PNG", mode="P")),
        ("a PNG in black and white", pictures.photograph("PNG", mode="1")),
        ("a HEIC", pictures.photograph("HEIF")),
        ("a JPEG with a ZIP behind it", pictures.photograph() + pictures.zipped()),
        ("a JPEG with a page behind it", pictures.photograph() + pictures.PAGE),
        ("a JPEG with EXIF that is none", pictures.with_exif(b"not a TIFF at all")),
        ("a JPEG with EXIF cut short", pictures.with_exif(b"II*\0\x08\0\0\0\xff\xff")),
        ("a JPEG with EXIF that points nowhere", pictures.with_exif(b"MM\0*\xff\xff\xff\xff")),
        (
            "a JPEG with EXIF that points at itself",
            pictures.with_exif(b"II*\0\x08\0\0\0\x01\0\x69\x87\x04\0\x01\0\0\0\x08\0\0\0\x08\0\0\0"),
        ),
        (
            "a JPEG held in no way there is",
            pictures.with_exif(b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x63\0\0\0\0\0\0\0"),
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_photograph_is_kept_whatever_kind_it_is_and_shown_as_plain_pixels(
    client: Client, job, what, content
):
    answer = client.post(f"/job/{job.number}/photos/", {"photos": _upload(content)})
    assert answer.status_code == 302, refusals(answer)
    photo = Photo.objects.get()
    for shown in ("small", "large"):
        drawn = client.get(f"/photo/{photo.pk}/{shown}.jpg")
        with Image.open(io.BytesIO(drawn.content)) as image:
            assert (image.format, image.size) == ("JPEG", (64, 48))
            assert not image.getexif()
        assert b"<script>" not in drawn.content
        assert b"PK\x03\x04" not in drawn.content
    assert client.get(f"/photo/{photo.pk}/").status_code == 200
    assert client.get(f"/job/{job.number}/").status_code == 200
    assert picture_for_paper(content).startswith(b"\xff\xd8")


def test_the_bytes_that_came_are_only_ever_handed_out_to_be_saved(client: Client, job):
    client.post(f"/job/{job.number}/photos/", {"photos": _upload(pictures.photograph() + pictures.PAGE)})
    answer = client.get(f"/photo/{Photo.objects.get().pk}/original")
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert b"".join(answer.streaming_content).endswith(pictures.PAGE)


def test_the_good_ones_stay_when_another_is_refused(client: Client, job):
    sent = [_upload(pictures.photograph()), _upload(pictures.SVG, "b.jpg")]
    answer = client.post(f"/job/{job.number}/photos/", {"photos": sent})
    assert answer.status_code == 422
    assert (Photo.objects.count(), StoredFile.objects.count()) == (1, 1)
    assert "b.jpg is not a JPEG" in " ".join(refusals(answer))


def test_as_many_pixels_as_a_telephone_takes_are_not_too_many(db):
    """108 million, as some sensors have them; Pillow alone would stop at 89 million."""
    picture = inspect(io.BytesIO(pictures.png(12_000, 9_000, bytes(9_000 * (1 + 12_000 // 8)))))
    assert (picture.width, picture.height) == (12_000, 9_000)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "HEIF"])
def test_a_picture_with_any_bytes_changed_is_either_shown_or_refused(db, kind):
    """300 pictures, each with a few bytes changed, cut out or doubled; always the same ones."""
    dice = random.Random(2027)
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "Vorrin"
    whole = pictures.photograph(kind, exif=exif)
    kept = 0
    with bounded(cpu_s=30, megabytes=300):
        for _ in range(100):
            spoilt = bytearray(whole)
            for _ in range(dice.randint(1, 6)):
                at = dice.randrange(len(spoilt) if dice.random() < 0.5 else min(300, len(spoilt)))
                spoilt[at : at + dice.choice([0, 1, 1, 1, 4])] = dice.randbytes(dice.choice([0, 1, 1, 4]))
            kept += not _refusal_of(bytes(spoilt))
    assert 0 < kept < 100


def _refusal_of(content: bytes) -> str:
    """Why it is refused, or nothing where it can be shown."""
    try:
        inspect(io.BytesIO(content))
        picture_for_paper(content)
    except Refused as reason:
        return str(reason)
    return ""


def _upload(content: bytes, name: str = "a.jpg") -> io.BytesIO:
    file = io.BytesIO(content)
    file.name = name
    return file
