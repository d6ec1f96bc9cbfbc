"""What is wrong with a camera, as pages without a script and as answers to one."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from django.test import Client
from django.utils import timezone
from django.utils.html import escape

from pegwood.anatomy.construction import constructions
from pegwood.anatomy.planning.plan import plan
from pegwood.book.models import FaultRuling, Job, MendDone, SignAnswer, Story, StripDown, Work
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.answering import answer_sign
from pegwood.book.weighing.case import case_of
from pegwood.book.weighing.mending import log_mend
from pegwood.book.weighing.telling import tell
from pegwood.causes.planning import FOR_ESTIMATE, next_actions
from pegwood.causes.story import STORY
from pegwood.causes.weighing import weigh
from pegwood.web.causes import stage, words
from pegwood.web.causes.advised import advised
from pegwood.web.causes.shown import about
from pegwood.web.causes.stage import stage_of

pytestmark = pytest.mark.django_db
LIVE = {"HX-Request": "true"}
BY = "Tove Halm"
BLADES = "shutter.blades-look"
OIL = "shutter.oiled-blades"


def shown(client: Client, job: Job, query: str = "?now=yes") -> str:
    return client.get(f"/job/{job.number}/causes/{query}").content.decode()


def press(client: Client, job: Job, what: str, headers=None, **sent: str):
    return client.post(f"/job/{job.number}/causes/{what}/", sent, headers=headers)


def asked(page: str) -> str:
    found = re.search(r'type="hidden" name="sign" value="([^"]*)"', page)
    return found[1] if found else ""


def test_the_owners_words_and_a_tap_for_each_thing_of_the_story_come_first(client, arrived):
    page = shown(client, arrived)
    assert page.index("What does the owner tell?") < page.index('id="look"')
    assert arrived.story in page
    for key, says in STORY.items():
        assert says[1:] in page
        assert f'value="{key}=so"' in page


def test_one_tap_says_that_it_is_so_another_that_it_is_not_and_a_third_takes_it_back(client, arrived):
    press(client, arrived, "story", tap="dropped=so")
    press(client, arrived, "story", tap="sand=not so")
    assert (Story.objects.get().told, Story.objects.get().denied) == (["dropped"], ["sand"])
    assert 'value="dropped="' in shown(client, arrived), "pressed once more it is taken back"
    press(client, arrived, "story", tap="dropped=")
    assert Story.objects.get().told == []
    assert "no sand or grit" in shown(client, arrived)


@pytest.mark.parametrize("tap", ["cursed=so", "sand=perhaps", "", "=so", "sand"])
def test_a_tap_that_is_none_is_refused_or_changes_nothing(client, arrived, tap):
    press(client, arrived, "story", tap=tap)
    assert not Story.objects.exclude(told=[], denied=[]).exists()


def test_the_first_opening_of_a_page_leaves_what_takes_long_to_a_second_request(client, arrived):
    tell(arrived, ["used-hard", "sand"], by=BY)  # nobody asked for this case before
    page = shown(client, arrived, "")
    assert 'hx-trigger="load"' in page
    assert "?now=yes" in page, "and a browser without a script has a link"
    live = client.get(f"/job/{arrived.number}/causes/", headers=LIVE).content.decode()
    assert "<html" not in live
    assert asked(live) in the_causes(arrived).signs
    assert asked(shown(client, arrived, "")) == asked(live), "then it is at hand"


def test_what_comes_next_is_worked_out_anew_when_what_is_known_of_the_family_changes(arrived):
    before = stage_of(arrived)
    look = advised(before).first.proposal.id
    without = {one: sign for one, sign in before.causes.signs.items() if one != look}
    now = replace(before, causes=replace(before.causes, signs=without))
    others = advised(now)
    assert others.first
    assert look not in {one.proposal.id for one in (others.first, *others.others)}


def test_an_answer_brings_the_next_look_and_moves_the_bars(client, arrived):
    page = shown(client, arrived, f"?look={BLADES}")
    assert asked(page) == BLADES
    before = weigh(the_causes(arrived), case_of(arrived, the_causes(arrived))).chances[OIL]
    live = press(client, arrived, "answer", LIVE, sign=BLADES, answer="drops").content.decode()
    assert "<html" not in live
    assert asked(live) != BLADES
    assert "Torch into the lens at the closed blades: drops." in live, "what was written down is said"
    causes = the_causes(arrived)
    now = weigh(causes, case_of(arrived, causes)).chances[OIL]
    assert now > before
    assert words.chance(now) in live


@pytest.mark.parametrize(
    ("answer", "likelihood"), [("film", (0, 1, 0)), ("sort of film", None), ("don't know", None)]
)
def test_every_way_to_answer_is_on_the_page_and_is_written_down(client, arrived, answer, likelihood):
    page = shown(client, arrived, f"?look={BLADES}")
    assert f'value="{escape(answer)}"' in page
    assert press(client, arrived, "answer", sign=BLADES, answer=answer).status_code == 302
    assert SignAnswer.objects.get().answer == answer
    case = case_of(arrived, the_causes(arrived))
    if likelihood:
        assert case.answers[BLADES] == likelihood
    if answer == "don't know":
        assert BLADES in case.unanswered
        assert asked(shown(client, arrived)) != BLADES


def test_an_answer_is_changed_and_taken_back(client, arrived):
    press(client, arrived, "answer", sign=BLADES, answer="drops")
    assert f"?look={BLADES}" in shown(client, arrived)
    press(client, arrived, "answer", sign=BLADES, answer="clean")
    assert [row.answer for row in SignAnswer.objects.all()] == ["clean"]
    press(client, arrived, "take-back", sign=BLADES)
    assert not SignAnswer.objects.exists()
    assert "taken back already" in press(client, arrived, "take-back", sign=BLADES).content.decode()


def test_an_answer_that_is_none_leaves_the_look_where_it_was_and_says_why(client, arrived):
    answer = press(client, arrived, "answer", sign=BLADES, answer="purple")
    assert answer.status_code == 422
    assert asked(answer.content.decode()) == BLADES
    assert "no answer to" in answer.content.decode()


def test_why_tells_what_was_told_and_seen_and_what_it_would_be_without(client, arrived):
    tell(arrived, ["earlier-repair"], by=BY)
    answer_sign(arrived, BLADES, "drops", by=BY)
    page = client.get(f"/job/{arrived.number}/causes/fault/{OIL}/").content.decode()
    assert "<b>Told:</b> somebody was in there before" in page
    assert "<b>Seen:</b> Torch into the lens at the closed blades: drops" in page
    assert "without it" in page
    part = client.get(f"/job/{arrived.number}/causes/fault/{OIL}/", headers=LIVE).content.decode()
    assert "<html" not in part
    assert "<b>Seen:</b>" in part


def test_every_caution_of_every_mend_stands_beside_it(client, arrived):
    known = the_causes(arrived)
    several = [one for one in known.faults.values() if sum(len(mend.cautions) for mend in one.mends) > 1]
    assert several
    for fault in several[:5]:
        page = client.get(f"/job/{arrived.number}/causes/fault/{fault.id}/").content.decode()
        for mend in fault.mends:
            here = page.index(escape(mend.name[:1].upper() + mend.name[1:]))
            after = page[here : page.index('class="mend-log"', here)]
            assert all(escape(text) in after for text in mend.cautions)
            assert f"{mend.minutes.likely:g} min" in after


def test_a_fault_is_found_ruled_out_and_undecided_again(client, arrived):
    to = f"fault/{OIL}/decide"
    press(client, arrived, to, it="there")
    assert FaultRuling.objects.get().there
    assert "● found" in shown(client, arrived)
    press(client, arrived, to, it="not there")
    assert [row.there for row in FaultRuling.objects.all()] == [False]
    assert "Ruled out: 1" in shown(client, arrived)
    press(client, arrived, to, it="undecided")
    assert not FaultRuling.objects.exists()
    assert press(client, arrived, to, it="perhaps").status_code == 422


@pytest.mark.parametrize("headers", [LIVE, None])
def test_a_ruling_on_a_fault_that_the_family_has_no_more_is_still_taken_back(client, arrived, headers):
    FaultRuling.objects.create(job=arrived, fault="shutter.gone", there=True, at=timezone.now(), by=BY)
    to = "fault/shutter.gone/decide"
    assert to in shown(client, arrived)
    assert press(client, arrived, to, headers, it="there").status_code == 404
    assert press(client, arrived, to, headers, it="undecided").status_code == (200 if headers else 302)
    assert not FaultRuling.objects.exists()
    assert to not in shown(client, arrived)
    assert press(client, arrived, to, headers, it="undecided").status_code == 404, "none stands there"


def test_a_mend_is_written_down_as_work_and_one_that_did_not_do_says_so(client, on_the_bench):
    mend = the_causes(on_the_bench).faults[OIL].mends[0].name
    to = f"fault/{OIL}/mend"
    refused = press(client, on_the_bench, to, mend=mend, minutes="half an hour")
    assert refused.status_code == 422
    assert not MendDone.objects.exists()
    press(client, on_the_bench, to, mend=mend, minutes="25", did="no")
    assert "It did not do" in Work.objects.get().done
    assert "● found" in shown(client, on_the_bench)
    press(client, on_the_bench, to, mend=mend, minutes="", did="yes")
    assert [row.worked for row in MendDone.objects.all()] == [False, True]
    one = client.get(f"/job/{on_the_bench.number}/causes/fault/{OIL}/").content.decode()
    assert one.index("<b>Did not do it:</b>") < one.index("25 min") < one.index("<b>Mended:</b>")
    assert "● mended" in shown(client, on_the_bench)


@pytest.fixture(params=["there no more", "still explaining what was seen"])
def mended(request, monkeypatch, on_the_bench):
    """A fault that was found, mended and is held either way by what is weighed."""
    mend = the_causes(on_the_bench).faults[OIL].mends[0].name
    log_mend(on_the_bench, OIL, mend, by=BY)
    if request.param != "there no more":
        live = stage.case_of
        monkeypatch.setattr(stage, "case_of", lambda *of: replace(live(*of), rulings={OIL: True}))
    return on_the_bench


def test_a_mended_fault_is_shown_as_found_and_mended_and_not_as_ruled_out(client, mended):
    page = shown(client, mended)
    assert page.count("● mended") == 1
    assert "Ruled out" not in page
    assert "● mended" in client.get(f"/job/{mended.number}/causes/on-card/").content.decode()
    one = client.get(f"/job/{mended.number}/causes/fault/{OIL}/").content.decode()
    assert "It was found and mended" in one
    assert f"<b>Mended:</b> {the_causes(mended).faults[OIL].mends[0].name}" in one
    listed = client.get(f"/job/{mended.number}/causes/faults/", {"q": "oil blades"}).content.decode()
    assert listed.count("● found") == 1
    assert "ruled out" not in listed
    here = stage_of(mended)
    name = here.causes.faults[OIL].name
    assert about(here, "ruling", OIL) == (name if here.case.rulings[OIL] else f"mended: {name}")


def test_a_mended_fault_stays_mended_where_its_ruling_is_taken_back_and_goes_where_it_was_not_there(
    client, mended
):
    to = f"fault/{OIL}/decide"
    press(client, mended, to, it="undecided")
    assert shown(client, mended).count("● mended") == 1
    press(client, mended, to, it="not there")
    page = shown(client, mended)
    assert "● mended" not in page
    assert "Ruled out: 1" in page


def test_what_none_of_the_faults_explains_is_told(client, arrived):
    causes = the_causes(arrived)
    # the only faults that show it are ruled out: then nothing known here does
    sign = next(
        one
        for one in causes.signs.values()
        if one.leak[-1] > 0 and len(one.shown_by) == 1 and not one.tells_of
    )
    press(client, arrived, f"fault/{sign.shown_by[0].fault}/decide", it="not there")
    press(client, arrived, "answer", sign=sign.id, answer=sign.answers[-1])
    page = shown(client, arrived)
    assert "None of these explains" in page
    assert escape(sign.asks) in page[page.index("None of these explains") :]
    assert "Nobody would have expected" in page


def at(job: Job, standing: str) -> stage.Stage:
    Job.objects.filter(pk=job.pk).update(standing=standing)
    return stage_of(Job.objects.get(pk=job.pk))


@pytest.mark.parametrize("standing", ["arrived", "looked over", "priced"])
def test_until_the_yes_a_closed_camera_is_looked_at_from_outside_as_for_an_estimate(arrived, standing):
    here = at(arrived, standing)
    found = advised(here)
    for one in (found.first, *found.others):
        assert (one.proposal.kind, one.comes_off) == ("look", ())
    by_hand = next_actions(here.causes, here.construction, here.case, prices=FOR_ESTIMATE, from_outside=True)
    assert found.first.proposal == by_hand.first
    assert not replace(here, off=frozenset(["shutter.front-plate"])).is_bench_check


def test_when_looks_from_outside_say_no_more_it_is_opened_after_the_yes_only(arrived):
    for sign in the_causes(arrived).signs.values():
        SignAnswer.objects.create(
            job=arrived, sign=sign.id, answer=sign.answers[-1], level=1, at=timezone.now(), by=BY
        )
    found = advised(at(arrived, "priced"))
    assert found.first is None
    assert "has to be opened" in found.says
    assert advised(at(arrived, "agreed")).first.proposal.kind == "open"


def test_a_look_under_parts_says_what_comes_off_and_adds_it_to_the_way_in(client, on_the_bench):
    causes = the_causes(on_the_bench)
    sign = next(one for one in causes.signs.values() if one.off)
    page = shown(client, on_the_bench, f"?look={sign.id}")
    assert "Off first:" in page
    assert re.search(r'<span class="num">\d+ min</span> from here', page)
    answer = press(client, on_the_bench, "reach", part=sign.off[0])
    assert answer["Location"] == f"/job/{on_the_bench.number}/way-in/"
    assert sign.off[0] in StripDown.objects.get().reach
    assert press(client, on_the_bench, "reach", part="nothing.such").status_code == 422


def test_when_no_look_says_more_it_says_what_to_open_with_every_caution_and_a_press_aims_there(
    client, on_the_bench
):
    causes = the_causes(on_the_bench)
    for sign in causes.signs.values():
        SignAnswer.objects.create(
            job=on_the_bench, sign=sign.id, answer=sign.answers[-1], level=1, at=timezone.now(), by=BY
        )
    page = shown(client, on_the_bench)
    assert "Open next" in page
    assert 'name="answer"' not in page
    part = re.search(r'name="part" value="([^"]*)"', page)[1]
    construction = constructions()["folding-roll-front-cell"]
    needed = plan(construction, [part], with_alternatives=False)
    for text in {text for step in needed.steps for text in step.way.cautions}:
        assert escape(text) in page
    press(client, on_the_bench, "reach", part=part)
    assert StripDown.objects.get().reach == [part]


@pytest.mark.parametrize(("off", "says"), [(0.02, "off by up to 2 %"), (1.0, "nobody can say")])
def test_what_could_not_be_gone_through_exactly_says_how_far_off_it_may_be(
    client, arrived, monkeypatch, off, says
):
    exact = stage.weigh
    monkeypatch.setattr(
        stage, "weigh", lambda causes, case: replace(exact(causes, case), approximate=True, off=off)
    )
    page = shown(client, arrived)
    assert "<b>Approximate:</b>" in page
    assert says in page


def test_when_all_is_decided_it_stops_asking(client, on_the_bench):
    for fault in the_causes(on_the_bench).faults:
        FaultRuling.objects.create(job=on_the_bench, fault=fault, there=False, at=timezone.now(), by=BY)
    page = shown(client, on_the_bench)
    assert "Stop asking" in page
    assert "Nothing else is likelier than 1 in 100" in page


def test_all_looks_are_found_by_a_word_and_answered_ones_say_so(client, arrived):
    answer_sign(arrived, BLADES, "drops", by=BY)
    page = client.get(f"/job/{arrived.number}/causes/looks/", {"q": "blades torch"}).content.decode()
    assert f"look={BLADES}" in page
    assert "<b>drops</b>" in page
    assert (
        "hood"
        not in client.get(
            f"/job/{arrived.number}/causes/looks/", {"q": "blades"}, headers=LIVE
        ).content.decode()
    )
    assert "0 looks" in client.get(f"/job/{arrived.number}/causes/looks/", {"q": "zzz"}).content.decode()


def test_all_faults_are_listed_with_their_chances(client, arrived):
    page = client.get(f"/job/{arrived.number}/causes/faults/", {"q": "oil blades"}).content.decode()
    assert f"/causes/fault/{OIL}/" in page


def test_a_camera_that_nobody_described_says_so_and_what_helps(client, arrived):
    arrived.camera.family = "other"
    arrived.camera.save()
    assert "Nobody has written down" in shown(client, arrived, "")
    assert press(client, arrived, "answer", sign=BLADES, answer="drops").status_code == 422
    assert client.get(f"/job/{arrived.number}/causes/looks/").status_code == 404
    card = client.get(f"/job/{arrived.number}/").content.decode()
    assert 'id="wrong"' not in card


def test_a_job_that_is_over_shows_what_was_weighed_and_asks_nothing(client, gone_home):
    # its findings alone speak of a fault; a camera of which nothing was written down has no such section
    assert 'id="wrong"' in client.get(f"/job/{gone_home.number}/").content.decode()
    gone_home.findings.update(struck_out=True)
    assert 'id="wrong"' not in client.get(f"/job/{gone_home.number}/").content.decode()
    page = shown(client, gone_home)
    assert "Nothing more is asked" in page
    assert 'name="answer"' not in page
    assert 'name="tap"' not in page
    assert press(client, gone_home, "answer", sign=BLADES, answer="drops").status_code == 422


def test_the_card_has_the_three_likeliest_as_bars_and_how_many_looks(client, arrived):
    card = client.get(f"/job/{arrived.number}/").content.decode()
    assert "Nothing is told or looked at yet" in card
    answer_sign(arrived, BLADES, "drops", by=BY)
    # what has to be weighed first comes by a second request, and from then on with the card
    later = f"/job/{arrived.number}/causes/on-card/"
    assert f'hx-get="{later}"' in client.get(f"/job/{arrived.number}/").content.decode()
    assert "1 look so far" in client.get(later).content.decode()
    card = client.get(f"/job/{arrived.number}/").content.decode()
    assert later not in card
    section = card[card.index('id="wrong"') :]
    section = section[: section.index("</section>")]
    assert section.count("bar-track") == 3
    assert "1 look so far" in section
    causes = the_causes(arrived)
    assert escape(weigh(causes, case_of(arrived, causes)).faults[0].fault.name[1:]) in section


def test_a_finding_counts_without_being_entered_twice_and_can_be_looked_at_oneself(client, looked_over):
    page = shown(client, looked_over)
    assert "From the findings and readings" in page
    assert "What it may be, before anything is told" not in page
    assert re.search(r"Torch into the lens at the closed blades: (film|drops)", page)
    assert "shutter blades: oil film, grade 3" in page
    why = client.get(f"/job/{looked_over.number}/causes/fault/{OIL}/").content.decode()
    assert "<b>Found or read:</b> Torch into the lens" in why
    press(client, looked_over, "answer", sign=BLADES, answer="clean")
    page = shown(client, looked_over)
    assert "shutter blades: oil film, grade 3" not in page, "the person's own look comes before it"


@pytest.mark.parametrize("answer", ["don't know", "as it was called once"])
def test_a_finding_counts_where_nobody_could_answer_and_the_page_says_so(client, looked_over, answer):
    SignAnswer.objects.create(job=looked_over, sign=BLADES, answer=answer, at=timezone.now(), by=BY)
    assert "shutter blades: oil film, grade 3" in shown(client, looked_over)
    why = client.get(f"/job/{looked_over.number}/causes/fault/{OIL}/").content.decode()
    assert re.search(r"<b>Found or read:</b> Torch into the lens at the closed blades: (film|drops)", why)
    assert escape(answer) not in why


def test_what_was_seen_before_a_mend_and_since_are_taken_back_one_by_one(client, on_the_bench):
    answer_sign(on_the_bench, BLADES, "drops", by=BY)
    mend = the_causes(on_the_bench).faults[OIL].mends[0].name
    log_mend(on_the_bench, OIL, mend, by=BY)
    assert BLADES not in stage_of(on_the_bench).said, "it is to be looked at again"
    assert not re.search(r'value="drops" aria-pressed', shown(client, on_the_bench, f"?look={BLADES}"))
    answer_sign(on_the_bench, BLADES, "clean", by=BY)
    assert stage_of(on_the_bench).said[BLADES] == "clean"
    press(client, on_the_bench, "take-back", sign=BLADES)
    assert [row.answer for row in SignAnswer.objects.all()] == ["drops"]
    press(client, on_the_bench, "take-back", sign=BLADES)
    assert not SignAnswer.objects.exists()


def test_what_the_owners_words_seem_to_tell_is_offered_and_not_taken_for_told(client, arrived):
    arrived.story = "It fell off a boat and has been in a damp cellar since."
    arrived.save()
    page = shown(client, arrived)
    assert page.count("the words seem to say so") >= 1
    assert not Story.objects.exists()
    press(client, arrived, "story", tap="dropped=so")
    assert re.search(
        r'id="so-dropped" name="tap" value="dropped=" aria-pressed="true"', shown(client, arrived)
    )


def test_what_is_believed_of_a_family_is_told_with_its_source_and_mark(client, arrived):
    causes = the_causes(arrived)
    assert (
        f"{len(causes.faults)} faults"
        in client.get("/families/folding-roll-front-cell/causes/").content.decode()
    )
    page = client.get("/families/folding-roll-front-cell/causes/?of=shutter").content.decode()
    assert "Slow train gummed" in page
    assert "practice: common practice at the bench" in page
    assert 'odds <span class="num">×' in page
    assert client.get("/families/nothing/causes/").status_code == 404


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (1.0, "over 99 %"),
        (0.996, "over 99 %"),
        (0.614, "61 %"),
        (0.01, "1 %"),
        (0.0099, "1 in 100"),
        (0.004, "1 in 250"),
        (0.00123, "1 in 810"),
        (0.0001, "under 1 in 1000"),
        (0.0, "under 1 in 1000"),
    ],
)
def test_a_chance_is_told_in_words_that_one_can_weigh(value, says):
    assert words.chance(value) == says


@pytest.mark.parametrize(
    ("minutes", "says"), [(0.2, "10 s"), (0.5, "half a minute"), (1.5, "1.5 min"), (12, "12 min")]
)
def test_minutes_of_a_look_are_told_in_words(minutes, says):
    assert words.minutes(minutes) == says
