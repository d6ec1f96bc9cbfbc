"""What closed jobs teach, what is left out of it, and how good the chances told were."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from book.cast import BY, FOLDER, ILSE, MONDAY
from pegwood.anatomy.construction import constructions
from pegwood.book import agreeing, arriving, leaving, looking, moving
from pegwood.book.looking import FindingDetails
from pegwood.book.models import Job, TakenOff
from pegwood.book.refusal import Refused
from pegwood.book.weighing import learnt
from pegwood.book.weighing.about import causes_for
from pegwood.book.weighing.answering import answer_sign
from pegwood.book.weighing.lesson_jobs import lesson_jobs
from pegwood.book.weighing.mending import log_mend
from pegwood.book.weighing.ruling import rule
from pegwood.book.weighing.scored import answered, families_scored, scored
from pegwood.book.weighing.telling import tell
from pegwood.causes.learning import read_shared
from pegwood.pricing.money import Money

pytestmark = pytest.mark.django_db
FAMILY = "folding-roll-front-cell"
TODAY = date(2031, 6, 1)


@pytest.fixture(autouse=True)
def nothing_is_kept(monkeypatch):
    """Rows of another test's book have the same keys."""
    for name, empty in (("_weighed_jobs", {}), ("_learnt", {}), ("_lessons", []), ("_shared", [])):
        monkeypatch.setattr(learnt, name, empty)


def begun(n: int = 0) -> Job:
    """A camera on the bench."""
    job = arriving.take_in(ILSE, FOLDER, by=BY, at=MONDAY + timedelta(days=n))
    looking.note_finding(job, FindingDetails(part="case", condition="worn"), by=BY)
    moving.look_over(job, by=BY)
    agreeing.tell_price(job, [agreeing.Line(what="clean", amount=Money(9000, "EUR"))], by=BY)
    agreeing.record_yes(job, how="by telephone", up_to=Money(9000, "EUR"), by=BY)
    return moving.put_on_bench(job, by=BY)


def home(job: Job, months: int, at=MONDAY) -> Job:
    moving.prove(job, by=BY)
    moving.call_ready(job, by=BY)
    agreeing.write_bill(job, [agreeing.Line(what="clean", amount=Money(9000, "EUR"))], by=BY)
    return leaving.hand_back(job, by=BY, guarantee_months=months, at=at)


@pytest.fixture
def fault():
    causes = learnt.as_filed(FAMILY)
    return next(one for one in causes.faults.values() if one.mends)


def learned():
    return learnt.learnt_of(constructions()[FAMILY], TODAY)


def prior(fault):
    return learned().causes.faults[fault.id].prior


def test_a_closed_job_teaches_and_its_lesson_can_be_left_out_and_taken_in_again(fault):
    job = begun()
    rule(job, fault.id, True, by=BY)
    assert prior(fault) == fault.prior  # nothing before it closes
    leaving.send_back_unmended(job, "the owner wants it so", by=BY)
    after = prior(fault)
    # (10 p + 1) / 11: the mean of a Beta distribution that counts as ten jobs, after one more
    assert after == pytest.approx((10 * fault.prior + 1) / 11, rel=1e-3)
    (change,) = [one for one in learned().changes if one.what == "prior" and one.of == (fault.id,)]
    assert change.rests_on == (str(job.number),)
    learnt.leave_out(job, "it was another camera", by=BY)
    assert prior(fault) == fault.prior
    assert job.diary.get(what="left its lesson out").text == "it was another camera"
    learnt.take_in_again(job, by=BY)
    assert prior(fault) == after


def test_a_job_of_which_nothing_was_weighed_has_no_lesson(fault):
    job = begun()
    leaving.send_back_unmended(job, "the owner wants it so", by=BY)
    assert not learnt.lessons(TODAY)
    with pytest.raises(Refused, match="teaches nothing"):
        learnt.leave_out(job, by=BY)


def test_a_mend_has_held_when_its_guarantee_is_over_and_not_when_the_camera_came_back(fault):
    mend = fault.mends[0].name
    held, inside, back, bare = (begun(n) for n in range(4))
    for job in (held, inside, back, bare):
        log_mend(job, fault.id, mend, minutes=30, by=BY)
    home(held, 1)
    home(inside, 6)
    home(back, 6)
    home(bare, 0)
    again = arriving.take_in(ILSE, FOLDER, by=BY, comeback_of=back, at=MONDAY + timedelta(days=30))
    rule(again, fault.id, True, by=BY)
    leaving.send_back_unmended(again, "the owner wants it so", by=BY)
    tried = {one.key: one.mends[0] for one in learnt.lessons(TODAY) if one.mends}
    assert tried[str(held.number)].held is True
    assert tried[str(inside.number)].held is None
    assert tried[str(inside.number)].through == pytest.approx(90 / 184)  # 3 March to 1 June of 3 September
    assert (tried[str(bare.number)].held, tried[str(bare.number)].through) == (None, 0)
    (success,) = [one for one in learned().changes if one.what == "success" and one.of == (fault.id, mend)]
    assert success.counts == (1, 1)  # one came back, one held to the end


def test_a_mend_stops_gaining_the_day_its_camera_comes_back_even_while_nobody_knows_why(fault):
    back = begun()
    log_mend(back, fault.id, fault.mends[0].name, by=BY)
    home(back, 1)

    def tried(today):
        (one,) = [one for one in learnt.lessons_kept(today) if one.key == str(back.number)]
        return one.mends[0]

    assert tried(TODAY).held is True
    again = arriving.take_in(ILSE, FOLDER, by=BY, comeback_of=back, at=MONDAY + timedelta(days=10))
    for today in (TODAY, TODAY + timedelta(days=400)):  # on the bench: neither held nor failed
        assert (tried(today).held, tried(today).through) == (None, pytest.approx(10 / 31))
    rule(again, fault.id, True, by=BY)
    leaving.send_back_unmended(again, "the owner wants it so", by=BY)
    learnt.leave_out(again, by=BY)
    assert tried(TODAY).held is None
    learnt.take_in_again(again, by=BY)
    (success,) = [one for one in learned().changes if one.what == "success"]
    assert success.counts == (1, 0)


def test_what_was_seen_after_a_mend_teaches_nothing_of_the_fault(fault):
    job = begun()
    causes = causes_for(job)
    before, after = [one.id for one in causes.signs.values() if len(one.answers) == 2][:2]
    answer_sign(job, before, causes.signs[before].answers[1], by=BY, at=MONDAY)
    log_mend(job, fault.id, fault.mends[0].name, by=BY, at=MONDAY + timedelta(hours=1))
    answer_sign(job, after, causes.signs[after].answers[0], by=BY, at=MONDAY + timedelta(hours=2))
    leaving.send_back_unmended(job, "the owner wants it so", by=BY)
    (lesson,) = learnt.lessons(TODAY)
    assert set(lesson.answers) == {before}


def test_a_fault_of_a_part_that_was_in_the_hand_and_of_which_nobody_said_anything_was_not_there(fault):
    construction, causes = constructions()[FAMILY], learnt.as_filed(FAMILY)
    others = {one.part: one for one in causes.faults.values() if one.part != fault.part and one.prior < 0.5}
    held, missing, inside = list(others.values())[:3]
    gone, back = begun(), begun(1)
    for job in (gone, back):
        rule(job, fault.id, True, by=BY)
        for one, met in ((held, "there"), (missing, "missing"), (fault, "there")):
            name = construction.parts[one.part].name
            row = {
                "part": one.part,
                "name": name,
                "met": met,
                "back_at": MONDAY,
                "explained": "lost long ago",
            }
            TakenOff.objects.create(job=job, number=job.taken_off.count() + 1, at=MONDAY, by=BY, **row)
    home(gone, 0)
    leaving.send_back_unmended(back, "the owner wants it so", by=BY)
    taught = {one.key: one.ruled for one in learnt.lessons(TODAY)}
    ruled = taught[str(gone.number)]
    assert ruled[fault.id] is True
    assert ruled[held.id] is False
    assert missing.id not in ruled
    assert inside.id not in ruled
    assert taught[str(back.number)] == {fault.id: True}  # nobody need have looked further


def test_what_is_handed_on_holds_nothing_of_an_owner_and_another_workshop_reads_it(fault, settings):
    job = begun()
    tell(job, ["stored-damp"], by=BY)
    rule(job, fault.id, True, by=BY)
    leaving.send_back_unmended(job, "the owner wants it so", by=BY)
    text = learnt.handed_on(TODAY)
    for word in ("Ilse", "Marrick", "Vorrin", "20417", str(job.number) + ":", "2031"):
        assert word not in text
    shared = read_shared(text, "theirs.toml", {FAMILY: learnt.as_filed(FAMILY)}, 0.5)
    assert shared.uses
    learnt.leave_out(job, by=BY)
    folder = settings.WORKSHOP.root / learnt.HANDED_ON
    folder.mkdir()
    (folder / "theirs.toml").write_text(text, "utf-8")
    (folder / "broken.toml").write_text("use = 3", "utf-8")
    assert prior(fault) > fault.prior  # what they learned counts here, too
    assert "broken.toml, line 1" in learnt.shared_files().slips[0]


def test_a_closed_job_that_turns_out_to_be_another_family_teaches_that_one(fault):
    job = begun()
    rule(job, fault.id, True, by=BY)
    leaving.send_back_unmended(job, "the owner wants it so", by=BY)
    assert prior(fault) > fault.prior
    camera = job.camera
    camera.family = "box"
    camera.save()
    assert [one.family for one in learnt.lessons_kept(TODAY)] == ["box"]
    assert not [one for one in learned().changes if one.rests_on and one.of == (fault.id,) and one.counts[1]]


def test_what_another_familys_file_and_a_shared_file_say_is_read_again_when_families_change(
    fault, settings, monkeypatch
):
    job = begun()
    rule(job, fault.id, True, by=BY)
    leaving.send_back_unmended(job, "the owner wants it so", by=BY)
    folder = settings.WORKSHOP.root / learnt.HANDED_ON
    folder.mkdir()
    (folder / "theirs.toml").write_text(learnt.handed_on(TODAY), "utf-8")
    every = learnt.known()
    box = constructions()["box"]

    def families(*ids):
        few = {one: every.constructions[one] for one in ids}
        monkeypatch.setattr(learnt, "known", lambda: replace(every, constructions=few))

    families("box")
    assert not any(use.fault for of in learnt.shared_files().shared for use in of.uses)
    assert not learnt.learnt_of(box, TODAY).changes
    families("box", FAMILY)
    assert any(use.fault for of in learnt.shared_files().shared for use in of.uses)
    assert [one.family for one in learnt.lessons_kept(TODAY)] == [FAMILY]


def test_chances_told_are_held_against_what_was_found(fault):
    assert scored() is None
    job = begun()
    causes = causes_for(job)
    others = [one.id for one in causes.faults.values() if one.id != fault.id][:3]
    rows = [rule(job, fault.id, True, by=BY), *(rule(job, one, False, by=BY) for one in others)]
    found = scored()
    # Brier 1950: the mean squared difference between what was told and what came
    brier = sum((row.chance_before - row.there) ** 2 for row in rows) / len(rows)
    assert found.scores.n == 4
    assert found.scores.brier == pytest.approx(brier)
    assert scored("another-family") is None
    assert families_scored() == {FAMILY: 4}


def test_a_sort_of_answer_is_held_against_no_plain_answers_chances():
    job = begun()
    asked, other = [one for one in causes_for(job).signs.values() if len(one.answers) == 2][:2]
    answer_sign(job, asked.id, asked.answers[1], by=BY)
    answer_sign(job, other.id, f"sort of {other.answers[1]}", by=BY)
    assert [one.sign for one in answered()] == [asked.id]


def test_the_jobs_that_teach_are_told_by_their_family_with_why_one_is_left_out(fault):
    job, other = begun(), begun(1)
    rule(job, fault.id, True, by=BY)
    log_mend(job, fault.id, fault.mends[0].name, minutes=20, by=BY)
    leaving.send_back_unmended(job, "the owner wants it so", by=BY)
    leaving.send_back_unmended(other, "the owner wants it so", by=BY)  # nothing of it was weighed
    learnt.leave_out(job, "another camera", by=BY)
    ((family, (one,)),) = lesson_jobs().items()
    assert (family, one.job, one.answers, one.rulings, one.mends) == (FAMILY, job, 0, 1, 1)
    assert one.left_out.reason == "another camera"
