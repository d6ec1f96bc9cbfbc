"""What the jobs taught and how good the chances were, as pages."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.utils import timezone
from django.utils.html import escape

from conftest import BY, FOLDER, ILSE
from pegwood.book import arriving, leaving
from pegwood.book.models import Job, LessonLeftOut
from pegwood.book.weighing import learnt
from pegwood.book.weighing.about import causes_for
from pegwood.book.weighing.answering import answer_sign
from pegwood.book.weighing.mending import log_mend
from pegwood.book.weighing.ruling import rule
from pegwood.causes.learning import Change
from pegwood.web.causes.taught import shown_of
from pegwood.web.warming import learn_lessons

pytestmark = pytest.mark.django_db
FAMILY = FOLDER.family
PAGE = f"/causes/learnt/{FAMILY}/"
OIL = "shutter.oiled-blades"
LIVE = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def nothing_is_kept(monkeypatch):
    """Rows of another test's book have the same keys."""
    for name, empty in (("_weighed_jobs", {}), ("_learnt", {}), ("_lessons", []), ("_shared", [])):
        monkeypatch.setattr(learnt, name, empty)


@pytest.fixture
def taught(looked_over: Job) -> Job:
    """A closed job of which something was seen, found, ruled out and mended."""
    causes = learnt.as_filed(FAMILY)
    answer_sign(looked_over, "shutter.blades-look", "drops", by=BY)
    rule(looked_over, OIL, True, by=BY)
    for fault in [one for one in causes.faults if one != OIL][:3]:
        rule(looked_over, fault, False, by=BY)
    log_mend(looked_over, OIL, causes.faults[OIL].mends[0].name, minutes=35, by=BY)
    return leaving.send_back_unmended(looked_over, "the owner wants it so", by=BY)


def text(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


# --- how good the chances were --------------------------------------------------------------------------


def test_an_empty_book_says_what_fills_the_page(client: Client):
    answer = client.get("/causes/scores/")
    assert "this page fills as you press “It is there” or “It is not”" in text(answer)
    assert "data-chart" not in answer.content.decode()
    assert client.get("/causes/scores/chart.json").status_code == 200


def test_the_scores_stand_beside_those_of_the_mean_with_how_many_they_rest_on(client, taught):
    shown = text(client.get("/causes/scores/"))
    assert "4 decided faults of 1 job; 25 % were there." in shown
    # 1 of 4 was there: 0.25 * 0.75 = 0.1875 (Brier), -(ln 0.25 + 3 ln 0.75) / 4 = 0.5623 nat (log)
    assert "always telling 25 % 0.188 0.562" in shown
    assert "Under 200 decided faults that is mostly noise." in shown
    assert "1 of 1" in shown


def test_the_diagram_is_drawn_from_what_the_table_says(client, taught):
    page = client.get("/causes/scores/").content.decode()
    address = re.search(r'data-chart="([^"]+)"', page)[1]
    drawn = client.get(address).json()
    assert "Scatter" in str(drawn)
    dark = client.get(address, {"scheme": "dark"}).json()
    assert dark != drawn


def test_one_family_is_looked_at_alone(client, taught, benno_s_reflex):
    fault = next(iter(learnt.as_filed("reflex-35-cloth").faults))
    rule(benno_s_reflex, fault, True, by=BY)
    assert "5 decided faults of 2 jobs" in text(client.get("/causes/scores/"))
    shown = client.get("/causes/scores/?family=reflex-35-cloth")
    assert "1 decided fault of 1 job" in text(shown)
    assert "chart.json?family=reflex-35-cloth" in shown.content.decode()
    assert "choose another family" in text(client.get("/causes/scores/?family=box"))
    assert client.get("/causes/scores/?family=no-such").status_code == 404


def test_answers_held_nearly_impossible_are_told_in_the_looks_own_words(client, arrived):
    causes = learnt.as_filed(FAMILY)
    sign = causes.signs["shutter.blades-look"]
    row = answer_sign(arrived, sign.id, "drops", by=BY)
    rule(arrived, OIL, True, by=BY)
    row.chances_before = [0.9999, 0.00005, 0.00005]
    row.save()
    shown = text(client.get("/causes/scores/"))
    assert "More surprises than there should be: 1 of 1 answers had been held nearly impossible" in shown
    assert f"Most at “{sign.asks}”" in shown
    assert f"{sign.asks} 1 of 1" in shown


# --- what the jobs taught -------------------------------------------------------------------------------


def test_an_empty_book_says_when_a_job_teaches(client):
    assert "None yet: a job teaches once it is over" in text(client.get("/causes/learnt/"))
    assert "Nothing yet: a job teaches once it is over" in text(client.get(PAGE))
    assert client.get("/causes/learnt/no-such/").status_code == 404


def test_a_change_is_told_with_the_files_figure_the_new_one_its_interval_and_its_job(client, taught):
    fault = learnt.as_filed(FAMILY).faults[OIL]
    shown = client.get(PAGE + "?of=shutter")
    # Beta(10 p, 10 (1 - p)) after one more that had it: its mean
    now = (10 * fault.prior + 1) / 11
    title = escape(fault.name[:1].upper() + fault.name[1:])
    assert f"{title} how often cameras come in with it" in text(shown)
    row = text(shown).rpartition(f"{title} how often cameras come in with it")[2][:260]  # after the largest
    assert f"{100 * fault.prior:.2g} % {100 * now:.2g} %" in row
    assert " to " in row
    assert "Found 1 time, ruled out 0 times; the starting knowledge counts as 10 jobs. From job" in row
    assert f'href="/job/{taught.number}/"' in shown.content.decode()
    assert "minutes of the mend, once the part lies open" in text(shown)
    assert "timed 1 time" in text(shown).casefold()


def test_a_mechanism_is_asked_for_when_its_fold_is_opened(client, taught):
    assert 'hx-get="' + PAGE + '?of=shutter"' in client.get(PAGE).content.decode()
    part = client.get(PAGE + "?of=shutter", headers=LIVE).content.decode()
    assert "<html" not in part
    assert "how often cameras come in with it" in part


def test_a_job_is_left_out_with_a_reason_and_taken_in_again(client, taught):
    assert f"{taught.number}" in text(client.get("/causes/learnt/")) or "1 job" in text(client.get(PAGE))
    to = f"/job/{taught.number}/causes/lesson/"
    answer = client.post(to, {"do": "leave out", "reason": " another\ncamera "})
    assert answer["Location"] == PAGE + "#jobs"
    assert LessonLeftOut.objects.get().reason == "another camera"
    shown = client.get(PAGE)
    assert "Left out : another camera" in text(shown)
    assert "Nothing yet" in text(shown), "nothing rests on it any more"
    assert "1 job, 1 of them left out" in text(client.get("/causes/learnt/"))
    client.post(to, {"do": "take in again"})
    assert not LessonLeftOut.objects.exists()
    assert "figures rest on closed jobs" in text(client.get(PAGE))


def test_a_job_that_teaches_nothing_is_told_so_in_place(client, arrived):
    answer = client.post(f"/job/{arrived.number}/causes/lesson/", {"do": "leave out"})
    assert answer.status_code == 422
    assert f"Job {arrived.number} teaches nothing" in text(answer)


def test_what_is_handed_on_is_a_file_without_the_owner(client, taught):
    page = text(client.get("/causes/learnt/"))
    assert "Nothing of owners, cameras, days or single jobs is in it." in page
    assert "folder lessons in the workshop's own folder" in page
    answer = client.get("/causes/lessons.toml")
    assert answer["Content-Type"] == "application/toml"
    assert 'filename="lessons.toml"' in answer["Content-Disposition"]
    told = answer.content.decode()
    assert "oiled-blades" in told
    assert not any(word in told for word in (ILSE.name, "Vorrin", "A-20417", f"{timezone.now():%Y}"))


def test_a_broken_file_of_another_workshop_is_told_with_its_line(client, settings, workshop_folder):
    folder = settings.WORKSHOP.root / learnt.HANDED_ON
    folder.mkdir(exist_ok=True)
    path = folder / "broken.toml"
    path.write_text("use = 3\n", "utf-8")
    try:
        assert "Left aside: lessons/broken.toml, line 1" in text(client.get("/causes/learnt/")).replace(
            "Left aside: broken", "Left aside: lessons/broken"
        )
    finally:
        path.unlink()


def test_the_pages_are_linked_from_where_they_are_wanted(client, arrived):
    for page in ("/families/", f"/job/{arrived.number}/causes/"):
        shown = client.get(page).content.decode()
        assert 'href="/causes/scores/"' in shown
        assert 'href="/causes/learnt/' in shown
    assert f'href="{PAGE}"' in client.get(f"/families/{FAMILY}/causes/").content.decode()


def test_many_jobs_are_counted_and_named_only_when_they_are_asked_for():
    causes = learnt.as_filed(FAMILY)
    fault = causes.faults[OIL]
    change = Change(
        what="prior",
        of=(OIL,),
        named=fault.name,
        before=(0.1,),
        after=(0.2,),
        interval=((0.1, 0.3),),
        counts=(3.0, 27.0),
        start=10.0,
        rests_on=tuple(str(n) for n in range(1, 31)),
    )
    (few,) = shown_of([change], causes, "shutter")
    assert (few.jobs, few.more) == (tuple(range(1, 13)), 18)
    (each,) = shown_of([change], causes, "shutter", all_jobs=True)
    assert (len(each.jobs), each.more) == (30, 0)


def test_what_jobs_taught_is_learned_before_the_first_page_asks(taught, monkeypatch):
    again = arriving.take_in(ILSE, FOLDER, by=BY)
    monkeypatch.setattr("pegwood.web.warming.connections.close_all", lambda: None)  # the test's own book
    learn_lessons()
    (_, learned) = learnt._learnt[FAMILY]
    assert learned.changes
    assert causes_for(again) is learned.causes, "and is at hand then"
