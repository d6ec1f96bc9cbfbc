"""Taking apart, the trays, and the way back, as pages without a script and as answers to one."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from pictures_sent import photograph

from pegwood.anatomy.construction import constructions
from pegwood.book import arriving, moving
from pegwood.book.models import Job, Kept, TakenOff
from pegwood.book.states import Standing
from pegwood.book.stripping.way_in import Aim, take_aim
from web.conftest import FOLDER

pytestmark = pytest.mark.django_db
LIVE = {"HX-Request": "true"}
BY = "Tove Halm"
SLOW_TRAIN = "shutter.slow-train"


@pytest.fixture
def aimed(on_the_bench: Job) -> Job:
    take_aim(on_the_bench, Aim(reach=(SLOW_TRAIN,)), by=BY)
    return on_the_bench


def kept_rows(*rows: dict[str, str]) -> dict[str, str]:
    sent = {"kept-TOTAL_FORMS": str(len(rows)), "kept-INITIAL_FORMS": "0"}
    return sent | {f"kept-{n}-{name}": value for n, row in enumerate(rows) for name, value in row.items()}


def press(client: Client, job: Job, headers=None, rows=(), **typed: str):
    sent = {"met": "there", **kept_rows(*rows), **typed}
    return client.post(f"/job/{job.number}/strip/off/", sent, headers=headers)


def shown(client: Client, job: Job, query: str = "") -> str:
    return client.get(f"/job/{job.number}/strip/{query}").content.decode()


def proposed(page: str) -> str:
    found = re.search(r'name="part" value="([^"]*)"', page)
    return found[1] if found else ""


def test_the_plans_first_part_is_proposed_with_all_that_is_told_before_it_moves(client, aimed):
    page = shown(client, aimed)
    part = constructions()["folding-roll-front-cell"].parts[proposed(page)]
    assert f"<h1>{part.name}" in page
    way = part.ways[0]
    assert way.tool in page
    assert f"{way.minutes.likely:g} min" in page
    assert "tray 1, pocket 1" in page
    assert "service sheet comes first" in page


def test_one_press_for_each_step_reaches_the_part(client, aimed):
    for _ in range(60):
        page = shown(client, aimed)
        if "All that was to be reached is off" in page:
            break
        press(client, aimed, part=proposed(page), pocket=re.search(r'name="pocket" value="([^"]*)"', page)[1])
    rows = list(TakenOff.objects.filter(job=aimed))
    assert rows[-1].part == SLOW_TRAIN
    graph = constructions()["folding-roll-front-cell"].parts
    off: set[str] = set()
    for row in rows:
        assert any(off.issuperset(way.after) for way in graph[row.part].ways)
        off.add(row.part)
    assert [row.pocket for row in rows[:3]] == [1, 2, 3]


def test_a_script_gets_the_next_step_and_no_page_around_it(client, aimed):
    first = proposed(shown(client, aimed))
    answer = press(client, aimed, LIVE, part=first, pocket="1.1")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in page
    assert proposed(page) != first
    assert "is off" in page


def test_screws_and_shims_are_kept_as_they_were_measured_or_marked_as_the_familys(client, aimed):
    rows = (
        {"kind": "screw", "count": "3", "length_mm": "3,5", "thread": "M1.7x0.35", "place": "rear"},
        {"kind": "shim", "count": "", "thickness_mm": "0.2", "place": "left strut", "side": "under"},
        {"kind": "", "count": "4"},
        {"kind": "spring", "count": "0"},
    )
    press(client, aimed, rows=rows, name="some part", pocket="tray 1, pocket 2")
    screw, shim = Kept.objects.all()
    assert (screw.count, screw.length_mm, screw.pocket) == (3, 3.5, 2)
    assert (shim.count, shim.thickness_mm, shim.thickness_u_mm, shim.side) == (1, 0.2, 0.005, "under")
    page = shown(client, aimed)
    assert "3 screws M1.7x0.35, 3.5 mm; rear" in page
    assert "0.200 mm ± 0.010 mm (k = 2)" in page


def test_what_the_family_has_is_offered_and_says_that_nobody_measured_it(client, on_the_bench):
    family = constructions()["folding-roll-front-cell"]
    part = next(
        part for part in family.parts.values() if part.ways and any(join.length_mm for join in part.joins)
    )
    page = shown(client, on_the_bench, f"?part={part.id}")
    screw = next(join for join in part.joins if join.length_mm)
    assert f'value="{screw.length_mm:g}"' in page.replace(".0&quot;", "").replace('.0"', '"')
    at = [join for join in part.joins if join.kind in {"screw", "pin", "circlip", "rivet"}].index(screw)
    row = {
        "kind": "screw",
        "count": str(screw.count),
        "length_mm": f"{screw.length_mm}",
        "thread": screw.thread,
        "of": str(at),
    }
    press(client, on_the_bench, rows=(row,), part=part.id)
    assert Kept.objects.get().as_family
    assert "as such cameras have it, not measured" in shown(client, on_the_bench)
    client.post(f"/job/{on_the_bench.number}/strip/undo/", {})
    press(client, on_the_bench, rows=({**row, "length_mm": "9.9"},), part=part.id)
    assert not Kept.objects.filter(taken_off__struck_out=False).get().as_family


@pytest.mark.parametrize("headers", [None, LIVE])
@pytest.mark.parametrize(
    ("typed", "rows", "says"),
    [
        ({"name": ""}, (), "Which part came off?"),
        ({"name": "lid", "pocket": "1.99"}, (), "There is no tray 1, pocket 99"),
        ({"name": "lid", "minutes": "soon"}, (), "Write a plain number"),
        ({"name": "lid", "minutes": "-3"}, (), "-3 minutes cannot be"),
        ({"name": "lid", "met": "eaten"}, (), "not &#x27;eaten&#x27;"),
        ({"name": "lid"}, ({"kind": "screw", "length_mm": "long"},), "Write a plain number"),
        ({"name": "lid"}, ({"kind": "shim", "thickness_mm": "-1"},), "A thickness of -1 mm cannot be"),
        ({"name": "lid"}, ({"kind": "nut"},), "Select a valid choice"),
    ],
)
def test_a_step_that_cannot_be_is_refused_in_place_with_what_was_typed(
    client, on_the_bench, typed, rows, says, headers
):
    answer = press(client, on_the_bench, headers, rows=rows, condition="rust at the rim", **typed)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert says in page
    assert "rust at the rim" in page
    assert not TakenOff.objects.exists()


def test_another_part_is_found_by_any_of_its_names_and_said_if_it_is_not_its_turn(client, aimed):
    page = shown(client, aimed, "?name=slow+train")
    assert proposed(page) == SLOW_TRAIN
    assert "Not its turn" in page
    page = shown(client, aimed, "?name=flux+capacitor")
    assert proposed(page) == ""
    assert "flux capacitor" in page


def test_missing_and_never_fitted_are_told_apart(client, aimed):
    press(client, aimed, name="damper", met="missing")
    press(client, aimed, name="foam", met="never fitted")
    page = shown(client, aimed)
    assert "damper" in page
    assert "waits for a spare" in page
    assert "never fitted to this one" in page
    back = client.get(f"/job/{aimed.number}/back/").content.decode()
    assert "A spare is here" in back
    assert "foam" not in back.split('id="trays"')[0].split('id="strip"')[1]


def test_the_clock_runs_and_stands_and_the_last_press_is_taken_back(client, aimed):
    assert "no step is timed" in shown(client, aimed)
    client.post(f"/job/{aimed.number}/strip/clock/", {"clock": "run"})
    assert "runs since" in shown(client, aimed)
    press(client, aimed, name="lid")
    assert TakenOff.objects.get().seconds > 0
    answer = client.post(f"/job/{aimed.number}/strip/undo/", {}, follow=True)
    assert "Taken back: 1. lid" in answer.content.decode()
    assert not TakenOff.objects.exists()
    answer = client.post(f"/job/{aimed.number}/strip/undo/", {}, follow=True)
    assert "nothing to take back" in answer.content.decode()
    client.post(f"/job/{aimed.number}/strip/clock/", {"clock": "stop"})
    assert "no step is timed" in shown(client, aimed)


def test_a_photograph_goes_along_with_the_step_and_one_can_be_added_later(client, aimed):
    press(client, aimed, name="lid", photos=photograph())
    step = TakenOff.objects.get()
    assert step.photos.count() == 1
    sent = {"photos": photograph(grey=40)}
    client.post(f"/job/{aimed.number}/photos/?step={step.pk}", sent)
    assert step.photos.count() == 2
    assert client.post(f"/job/{aimed.number}/photos/?step=999", sent).status_code == 404


def test_a_step_is_amended_let_wait_and_explained(client, aimed):
    press(
        client, aimed, rows=({"kind": "screw", "count": "2"},), name="lid", pocket="1.1", own_scribe="red dot"
    )
    step = TakenOff.objects.get()
    page = client.get(f"/strip-step/{step.pk}/").content.decode()
    assert "red dot" in page
    kept = step.kept.get()
    row = {"kind": "screw", "count": "3", "length_mm": "2", "row": str(kept.pk)}
    sent = kept_rows(row) | {"name": "lid", "pocket": "1.4", "own_scribe": "red dot, at six"}
    assert client.post(f"/strip-step/{step.pk}/", sent).status_code == 302
    step.refresh_from_db()
    assert (step.pocket, step.notes[0]["says"]) == (4, "red dot, at six")
    assert step.kept.get().count == 3
    refused = client.post(f"/strip-step/{step.pk}/", sent | {"pocket": "nowhere"})
    assert refused.status_code == 422
    assert "is no pocket" in refused.content.decode()
    client.post(f"/strip-step/{step.pk}/wait/", {"awaits": "cleaning", "note": "in the bath"})
    back = client.get(f"/job/{aimed.number}/back/").content.decode()
    assert "being cleaned" in back
    assert "Nothing can go in now" in back
    client.post(f"/strip-step/{step.pk}/explain/", {"why": "the owner wants it left off"})
    assert "the owner wants it left off" in client.get(f"/strip-step/{step.pk}/").content.decode()


def off(client: Client, job: Job, *names: str, **more: str) -> list[TakenOff]:
    for n, name in enumerate(names, 1):
        press(client, job, name=name, pocket=f"1.{n}", rows=({"kind": "screw", "count": "2"},), **more)
    return list(TakenOff.objects.filter(job=job))


def put(client: Client, job: Job, row: TakenOff, headers=None, **typed: str):
    return client.post(f"/job/{job.number}/back/in/", {"step": str(row.pk), **typed}, headers=headers)


def test_the_way_back_is_the_reverse_of_what_was_done_and_refuses_to_close_over_what_is_out(
    client, on_the_bench
):
    lid, frame, wheel = off(client, on_the_bench, "lid", "frame", "wheel")
    page = client.get(f"/job/{on_the_bench.number}/back/").content.decode()
    assert "<h1>wheel</h1>" in page
    assert "out of <b>tray 1, pocket 3</b>" in page
    answer = put(client, on_the_bench, lid)
    assert answer.status_code == 422
    told = answer.content.decode()
    assert "Under the lid something is missing: the frame itself" in told
    assert "all the same" in told
    put(client, on_the_bench, wheel)
    answer = put(client, on_the_bench, frame, LIVE)
    assert "<h1>lid</h1>" in answer.content.decode()
    assert put(client, on_the_bench, lid, anyway="on").status_code == 302
    assert "It is whole" in client.get(f"/job/{on_the_bench.number}/back/").content.decode()


def test_a_screw_left_in_its_pocket_is_named_until_it_is_in_or_explained(client, on_the_bench):
    lid, wheel = off(client, on_the_bench, "lid", "wheel")
    screws = wheel.kept.get()
    put(client, on_the_bench, wheel, **{f"left_{screws.pk}": "1"})
    answer = put(client, on_the_bench, lid)
    assert "screw of the wheel; it lies in tray 1, pocket 2" in answer.content.decode()
    put(client, on_the_bench, lid, anyway="on")
    page = client.get(f"/job/{on_the_bench.number}/back/").content.decode()
    assert "Forgotten:" in page
    assert "It belongs to the wheel" in page
    moving.prove(on_the_bench, by=BY)
    refused = client.post(f"/job/{on_the_bench.number}/move/", {"move": "call it ready"})
    assert refused.status_code == 422
    assert "It is not whole" in refused.content.decode()
    address = f"/job/{on_the_bench.number}/tray/1/2/"
    assert "1 of 2 believed to be in" in client.get(address).content.decode()
    wrong = client.post(address, {f"lie_{screws.pk}": "7"})
    assert wrong.status_code == 422
    assert "7 of 2 screws" in wrong.content.decode()
    client.post(address, {f"lie_{screws.pk}": "1", f"why_{screws.pk}": "head sheared, a new one fitted"})
    assert "It is whole" in client.get(f"/job/{on_the_bench.number}/back/").content.decode()
    client.post(f"/job/{on_the_bench.number}/move/", {"move": "call it ready"})
    on_the_bench.refresh_from_db()
    assert on_the_bench.stands is Standing.READY
    assert client.get(f"/job/{on_the_bench.number}/tray/9/9/").status_code == 404


def test_a_shim_of_another_place_is_refused_with_both_figures(client, on_the_bench):
    for place, mm in (("left strut", "0.20"), ("right strut", "0.35")):
        shim = {"kind": "shim", "count": "1", "thickness_mm": mm, "place": place}
        press(client, on_the_bench, name=place, rows=(shim,))
    _left, right = TakenOff.objects.filter(job=on_the_bench)
    key = right.kept.get().pk
    answer = put(client, on_the_bench, right, **{f"hand_{key}": "0.2"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "It does not fit" in page
    assert "it is that of the left strut" in page
    assert not TakenOff.objects.get(pk=right.pk).is_back
    assert put(client, on_the_bench, right, **{f"hand_{key}": "0.35"}).status_code == 302


def test_the_card_says_how_much_is_out_and_what_comes_next(client, on_the_bench):
    card = f"/job/{on_the_bench.number}/"
    assert "Nothing is off yet" in client.get(card).content.decode()
    lid, _wheel = off(client, on_the_bench, "lid", "wheel")
    page = client.get(card).content.decode()
    assert "go on with the strip-down" in page
    assert "still out: lid, wheel" in page
    client.post(f"/strip-step/{lid.pk}/wait/", {"awaits": "cleaning"})
    assert "being cleaned" in client.get(card).content.decode()


def test_what_is_typed_is_shown_as_text_and_never_as_markup(client, on_the_bench):
    evil = "<b onclick=x>lid</b>"
    press(client, on_the_bench, name=evil, own_scribe=evil, rows=({"kind": "other", "what": evil},))
    step = TakenOff.objects.get()
    for address in ("strip/", "back/", ""):
        page = client.get(f"/job/{on_the_bench.number}/{address}").content.decode()
        assert "<b onclick" not in page
        assert "&lt;b onclick" in page
    assert "<b onclick" not in client.get(f"/strip-step/{step.pk}/").content.decode()


def test_a_job_that_is_over_keeps_its_log_and_takes_nothing_more(client, on_the_bench):
    off(client, on_the_bench, "lid")
    client.post(f"/job/{on_the_bench.number}/move/", {"move": "send back unmended", "text": "not worth it"})
    page = shown(client, on_the_bench)
    assert "Nothing comes off" in page
    assert "lid" in page
    assert press(client, on_the_bench, name="wheel").status_code == 422
    assert "Nothing goes back" in client.get(f"/job/{on_the_bench.number}/back/").content.decode()


def way_in(client: Client, job: Job, query: str = "") -> str:
    return client.get(f"/job/{job.number}/way-in/{query}").content.decode()


def test_what_is_to_be_reached_is_kept_with_the_job_and_offered_from_its_findings(client, on_the_bench):
    page = way_in(client, on_the_bench)
    assert "Of what was found" in page
    assert "oil film" in page
    address = f"/job/{on_the_bench.number}/way-in/take/"
    answer = client.post(f"{address}?reach={SLOW_TRAIN}&avoid=glue")
    assert answer.status_code == 302
    strip_down = on_the_bench.strip_down
    assert (strip_down.reach, strip_down.avoid) == ([SLOW_TRAIN], ["glue"])
    assert "planned the way in" in client.get(f"/job/{on_the_bench.number}/").content.decode()
    client.post(address, {"reach": SLOW_TRAIN, "find": "bellows"})
    strip_down.refresh_from_db()
    assert len(strip_down.reach) == 2
    refused = client.post(address, {"reach": SLOW_TRAIN, "find": "flux capacitor"})
    assert refused.status_code == 422
    assert "is no part of this family" in refused.content.decode()
    strip_down.refresh_from_db()
    assert len(strip_down.reach) == 2


def test_the_way_in_goes_on_from_what_is_off_and_a_part_that_is_off_is_logged(client, aimed):
    first = proposed(shown(client, aimed))
    before = way_in(client, aimed)
    name = constructions()["folding-roll-front-cell"].parts[first].name
    answer = client.post(f"/job/{aimed.number}/way-in/take/?reach={SLOW_TRAIN}&off={first}")
    assert answer["Location"] == f"/job/{aimed.number}/strip/?part={first}"
    press(client, aimed, part=first)
    after = way_in(client, aimed)
    assert f"<b>{name}</b>" in before.split('id="list"')[1]
    assert f"<b>{name}</b>" not in after.split('id="list"')[1]


def test_a_camera_that_no_family_describes_is_logged_all_the_same(client, arrived):
    arrived.camera.family = "other"
    arrived.camera.save()
    assert "Nobody has written down" in way_in(client, arrived)
    assert "What came off?" in shown(client, arrived)
    press(client, arrived, name="lid", held_to="frame, hinge", hidden_under="covering")
    row = TakenOff.objects.get()
    assert (row.held_to, row.hidden_under) == (["frame", "hinge"], ["covering"])


def test_a_part_is_shown_as_it_looked_in_another_such_camera(client, aimed, ilse):
    other = arriving.take_in(ilse, FOLDER, by=BY)
    take_aim(other, Aim(reach=(SLOW_TRAIN,)), by=BY)
    first = proposed(shown(client, other))
    press(client, other, part=first, photos=photograph())
    photo = TakenOff.objects.get(job=other).photos.get()
    assert f"/photo/{photo.pk}/small.jpg" in shown(client, aimed, f"?part={first}")
    assert f"/photo/{photo.pk}/small.jpg" not in shown(client, aimed, f"?part={SLOW_TRAIN}")


def test_what_was_written_of_a_step_comes_back_when_it_is_taken_back(client, on_the_bench):
    screw = {"kind": "screw", "count": "3", "length_mm": "3.1", "place": "long one lower left"}
    press(client, on_the_bench, name="lid", rows=(screw,), own_scribe="red dot", condition="rust")
    answer = client.post(f"/job/{on_the_bench.number}/strip/undo/", {}, follow=True)
    page = answer.content.decode()
    for typed in ("lid", "3.1", "long one lower left", "red dot", "rust"):
        assert f'value="{typed}"' in page
    assert client.get(f"/job/{on_the_bench.number}/strip/?again=999").status_code == 404


def test_the_same_name_does_not_come_off_twice(client, on_the_bench):
    press(client, on_the_bench, name="Top cover")
    answer = press(client, on_the_bench, name="top  cover")
    assert answer.status_code == 422
    assert "Top cover is off already" in answer.content.decode()


def test_what_only_the_family_says_stays_so_when_a_step_is_amended_or_written_again(client, on_the_bench):
    family = constructions()["folding-roll-front-cell"]
    part = next(
        part for part in family.parts.values() if part.ways and any(join.length_mm for join in part.joins)
    )
    page = shown(client, on_the_bench, f"?part={part.id}")
    sent = dict(re.findall(r'name="(kept-[^"]*)"(?: value="([^"]*)")?', page))
    press(client, on_the_bench, part=part.id, **sent)
    step = TakenOff.objects.get()
    assert any(one.as_family for one in step.kept.all())
    before = [one.as_family for one in step.kept.all()]
    page = client.get(f"/strip-step/{step.pk}/").content.decode()
    sent = dict(re.findall(r'name="(kept-[^"]*)"[^>]*?value="([^"]*)"', page))
    client.post(f"/strip-step/{step.pk}/", sent | {"part": part.id, "name": part.name, "pocket": "1.2"})
    assert [one.as_family for one in step.kept.all()] == before
