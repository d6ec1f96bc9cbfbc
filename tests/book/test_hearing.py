"""
What is dictated: kept, mended or dropped, undone, and taught.

What the ear makes of words is held elsewhere (tests/hearing): here `Heard` is made by hand, so that each
check knows what was heard.
"""

from __future__ import annotations

import io

import pytest

from book.cast import BY, ILSE
from pegwood.book import arriving, hearing
from pegwood.book.arriving import CameraDetails
from pegwood.book.files import read
from pegwood.book.hearing import Mended, as_mended, taking, told_of
from pegwood.book.keeping import check
from pegwood.book.keeping.export import job_as_data
from pegwood.book.models import (
    DiaryEntry,
    Finding,
    Job,
    Narration,
    SaidProposal,
    SignAnswer,
    TaughtWord,
    Work,
)
from pegwood.book.refusal import Refused
from pegwood.hearing import Heard, NamedPart, SaidFinding, SaidRemark, SaidWork, Unplaced

BLADES = NamedPart(id="shutter.blades", name="shutter blades", also=("blades",))
SLOW = NamedPart(id="shutter.slow-train", name="slow-speed train", also=("slow train",))
TEXT = (
    "shutter blades have oil on them quite a lot of it\n"
    "slow train might be gummed\n"
    "no fungus on the front cell\n"
    "cleaned the blades\n"
    "these always crack at the corner\n"
    "the doodah is worn"
)


def where(words: str) -> tuple[int, int]:
    begins = TEXT.index(words)
    return begins, begins + len(words)


def said(kind, words: str, **what):
    return kind(words=words, where=where(words), **what)


CELL = NamedPart(id="focus.front-cell", name="front cell")
HEARD = Heard(
    findings=(
        said(
            SaidFinding,
            "shutter blades have oil on them quite a lot of it",
            part=BLADES,
            condition="oily",
            grade=3,
            work=("degrease",),
            at_s=12.0,
        ),
        said(SaidFinding, "slow train might be gummed", part=SLOW, condition="gummed", certainty="possible"),
        said(SaidFinding, "no fungus on the front cell", part=CELL, condition="fungus", denied=True),
    ),
    work=(said(SaidWork, "cleaned the blades", part=BLADES, work="clean", done=True),),
    remarks=(said(SaidRemark, "these always crack at the corner"),),
    unplaced=(said(Unplaced, "the doodah is worn", condition="worn", why="no part named"),),
)


@pytest.fixture
def narration(arrived: Job, monkeypatch: pytest.MonkeyPatch) -> Narration:
    monkeypatch.setattr(taking, "hear_for", lambda *_, **__: HEARD)
    return hearing.take_narration(arrived, text=TEXT, by=BY)


def nth(narration: Narration, order: int) -> SaidProposal:
    return narration.proposals.get(order=order)


def test_what_is_heard_waits_in_the_order_spoken_and_nothing_stands_on_the_card_yet(narration, arrived):
    kinds = list(narration.proposals.values_list("kind", flat=True))
    assert kinds == ["finding", "finding", "finding", "work", "remark", "unplaced"]
    assert not arrived.findings.exists()
    assert not arrived.work.exists()
    first = nth(narration, 1)
    assert narration.text[first.begins : first.ends] == "shutter blades have oil on them quite a lot of it"
    assert arrived.diary.order_by("pk").last().what == "dictated"


def test_the_same_words_sent_twice_are_one_narration(narration, arrived):
    assert hearing.take_narration(arrived, text=TEXT, by=BY).pk == narration.pk
    assert Narration.objects.count() == 1


def test_what_is_kept_becomes_a_finding_with_its_words(narration, arrived):
    hearing.keep(nth(narration, 1), by=BY)
    (found,) = arrived.findings.all()
    assert (found.part, found.condition, found.grade, found.outlook) == ("shutter blades", "oily", 3, "mend")
    assert "Said at 0:00:12: “shutter blades have oil" in found.note
    assert arrived.diary.filter(what="found").count() == 1


def test_a_conjecture_stays_a_conjecture_on_the_card(narration, arrived):
    hearing.keep(nth(narration, 2), by=BY)
    assert arrived.findings.get().condition == "possibly gummed"


def test_what_is_denied_is_written_as_not_there(narration, arrived):
    hearing.keep(nth(narration, 3), by=BY)
    assert arrived.findings.get().condition == "no fungus"


def test_done_work_becomes_work_and_planned_work_a_remark(narration, arrived):
    hearing.keep(nth(narration, 4), by=BY)
    assert arrived.work.get().done == "Cleaned the shutter blades"
    mended = as_mended(told_of(nth(narration, 5)), kind="work", part="shutter blades", work=("clean", "shim"))
    hearing.mend(nth(narration, 5), mended, by=BY)
    assert arrived.work.count() == 1
    assert arrived.diary.order_by("pk").last().text.startswith("To do: clean the shutter blades, shim it.")


def test_knowledge_about_such_cameras_is_a_remark_and_no_finding(narration, arrived):
    hearing.keep(nth(narration, 5), by=BY)
    assert not arrived.findings.exists()
    assert arrived.diary.order_by("pk").last().text.startswith("Of such cameras. Said: “these always crack")


def test_what_could_not_be_placed_is_not_kept_as_it_is(narration):
    with pytest.raises(Refused, match="name the part"):
        hearing.keep(nth(narration, 6), by=BY)
    assert nth(narration, 6).is_open


def test_a_part_named_by_hand_is_taught_and_heard_the_next_time(narration, arrived):
    """The word is in the diary, once, and holds for the family alone."""
    mended = Mended(kind="finding", part="slow train", condition="worn", called="doodah")
    hearing.mend(nth(narration, 6), mended, by=BY)
    assert arrived.findings.get().part == "slow train"
    word = TaughtWord.objects.get()
    assert (word.kind, word.said, word.meant) == ("part", "doodah", SLOW.id)
    assert hearing.taught_for("folding-roll-front-cell").part_names == (("doodah", SLOW.id),)
    assert hearing.taught_for("box").part_names == ()
    assert DiaryEntry.objects.filter(job=None, what="taught a word").count() == 1
    again = hearing.teach("part", "Doodah", SLOW.id, family="folding-roll-front-cell", by=BY)
    assert again.pk == word.pk


def test_a_word_that_sounds_like_the_name_is_taught_as_misheard(narration):
    """The one word that differs, for every family."""
    mended = Mended(kind="finding", part="shutter blades", condition="worn", called="shutter bleeds")
    hearing.mend(nth(narration, 6), mended, by=BY)
    assert hearing.taught_for("box").mishearings == (("bleeds", "blades"),)


def test_the_name_of_one_part_is_not_taught_for_another(narration, arrived):
    mended = Mended(kind="finding", part="slow train", condition="worn", called="shutter plates")
    with pytest.raises(Refused, match="is what the front standard is called"):
        hearing.mend(nth(narration, 6), mended, by=BY)
    assert nth(narration, 6).is_open
    assert not arrived.findings.exists(), "all of it or nothing"


def test_a_dropped_one_is_nothing_and_may_teach_what_was_misheard(narration, arrived):
    hearing.drop(nth(narration, 1), by=BY, reason="said in jest", heard="oil", meant="foil")
    assert not arrived.findings.exists()
    assert nth(narration, 1).state == "dropped"
    assert arrived.diary.filter(what="dropped what was heard").get().text.endswith("said in jest")
    assert hearing.taught_for("box").mishearings == (("oil", "foil"),)


def test_all_plain_ones_are_kept_at_once_and_taken_back_at_once(narration, arrived):
    assert hearing.keep_plain(narration, by=BY) == 3  # oily blades, no fungus, cleaned: not the conjecture
    assert {one.condition for one in arrived.findings.all()} == {"oily", "no fungus"}
    assert arrived.work.count() == 1
    assert hearing.undo(narration, by=BY) == 3
    assert not arrived.findings.exists()
    assert not arrived.work.exists()
    assert narration.proposals.filter(state="open").count() == 6
    assert Finding.everything.filter(job=arrived, struck_out=True).count() == 2, "never deleted"
    assert Work.everything.filter(job=arrived, struck_out=True).count() == 1


def test_undo_takes_back_the_last_decision_and_then_the_one_before(narration, arrived):
    hearing.keep(nth(narration, 1), by=BY)
    mended = Mended(kind="finding", part="slow train", condition="worn", called="doodah")
    hearing.mend(nth(narration, 6), mended, by=BY)
    hearing.undo(narration, by=BY)
    assert nth(narration, 6).is_open
    assert not TaughtWord.objects.exists(), "what it taught is untaught with it"
    assert arrived.findings.count() == 1
    hearing.undo(narration, by=BY)
    assert not arrived.findings.exists()
    with pytest.raises(Refused, match="Nothing was kept"):
        hearing.undo(narration, by=BY)


def test_a_settled_one_is_not_settled_again(narration, arrived):
    hearing.keep(nth(narration, 1), by=BY)
    for act in (hearing.keep, hearing.drop):
        with pytest.raises(Refused, match="kept already"):
            act(nth(narration, 1), by=BY)
    assert arrived.findings.count() == 1


def test_a_sign_is_offered_and_answered_only_where_the_person_says_so(narration, arrived):
    """
    The sign's own words in causes/knowledge say that oil on the blades answers it (`answered`), the same that
    reads findings on the card.
    """
    (offered,) = hearing.signs_offered(arrived, [told_of(nth(narration, 1))])
    assert [(one.sign, set(one.answers)) for one in offered] == [("shutter.blades-look", {"film", "drops"})]
    hearing.keep(nth(narration, 1), by=BY, signs={"shutter.blades-look": "film"})
    answer = SignAnswer.objects.get(job=arrived)
    assert (answer.sign, answer.answer) == ("shutter.blades-look", "film")
    assert hearing.signs_offered(arrived, [told_of(nth(narration, 1))]) == [()], "answered by now"
    hearing.undo(narration, by=BY)
    assert not SignAnswer.objects.filter(job=arrived).exists()


def test_no_sign_is_answered_silently(narration, arrived):
    hearing.keep(nth(narration, 1), by=BY)
    assert not SignAnswer.objects.exists()


def test_a_conjecture_answers_no_sign(narration, arrived):
    assert hearing.signs_offered(arrived, [told_of(nth(narration, 2))]) == [()]


def test_a_sign_that_was_not_offered_is_refused_and_nothing_is_kept(narration, arrived):
    with pytest.raises(Refused, match="no sign that this answers"):
        hearing.keep(nth(narration, 1), by=BY, signs={"shutter.blades-look": "clean"})
    assert not arrived.findings.exists()


def test_a_narration_sent_to_the_wrong_job_is_set_aside_while_nothing_of_it_stands(narration, arrived):
    hearing.keep(nth(narration, 1), by=BY)
    with pytest.raises(Refused, match="Undo that first"):
        hearing.set_aside(narration, "wrong camera", by=BY)
    hearing.undo(narration, by=BY)
    hearing.set_aside(narration, "wrong camera", by=BY)
    assert not arrived.narrations.exists()
    with pytest.raises(Refused, match="struck out"):
        hearing.keep(SaidProposal.objects.get(narration=narration, order=1), by=BY)


@pytest.mark.parametrize("content", [b"", b"   \n ", b"\0\0\0\1", b"\xff\xfe"])
def test_what_is_no_narration_is_refused_in_one_line(arrived, content):
    with pytest.raises(Refused) as refused:
        hearing.take_narration(arrived, file=io.BytesIO(content), name="a.txt", how="file", by=BY)
    assert "\n" not in str(refused.value)
    assert not Narration.objects.exists()


def test_a_file_is_kept_as_it_came(arrived):
    content = "\ufeffthe shutter blades are oily\r\n".encode()
    kept = hearing.take_narration(arrived, file=io.BytesIO(content), name="../../b.txt", how="file", by=BY)
    assert kept.file.size == len(content)
    assert kept.file.name == kept.name == "b.txt"
    assert kept.text == "the shutter blades are oily"


def test_a_word_taught_otherwise_takes_the_place_of_the_old_one_and_can_be_untaught(db):
    hearing.teach("condition", "gone to toffee", "perished", by=BY)
    word = hearing.teach("condition", "gone to toffee", "gummed", by=BY)
    assert hearing.taught_for("box").conditions == (("gone to toffee", "gummed"),)
    hearing.unteach(word, by=BY)
    assert hearing.taught_for("box").conditions == ()
    assert TaughtWord.everything.count() == 2


@pytest.mark.parametrize("said", ["", "ab", "123", "x" * 200])
def test_what_could_stand_for_anything_is_not_taught(db, said):
    with pytest.raises(Refused):
        hearing.teach("condition", said, "gummed", by=BY)


def test_a_condition_that_cannot_be_heard_is_not_taught(db):
    """It would stop every hearing after it."""
    with pytest.raises(Refused, match="no condition that can be heard"):
        hearing.teach("condition", "gone to toffee", "toffeed", by=BY)


def test_what_was_taught_of_a_part_that_is_no_more_is_left_out(db):
    hearing.teach("part", "the snail", "shutter.no-such-part", family="box", by=BY)
    assert hearing.taught_for("box").part_names == ()


def test_what_was_missed_is_written_in_and_taught(narration, arrived):
    """The tea's line says nothing the ear knows; a person does."""
    mended = Mended(kind="finding", part="slow train", condition="worn", called="the doodah")
    added = hearing.add_missed(narration, "The DOODAH is worn", mended, by=BY)
    assert narration.text[added.begins : added.ends] == "the doodah is worn"
    assert arrived.findings.get().part == "slow train"
    assert TaughtWord.objects.get().meant == SLOW.id
    hearing.undo(narration, by=BY)
    assert not arrived.findings.exists()
    assert not TaughtWord.objects.exists()


@pytest.mark.parametrize("words", ["", "the sprocket is worn"])
def test_words_that_nobody_said_were_not_missed(narration, arrived, words):
    with pytest.raises(Refused):
        hearing.add_missed(narration, words, Mended(kind="finding", part="x", condition="worn"), by=BY)
    assert narration.proposals.count() == 6


# --- with the ear itself ---------------------------------------------------------------------------------


def heard_in(job: Job, text: str) -> list[tuple[str, str]]:
    narration = hearing.take_narration(job, text=text, by=BY)
    return [(told.part, told.condition_said) for told in map(told_of, narration.proposals.all())]


def test_another_name_is_heard_once_it_was_taught(arrived):
    first = hearing.take_narration(arrived, text="the doodah is seized", by=BY)
    assert not any(told_of(one).part for one in first.proposals.all())
    mended = Mended(kind="finding", part="slow train", condition="seized", called="the doodah")
    hearing.add_missed(first, "the doodah is seized", mended, by=BY)
    assert ("slow train", "gummed") in heard_in(arrived, "and the doodah is gummed")


def test_a_word_misheard_is_heard_rightly_once_it_was_taught(arrived):
    said = "the winding nob is bent"
    hearing.teach("misheard", "nob", "knob", by=BY)
    assert ("winding knob", "bent") in heard_in(arrived, said)


def test_a_word_for_a_condition_is_heard_once_it_was_taught(arrived):
    assert heard_in(arrived, "the winding knob is wonkified") == []
    hearing.teach("condition", "wonkified", "bent", by=BY)
    assert ("winding knob", "bent") in heard_in(arrived, "the winding knob is quite wonkified")


def test_work_told_with_a_finding_stands_once(arrived):
    narration = hearing.take_narration(
        arrived, text="the shutter blades are oily, degrease the blades", by=BY
    )
    (one,) = narration.proposals.all()
    assert (told_of(one).condition, told_of(one).work) == ("oily", ("degrease",))


def test_a_finding_said_twice_in_a_breath_stands_once(arrived):
    text = "the bellows are torn, badly torn the bellows"
    narration = hearing.take_narration(arrived, text=text, by=BY)
    findings = [told_of(one) for one in narration.proposals.filter(kind="finding")]
    assert [(one.part, one.condition) for one in findings] == [("bellows", "torn")]


def test_of_a_kind_nobody_described_the_parts_offered_for_a_finding_are_known(db):
    job = arriving.take_in(ILSE, CameraDetails(maker="Vorrin"), by=BY)
    assert ("shutter", "stiff") in heard_in(job, "the shutter is stiff")
    hearing.keep(SaidProposal.objects.get(), by=BY)
    assert job.findings.get().condition == "stiff"


def test_what_was_measured_of_another_condition_is_not_told_of_the_mended_one(arrived):
    narration = hearing.take_narration(arrived, text="the slow train is a tenth low", by=BY)
    proposal = narration.proposals.first()
    assert told_of(proposal).measured == "a tenth low"
    hearing.mend(proposal, Mended(kind="finding", part="slow train", condition="rust"), by=BY)
    assert arrived.findings.get().condition == "rust"


# --- kept for good ---------------------------------------------------------------------------------------


def test_a_backup_s_plain_data_holds_the_words_and_what_was_made_of_them(narration, arrived):
    hearing.keep(nth(narration, 1), by=BY)
    (kept,) = job_as_data(arrived)["narrations"]
    assert kept["text"] == TEXT
    assert [one["state"] for one in kept["proposals"]] == ["kept", *["open"] * 5]
    assert kept["proposals"][0]["data"]["part_id"] == BLADES.id


def test_tidying_throws_no_narration_away(arrived, monkeypatch):
    file = io.BytesIO(b"the shutter blades are oily")
    told = hearing.take_narration(arrived, file=file, name="b.txt", how="file", by=BY)
    monkeypatch.setattr(check, "STRAY_AFTER_S", -10)  # whatever nothing mentions is old enough
    check.strays(tidy=True)
    assert read(Narration.objects.get(pk=told.pk).file) == b"the shutter blades are oily"
