"""Forms begun and not yet sent."""

import io
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from PIL import Image

from book.cast import BY, FOLDER, ILSE
from pegwood.book import arriving, drafts
from pegwood.book.models import Draft, StoredFile
from pegwood.book.refusal import Refused

pytestmark = pytest.mark.django_db
TICKET = UUID("11111111-2222-4333-8444-555555555555")
NOW = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)


def photo(shade: int = 0) -> io.BytesIO:
    out = io.BytesIO()
    Image.new("L", (32, 24), shade).save(out, "PNG")
    out.seek(0)
    return out


def test_what_was_typed_last_is_kept(db):
    drafts.save_draft(TICKET, "take-in", {"name": "Il"})
    drafts.save_draft(TICKET, "take-in", {"name": "Ilse"})
    assert drafts.find_draft(TICKET).fields == {"name": "Ilse"}


def test_photographs_stay_when_more_is_typed(db):
    drafts.add_draft_photo(TICKET, "take-in", photo(), "a.png")
    drafts.save_draft(TICKET, "take-in", {"name": "Ilse"})
    assert len(drafts.find_draft(TICKET).photos) == 1


def test_the_same_photograph_twice_is_one(db):
    drafts.add_draft_photo(TICKET, "take-in", photo(), "a.png")
    drafts.add_draft_photo(TICKET, "take-in", photo(), "a.png")
    assert len(drafts.find_draft(TICKET).photos) == 1


def test_a_form_has_its_fill_of_photographs(db):
    for shade in range(drafts.MOST_PHOTOS):
        drafts.add_draft_photo(TICKET, "take-in", photo(shade), "a.png")
    with pytest.raises(Refused, match="enough here"):
        drafts.add_draft_photo(TICKET, "take-in", photo(200), "a.png")


def test_taking_in_brings_the_photographs_and_drops_the_draft(db):
    file = drafts.add_draft_photo(TICKET, "take-in", photo(), "a.png")
    job = arriving.take_in(ILSE, FOLDER, by=BY, photos=[file], ticket=TICKET)
    assert job.photos.get().file == StoredFile.objects.get()
    assert not Draft.objects.exists()


def test_old_drafts_go_when_a_new_one_is_kept(db):
    drafts.save_draft(TICKET, "take-in", {"name": "Ilse"}, at=NOW)
    other = UUID(int=7)
    drafts.save_draft(other, "take-in", {"name": "Benno"}, at=NOW + drafts.KEPT_FOR + timedelta(days=1))
    assert [draft.ticket for draft in Draft.objects.all()] == [other]
