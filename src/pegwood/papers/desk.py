"""What lies on the desk while a paper is made: settings, moment, pictures, and the parts all papers have."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from PIL import Image

from pegwood.book.files import keep, picture_for_paper, read
from pegwood.book.models import Job, StoredFile
from pegwood.book.models import Photo as BookPhoto
from pegwood.book.refusal import Refused
from pegwood.book.workshop import Workshop as Chosen
from pegwood.papers.content import Camera, Head, Owner, Photo, Tag, Workshop
from pegwood.papers.words import words

PICTURE_PIXELS = 900  # longest side: 40 mm at 570 to the inch, and a parcel of photographs still mails
MARK_PIXELS = 600
LARGEST_PICTURE = 4 * 1024**2


class RefusedPaper(Refused):
    """A paper that cannot be made, with the reason and what to do in one line."""


@dataclass
class Desk:
    """What lies on the desk while one paper is made: the settings, the moment, and the pictures it needs."""

    shop: Chosen
    at: datetime
    by: str
    number: str
    pictures: dict[str, bytes] = field(default_factory=dict)

    @property
    def said(self) -> Mapping[str, str]:
        """The fixed words."""
        return words(self.shop.locale)

    def day(self, moment: datetime | None) -> str | None:
        """The workshop's own calendar day of a moment."""
        return None if moment is None else moment.astimezone(self.shop.zone).date().isoformat()

    def picture(self, content: bytes) -> str:
        """Lay a clean picture on the desk; its name is its hash."""
        name = hashlib.sha256(content).hexdigest()
        self.pictures[name] = content
        return name

    def photos(self, given: list[BookPhoto]) -> tuple[Photo, ...]:
        """Photographs of the book, drawn anew without anything their files tell of place and time."""
        return tuple(
            Photo(
                file=self.picture(picture_for_paper(read(photo.file), PICTURE_PIXELS)),
                caption=photo.caption,
            )
            for photo in given
        )


def keep_pictures(pictures: Mapping[str, bytes], *, at: datetime) -> None:
    """Keep the pictures of a paper, so that it can be made again from its content alone."""
    for name, picture in pictures.items():
        kind = "png" if picture.startswith(b"\x89PNG") else "jpeg"
        keep(
            io.BytesIO(picture),
            name=f"{name[:12]}.{'jpg' if kind == 'jpeg' else kind}",
            media_type=f"image/{kind}",
            at_most=LARGEST_PICTURE,
            at=at,
        )


def head_of(job: Job, desk: Desk) -> Head:
    """The top of a paper: workshop, tag, moment, number."""
    shop = desk.shop
    if not shop.name.strip():
        raise RefusedPaper(
            "The workshop has no name yet. Set it on its page, or with: pegwood settings set name='...'"
        )
    return Head(
        workshop=Workshop(
            name=shop.name,
            address=lines_of(shop.address),
            registration=lines_of(shop.registration),
            pay_to=lines_of(shop.pay_to),
            contact=tuple(text for text in (shop.phone, shop.email) if text),
            mark=_mark(desk),
            locale=shop.locale,
        ),
        tag=Tag(
            number=str(job.number),
            what=job.camera.title,
            who=desk.said["tag.for"].format(name=job.owner.name),
        ),
        made_at=desk.at.astimezone(shop.zone).replace(microsecond=0).isoformat(),
        zone=shop.time_zone,
        made_by=desk.by,
        number=desk.number,
    )


def owner_of(job: Job) -> Owner:
    """Whose camera it is, and how to reach them."""
    owner = job.owner
    contact = tuple(text for text in (owner.phone, owner.email) if text)
    return Owner(name=owner.name, address=lines_of(owner.address), contact=contact)


def camera_of(job: Job, desk: Desk) -> Camera:
    """What is known of the camera."""
    camera = job.camera
    number = f"{desk.said['number']} {camera.lens_serial}" if camera.lens_serial else ""
    return Camera(
        family=camera.kind.name,
        maker=camera.maker,
        model=camera.model,
        serial=camera.serial,
        lens=", ".join(text for text in (camera.lens, number) if text),
        shutter=camera.shutter,
    )


def lines_of(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _mark(desk: Desk) -> str | None:
    """The workshop's mark on white ground: a mark is mostly lines, and they stay sharp in a PNG."""
    if not desk.shop.mark:
        return None
    stored = StoredFile.objects.filter(sha256=desk.shop.mark).first()
    if stored is None:
        raise RefusedPaper("The workshop's mark is gone from the file store. Send it again, or take it off.")
    content = read(stored)
    if not content.startswith(b"\x89PNG"):
        return desk.picture(picture_for_paper(content, MARK_PIXELS))
    with Image.open(io.BytesIO(content), formats=["PNG"]) as image:
        drawn = image.convert("RGBA")
    drawn.thumbnail((MARK_PIXELS, MARK_PIXELS), Image.Resampling.LANCZOS)
    sheet = Image.new("RGB", drawn.size, "white")
    sheet.paste(drawn, mask=drawn.getchannel("A"))
    out = io.BytesIO()
    sheet.save(out, "PNG", optimize=True)
    return desk.picture(out.getvalue())
