"""Minutes learned from the jobs in the book, and when they are worked out anew."""

from __future__ import annotations

from dataclasses import replace
from itertools import count

import pytest

from book.cast import BY, ILSE
from pegwood.anatomy.construction import constructions
from pegwood.book import arriving
from pegwood.book.arriving import CameraDetails
from pegwood.book.families import construction_learned, construction_of
from pegwood.book.models import Job
from pegwood.book.stripping.learned import learned_family
from pegwood.book.stripping.off import OffDetails, amend_step, log_off
from pegwood.book.stripping.undo import undo

pytestmark = pytest.mark.django_db
BOX = constructions()["box"]
#: A part with one way, and one that no job times.
PART = next(part for part in BOX.parts.values() if len(part.ways) == 1)
OTHER = [part for part in BOX.parts.values() if len(part.ways) == 1][1]
serial = count(1)


def box_job() -> Job:
    return arriving.take_in(
        ILSE, CameraDetails(family="box", maker="Vorrin", serial=f"{next(serial)}"), by=BY
    )


def details(minutes: float | None, part=PART, **more) -> OffDetails:
    return OffDetails(name=part.name, part=part.id, minutes=minutes, **more)


def likely(part=PART) -> float:
    return construction_learned("box").parts[part.id].ways[0].minutes.likely


def test_without_a_timed_job_the_file_holds():
    log_off(box_job(), details(None), by=BY)
    assert construction_learned("box") is construction_of("box")
    assert construction_learned("no-such-family") is None


def test_several_jobs_draw_a_step_from_the_file_to_what_they_took():
    file = PART.ways[0].minutes.likely
    seen = [file]
    for _ in range(6):
        log_off(box_job(), details(2 * file), by=BY)
        seen.append(likely())
    assert seen == sorted(seen)
    assert 1.0 * file < seen[1] < 1.5 * file  # one job alone says little
    assert 1.6 * file < seen[-1] < 2.0 * file
    way = construction_learned("box").parts[PART.id].ways[0]
    assert way.file_minutes == PART.ways[0].minutes
    assert way.minutes_from.startswith(f"{way.minutes.likely:.2g} min here (file: {file:g}), timed 6 times")
    never = construction_learned("box").parts[OTHER.id].ways[0]
    assert "never timed here" in never.minutes_from
    assert never.minutes.likely > OTHER.ways[0].minutes.likely  # the bench is slower than the file
    told = learned_family(construction_of("box")).minutes.says
    assert told.startswith("Minutes learned from 6 jobs at this bench, on the whole 1")


def test_jobs_of_another_family_teach_nothing():
    other = arriving.take_in(ILSE, CameraDetails(maker="Vorrin", serial="x"), by=BY)
    log_off(other, details(3 * PART.ways[0].minutes.likely), by=BY)
    assert construction_learned("box") is construction_of("box")


def test_the_same_object_comes_back_until_a_timed_step_changes(django_assert_num_queries):
    job = box_job()
    step = log_off(job, details(4), by=BY)
    first = construction_learned("box")
    log_off(job, details(None, part=OTHER), by=BY)  # nobody timed it
    with django_assert_num_queries(1):
        assert construction_learned("box") is first
    amend_step(step, details(6), by=BY)
    second = construction_learned("box")
    assert second is not first
    # another part was meant: neither the count of times nor their sum changes
    elsewhere = replace(details(6), name="elsewhere", part="")
    amend_step(step, elsewhere, by=BY)
    assert construction_learned("box") is construction_of("box")
    amend_step(step, details(6), by=BY)
    assert likely() == pytest.approx(second.parts[PART.id].ways[0].minutes.likely)
    undo(job, by=BY)
    undo(job, by=BY)
    assert construction_learned("box") is construction_of("box")
