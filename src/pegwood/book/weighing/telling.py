"""The story, as far as it bears on what may be wrong."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from pegwood.book import diary
from pegwood.book.models import Job, Story
from pegwood.book.moving import locked_open
from pegwood.book.refusal import Refused
from pegwood.causes.story import STORY
from pegwood.causes.story import denied as not_so_of

STORY_FIELDS = ("told", "denied")


@transaction.atomic
def tell(
    job: Job, told: Iterable[str], denied: Iterable[str] = (), *, by: str, at: datetime | None = None
) -> Story:
    """
    Write down what the owner told, whole: what is not in it any more was taken back.

    Parameters
    ----------
    told, denied : iterable of str
        By the keys of the story's taps: what is so, and what is not so. The rest nobody knows.

    Raises
    ------
    Refused
        If something is nothing of a story, or is told and denied; if the job is over.
    """
    job = locked_open(job)
    so, not_so = set(told), set(denied)
    if strange := (so | not_so) - STORY.keys():
        raise Refused(f"{min(strange)!r} is nothing of a story. They are: {', '.join(STORY)}.")
    if both := so & not_so:
        raise Refused(f"'{STORY[min(both)]}' cannot be so and not so.")
    story, _ = Story.objects.get_or_create(job=job)
    before = diary.values(story, STORY_FIELDS)
    story.told = [key for key in STORY if key in so]
    story.denied = [key for key in STORY if key in not_so]
    old, new = diary.changes(before, diary.values(story, STORY_FIELDS))
    if new:
        story.save()
        not_so_in_words = [not_so_of(key) for key in story.denied]
        said = "; ".join([*(STORY[key] for key in story.told), *not_so_in_words])
        diary.write(job, by=by, at=at or timezone.now(), what="heard the story", text=said, old=old, new=new)
    return story


@transaction.atomic
def tell_one(job: Job, key: str, so: bool | None, *, by: str, at: datetime | None = None) -> Story:
    """
    Write down one thing of the story: that it is so, that it is not, or, with None, that nobody knows.

    Raises
    ------
    Refused
        As `tell`.
    """
    locked_open(job)
    before = Story.objects.filter(job=job).first()
    told, denied = (
        (set(before.told) & STORY.keys(), set(before.denied) & STORY.keys()) if before else (set(), set())
    )
    told.discard(key)
    denied.discard(key)
    if so is not None:
        (told if so else denied).add(key)
    elif key not in STORY:
        told.add(key)  # `tell` says what there is
    return tell(job, told, denied, by=by, at=at)
