"""The way in on the page of a family: what is asked, what is told, and that nothing asked is lost."""

from __future__ import annotations

import re
from dataclasses import dataclass
from html import unescape
from itertools import pairwise
from urllib.parse import parse_qs, urlsplit

import pytest
from django.template.loader import render_to_string
from django.test import Client

from pegwood.anatomy.construction import Construction, constructions, read_construction
from pegwood.anatomy.mechanism import read_mechanism
from pegwood.anatomy.planning.plan import plan
from pegwood.trade.reference import Reference
from pegwood.web.strip.asked import Asked, QueryLinks, coverings
from pegwood.web.strip.way_in import way_in

pytestmark = pytest.mark.django_db
TWIN = "/strip/twin-lens-reflex/"
TRAIN = "shutter.slow-train"


def page(client: Client, address: str, query=None, status: int = 200) -> str:
    response = client.get(address, query or {})
    assert response.status_code == status
    return response.content.decode()


def text(html: str) -> str:
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", html)))


def link(html: str, words: str) -> dict[str, list[str]]:
    """The query of the first link that says these words."""
    for href, says in re.findall(r'<a [^>]*href="([^"]+)"[^>]*>(.*?)</a>', html, re.DOTALL):
        if words in text(says):
            return parse_qs(urlsplit(unescape(href)).query)
    raise AssertionError(f"no link says {words!r}")


# --- which kind of camera -----------------------------------------------------------------------------


def test_the_families_are_listed_with_the_number_of_their_parts(client: Client):
    told = page(client, "/strip/")
    for one in constructions().values():
        assert f'href="/strip/{one.id}/"' in told
        assert f"{one.name} {len(one.parts)} parts" in text(told)
    assert "maker's service sheet comes first" in text(told)


def test_the_trade_page_leads_to_the_families(client: Client):
    assert 'href="/strip/"' in page(client, "/trade/")


@pytest.fixture
def own_file(settings):
    """Writes a file into the workshop's folder; it is gone after the test."""
    written = []

    def write(name: str, told: str) -> None:
        path = settings.WORKSHOP.root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(told, "utf-8")
        written.append(path)

    yield write
    for path in written:
        path.unlink()


def test_a_family_of_ones_own_is_listed_as_own_and_planned(client: Client, own_file):
    own_file("mechanisms/odd.toml", ODD_MECHANISM)
    own_file("families/odd.toml", ODD_FAMILY)
    assert "Odd camera 2 parts own" in text(page(client, "/strip/"))
    assert "1 part, 2 min" in text(page(client, "/strip/odd/", {"reach": "odd.cap"}))
    assert "Odd camera" in page(client, "/strip/odd/parts/")


def test_a_broken_file_of_ones_own_is_said_and_the_rest_stays(client: Client, own_file):
    own_file("families/broken.toml", "id = 1")
    told = text(page(client, "/strip/"))
    assert "families/broken.toml" in told
    assert "Twin-lens reflex" in told


def test_an_unknown_family_is_no_page(client: Client):
    page(client, "/strip/no-such-camera/", status=404)


# --- before anything is asked -------------------------------------------------------------------------


def test_a_family_first_asks_what_to_reach_and_offers_every_part_that_comes_off(client: Client):
    told = page(client, TWIN)
    assert "Next: say what you want to reach." in text(told)
    assert 'class="way"' not in told
    for part in constructions()["twin-lens-reflex"].parts.values():
        assert (f"?reach={part.id}" in told) == bool(part.ways)


def test_the_whole_family_is_drawn_to_pick_from(client: Client):
    told = page(client, TWIN, {"view": "whole"})
    drawn = set(re.findall(r'<a class="box \w+" href="/strip/twin-lens-reflex/\?reach=([\w.-]+)', told))
    assert drawn == {p.id for p in constructions()["twin-lens-reflex"].parts.values() if p.ways}
    assert link(told, "Chips only") == {}


# --- the plan -----------------------------------------------------------------------------------------


def test_the_plan_is_told_in_a_line_drawn_and_listed(client: Client):
    told = page(client, TWIN, {"reach": TRAIN})
    found = plan(constructions()["twin-lens-reflex"], [TRAIN])
    assert f"{len(found.steps)} parts, {found.minutes:.0f} min" in text(told)
    assert "proved the cheapest" in text(told)
    for number, step in enumerate(found.steps, 1):
        assert f'aria-label="{number}. {step.part.name}' in told
        assert (
            f'<b class="no">{number}<span class="sr">.</span></b><p class="what"><b>{step.part.name}' in told
        )
        for words in (*step.way.cautions, *(note.says for note in step.way.before)):
            assert words in unescape(told)
        for risk in step.way.risks:
            assert f"{risk.what}: {100 * risk.chance:.2g} %, then {risk.minutes:g} min more" in text(told)


def test_cautions_stand_at_their_step(client: Client):
    told = page(client, TWIN, {"reach": TRAIN})
    for step in plan(constructions()["twin-lens-reflex"], [TRAIN]).steps:
        (item,) = re.findall(
            rf'<li class="step[^>]*>(?:(?!</li>).)*?<b>{step.part.name}</b>.*?</li>', told, re.S
        )
        assert ('class="caution"' in item) == bool(step.way.cautions)


def test_screws_are_told_with_thread_length_and_head_and_shims_with_their_place(client: Client):
    told = text(page(client, "/strip/box/", {"reach": "shutter.sector"}))
    assert "4 screws, 5 mm, round wood screw, to the outer box" in told
    assert "Shim on the sector's pivot, below: 0.1 to 0.5 mm" in told


def test_steps_by_one_tool_from_one_side_stand_together_and_a_change_is_said(client: Client):
    told = page(client, TWIN, {"reach": TRAIN})
    steps = plan(constructions()["twin-lens-reflex"], [TRAIN]).steps
    changes = sum((a.way.tool, a.way.side) != (b.way.tool, b.way.side) for a, b in pairwise(steps))
    assert told.count('class="hand"') == changes + 1
    assert "change to the screwdriver" in told


def test_a_part_is_found_by_any_name_and_the_address_then_names_it(client: Client):
    response = client.get(TWIN, {"find": "Slow Train", "avoid": "solder"})
    assert response.status_code == 302
    assert parse_qs(urlsplit(response["Location"]).query) == {"reach": [TRAIN], "avoid": ["solder"]}


def test_a_press_takes_a_target_back_and_keeps_the_rest(client: Client):
    told = page(client, TWIN, {"reach": [TRAIN, "covering.back-covering"], "off": "covering.front-covering"})
    assert link(told, "No more: slow train") == {
        "reach": ["covering.back-covering"],
        "off": ["covering.front-covering"],
    }


def test_what_is_off_is_planned_no_more_and_can_be_put_back_on(client: Client):
    first = plan(constructions()["twin-lens-reflex"], [TRAIN]).steps[0].part
    told = page(client, TWIN, {"reach": TRAIN})
    after = link(told, f"It is off: {first.name}")
    assert after == {"reach": [TRAIN], "off": [first.id]}
    told = page(client, TWIN, after)
    assert "6 parts" in text(told)
    assert f'aria-label="{first.name}: off already' in told
    assert link(told, f"Still on: {first.name}") == {"reach": [TRAIN]}


def test_when_all_is_off_it_says_so(client: Client):
    told = page(client, TWIN, {"reach": TRAIN, "off": TRAIN})
    assert "All of it is off." in text(told)
    assert 'class="step' not in told


def test_other_ways_are_told_with_what_they_cost_more_and_lead_there(client: Client):
    construction = constructions()["twin-lens-reflex"]
    found = plan(construction, [TRAIN])
    (other, *_) = found.alternatives
    told = page(client, TWIN, {"reach": TRAIN})
    assert f"{other.cost - found.cost:.0f} min more" in text(told)
    query = link(told, f"{other.instead_of.part.name}, not {other.instead_of.way.name}")
    told = page(client, TWIN, query)
    assert "Allow again: " + other.instead_of.part.name in text(told)
    assert f"<b>{other.instead_of.part.name}</b>, {other.instead_of.way.name} " not in told
    assert link(told, "Allow again") == {"reach": [TRAIN]}


def test_while_one_is_in_there_more_is_offered_with_what_it_costs(client: Client):
    told = page(client, TWIN, {"reach": TRAIN})
    assert "While you are in there" in text(told)
    assert re.search(r"Reach too: [\w ,'-]+ \+\d+ min", text(told))
    assert link(told, "Reach too:")["reach"][0] == TRAIN
    assert 'class="box could"' in told


# --- options and refusals -----------------------------------------------------------------------------


def test_an_option_is_shown_as_chosen_and_kept_by_every_link(client: Client):
    told = page(client, "/strip/box/", {"reach": "shutter.sector", "avoid": "glue", "from": "front"})
    assert re.search(r'value="glue" checked', told)
    assert re.search(r'value="front" checked', told)
    query = link(told, "It is off")
    assert query["avoid"] == ["glue"]
    assert query["from"] == ["front"]


def test_sparing_the_covering_spares_each_and_says_what_is_then_in_the_way(client: Client):
    told = text(page(client, TWIN, {"reach": TRAIN, "spare": "covering"}))
    assert "No way in. Front covering is to stay; there is no way in without it to slow train." in told
    assert TRAIN not in told


def test_a_covering_that_is_to_be_reached_is_not_spared(client: Client):
    told = page(client, TWIN, {"reach": "covering.front-covering", "spare": "covering"})
    assert "1 part, " in text(told)


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ({"reach": "flux capacitor"}, "'flux capacitor' is no part of this family."),
        ({"find": "shutter blade thing"}, "'shutter blade thing' is no part of this family. Nearest:"),
        ({"off": "nothing"}, "'nothing' is no part of this family."),
        ({"avoid": "magic"}, "'magic' is no kind of joint. Expected one of: screw, ring,"),
        ({"from": "below"}, "'below' is no side. Expected one of: front, top, base,"),
        ({"without": "shutter.slow-train~by moonlight"}, "is no way of a part of this family."),
        ({"spare": TRAIN}, "slow train cannot be reached and spared. It is to be reached."),
    ],
)
def test_what_cannot_be_taken_is_said_in_one_line_and_the_rest_is_kept(client: Client, query, says):
    asked = {"reach": [TRAIN, *([query["reach"]] if "reach" in query else [])]}
    told = page(client, TWIN, {**query, **asked})
    assert says in text(told)
    assert "7 parts" in text(told)


def test_a_name_of_several_parts_is_asked_back_and_stays_in_the_box(client: Client):
    told = page(client, "/strip/reflex-35-cloth/", {"find": "CdS cell", "reach": TRAIN})
    assert 'value="CdS cell"' in told
    assert "Reach the left CdS cell" in text(told)
    assert "Reach the right CdS cell" in text(told)


def test_what_may_be_meant_is_offered_for_what_was_wanted_of_it(client: Client):
    told = page(client, "/strip/reflex-35-cloth/", {"reach": "slow train", "off": "CdS cell"})
    (first, *_) = link(told, "It is off: the left CdS cell")["off"]
    assert constructions()["reflex-35-cloth"].parts[first].name == "left CdS cell"
    told = page(client, "/strip/reflex-35-cloth/", {"reach": "slow train", "spare": "CdS cell"})
    assert link(told, "Spare the right CdS cell")["reach"] == link(told, "Spare the left CdS cell")["reach"]


def test_nothing_of_an_address_reaches_the_page_unescaped(client: Client):
    evil = '"><script>alert(1)</script>'
    told = page(
        client, TWIN, dict.fromkeys(("find", "reach", "off", "spare", "avoid", "from", "without"), evil)
    )
    assert "<script>alert" not in told


def test_a_family_of_ones_own_cannot_write_into_the_page():
    told = render_to_string(
        "bench/parts/strip_way.html", {"way": shown(odd_family(), Asked(reach=("odd.cap",)))}
    )
    assert "<b>cap" not in told
    assert told.count("&lt;b&gt;cap") > 3
    assert "Leave &lt;i&gt;it&lt;/i&gt; alone." in told


def test_a_part_with_a_source_of_its_own_shows_it_at_its_step():
    told = render_to_string(
        "bench/parts/strip_way.html", {"way": shown(odd_family(), Asked(reach=("odd.cap",)))}
    )
    assert '<b class="mark seen">seen</b> Handbook of odd things, p. 3' in told


# --- on a job's page, where a press is kept -----------------------------------------------------------


@dataclass(frozen=True)
class Kept:
    """Links of a page that stores what is pressed."""

    stores: bool = True

    def to(self, asked: Asked) -> str:
        return f"/job/7/aim/{len(asked.reach)}/"

    def look(self, asked: Asked) -> str:
        return f"/job/7/strip/?{len(asked.reach)}"

    def form(self) -> str:
        return "/job/7/aim/"


def test_where_a_press_is_kept_it_is_sent_by_a_form():
    way = shown(odd_family(), Asked(reach=("odd.cap",)), Kept())
    told = rendered(way)
    assert '<a class="box reach" href="/job/7/strip/?0#way"' in told
    assert not re.search(r'<a [^>]*href="/job/7/aim', told)
    assert 'formaction="/job/7/aim/0/"' in told
    assert '<form class="press" method="post" action="/job/7/aim/1/">' in told
    assert 'hx-target="#main"' in told


# --- all parts ----------------------------------------------------------------------------------------


def test_all_parts_are_listed_with_what_they_are_made_of(client: Client):
    told = page(client, TWIN + "parts/")
    for part in constructions()["twin-lens-reflex"].parts.values():
        assert part.name in unescape(told)
    assert 'href="/trade/?q=brass"' in told
    assert "4 screws M1.7x0.35, slotted countersunk, to the lens board, under the front covering" in text(
        told
    )


def test_the_fold_gets_the_table_only(client: Client):
    response = client.get(TWIN + "parts/", headers={"HX-Request": "true"})
    assert "<html" not in response.content.decode()
    assert "HX-Request" in response["Vary"]


# --- helpers ------------------------------------------------------------------------------------------


def rendered(way) -> str:
    return render_to_string("bench/parts/strip_way.html", {"way": way})


def shown(construction: Construction, asked: Asked, links=None):
    links = links or QueryLinks("/strip/odd/", coverings(construction))
    return way_in(construction, asked, links, Reference())


def odd_family() -> Construction:
    mechanism = read_mechanism(ODD_MECHANISM, "odd.toml", Reference())
    return read_construction(ODD_FAMILY, "odd-family.toml", {"odd": mechanism})


ODD_MECHANISM = """
id = "odd"
name = "odd"
source = "practice of the bench"
mark = "practice"
[[part]]
id = "body"
name = "body"
materials = ["brass"]
[[part]]
id = "cap"
name = "<b>cap"
also = ["<b>cap's other name"]
materials = ["brass"]
source = "Handbook of odd things, p. 3"
mark = "seen"
joins = [{ kind = "screw", to = "body", count = 2, head = "<u>" }]
[[part.ways]]
side = "top"
tool = "screwdriver"
minutes = { low = 1, likely = 2, high = 3 }
cautions = ["Leave <i>it</i> alone."]
"""
ODD_FAMILY = """
id = "odd"
name = "Odd camera"
source = "practice of the bench"
mark = "practice"
[[use]]
mechanism = "odd"
called = "odd"
"""
