"""The box that understands plain words: what it tells, what it does not know, how each line is known."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from django.test import Client

from pegwood.book.looking import FindingDetails, note_finding
from pegwood.trade.asking import EXAMPLES
from pegwood.trade.asking import ask as ask_tables
from pegwood.trade.reference import Reference

pytestmark = pytest.mark.django_db
LIVE = {"HX-Request": "true"}


@pytest.fixture
def own_tables(settings):
    """Writes tables of the workshop's own; they are gone after the test."""
    written = []

    def write(stem: str, text: str) -> None:
        path = settings.WORKSHOP.tables / f"{stem}.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
        written.append(path)

    yield write
    for path in written:
        path.unlink()


def ask(client: Client, question: str, headers=None) -> str:
    response = client.get("/trade/", {"q": question}, headers=headers)
    assert response.status_code == 200
    return response.content.decode()


def test_an_unknown_word_offers_the_question_with_the_nearest_names(client: Client):
    page = ask(client, "brass + stel")
    assert "&#x27;stel&#x27; is no word that the tables know. Nearest: steel" in page
    assert 'href="/trade/?q=brass%20%2B%20steel"' in page


def test_htmx_gets_the_answer_only(client: Client):
    page = ask(client, "nosuchword", headers=LIVE)
    assert "<html" not in page
    assert "is no word" in page


def test_the_browsers_own_button_brings_back_the_page_and_not_the_bare_answer(client: Client):
    # RFC 9111, 4.1: a stored answer is used again only where the headers named in Vary are the same
    assert "HX-Request" in client.get("/trade/", {"q": "brass"}, headers=LIVE)["Vary"]
    assert "HX-Request" in client.get("/trade/", {"q": "brass"})["Vary"]


def test_who_listens_hears_one_line_and_the_title_follows_the_typing(client: Client):
    page = ask(client, "acetone on celluloid", headers=LIVE)
    heard = page.partition('id="heard"')[2]
    assert "never Dissolves it" in heard
    assert "cautions below" in heard
    assert "Flash point" not in heard
    assert re.search(r"<title>Trade: acetone on celluloid\b", page)
    whole = ask(client, "acetone on celluloid")
    assert whole.count('id="heard"') == 1
    assert "aria-live" not in whole.partition("<main")[2].partition("</main>")[0]


@pytest.mark.parametrize("half", ["bra", "bras", "stee", "napht", "acet", "selen"])
def test_a_half_typed_name_is_not_answered_as_another_thing(client: Client, half):
    assert "is no word that the tables know" in ask(client, half, headers=LIVE)


def test_a_long_question_is_not_offered_again_whole(client: Client):
    page = ask(client, "clean the old brass blades of a shutter that lay for years in a cellar, with oil")
    assert "is no word" in page
    assert all(len(one) < 40 for one in re.findall(r'class="chip"[^>]*>([^<]*)', page))


def test_every_question_that_an_answer_offers_can_be_asked():
    tables = Reference()
    offered = {also for question in EXAMPLES for also in ask_tables(tables, question).also}
    offered |= {also for question in offered for also in ask_tables(tables, question).also}
    assert len(offered) > len(EXAMPLES)
    for question in offered:
        assert ask_tables(tables, question).headline.says


def test_only_looking_is_possible(client: Client):
    assert client.post("/trade/", {"q": "brass"}).status_code == 405


class Lines(HTMLParser):
    """The lines of an answer that tell something, each with its marks and the numbers of its sources."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.lines: list[str] = []
        self.sources = 0
        self._depth = 0
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        tells = given.get("class") in ("headline", "caution", "labelled") or (
            tag == "li" and self._in_told and not given.get("id")
        )
        if given.get("class") == "told":
            self._in_told = True
        if (given.get("id") or "").startswith("source-"):
            self.sources += 1
        if tells:
            self.lines.append("")

    def handle_endtag(self, tag):
        if tag == "ul":
            self._in_told = False

    def handle_data(self, data):
        if self.lines:
            self.lines[-1] += data

    _in_told = False


@pytest.mark.parametrize("question", EXAMPLES)
def test_no_line_reaches_the_page_without_its_mark_and_its_source(client: Client, question):
    page = Lines(ask(client, question, headers=LIVE))
    assert page.lines
    for line in page.lines:
        known = re.search(r"(seen|memory|practice)(?: own)? \[([\d,]+)\]", line)
        assert known, line
        assert all(1 <= int(number) <= page.sources for number in known[2].split(","))


def test_an_answer_names_what_it_rests_on_and_what_comes_first(client: Client):
    page = ask(client, "brass + steel, salt")
    assert "local rules and licensed practice come before" in page
    assert "ASTM G82" in page


def test_symbols_of_an_agents_dangers_stand_on_the_page(client: Client):
    page = ask(client, "acetone on shellac")
    assert "bench/ghs/GHS02" in page
    assert "flammable" in page


def test_a_workshops_own_row_says_that_it_is_its_own(client: Client, own_tables):
    own_tables(
        "agents",
        'source = "my own test"\nmark = "practice"\n\n[[row]]\nkey = "brew"\nname = "my brew"\nuse = "gum"\n'
        'strength = "as mixed"\ngentle = 90\nflammable = false\nresidue = false\nwater_based = true\n',
    )
    page = ask(client, "my brew")
    assert "my own test" in page
    assert "your own table" in page


def test_a_slip_in_an_own_table_is_told_and_the_page_answers_without_it(client: Client, own_tables):
    own_tables("agents", '[[row]]\nkey = "brew"\n')
    page = ask(client, "brass + steel, salt")
    assert "agents.toml, line 1" in page
    assert "Answered without your own tables" in page
    assert "autofocus" not in ask(client, "brass", headers=LIVE)  # the keyboard stays with who is typing
    assert "steel suffers" in page


def test_a_finding_says_what_its_part_is_usually_made_of_and_where_that_leads(client: Client, arrived):
    note_finding(arrived, FindingDetails(part="selenium cell", condition="lid cracked"), by="x")
    page = client.get(f"/job/{arrived.number}/").content.decode()
    assert "usually of" in page
    assert 'href="/trade/?q=selenium%20cell"' in page
    assert "What may be done about it" not in page


def test_corrosion_on_a_finding_leads_to_what_its_materials_allow(client: Client, arrived):
    found = note_finding(
        arrived, FindingDetails(part="struts", condition="red rust", made_of="steel, blued steel"), by="x"
    )
    assert "What may be done about it" in client.get(f"/job/{arrived.number}/").content.decode()
    page = client.get(f"/finding/{found.pk}/").content.decode()
    assert "It is made of" in page
    closed = page.partition("Closed to it")[2]
    assert "citric acid" in closed
    assert "minutes" in page.partition("Closed to it")[0]


def test_a_treatment_is_written_down_as_work_with_one_press(client: Client, arrived):
    found = note_finding(
        arrived, FindingDetails(part="struts", condition="red rust", made_of="steel"), by="x"
    )
    page = client.get(f"/finding/{found.pk}/").content.decode()
    done = re.search(r'name="done" value="(treated red-brown rust: naphtha[^"]*)"', page)
    assert done
    client.post(f"/job/{arrived.number}/work/", {"part": "struts", "done": done[1]})
    assert arrived.work.get().done == done[1]


def test_what_a_part_is_made_of_is_kept_by_its_keys_and_refused_if_unknown(client: Client, arrived):
    found = note_finding(arrived, FindingDetails(part="struts", condition="worn"), by="x")
    typed = {"part": "struts", "condition": "worn", "made_of": "Chrome, German silver"}
    client.post(f"/finding/{found.pk}/", typed)
    found.refresh_from_db()
    assert found.made_of == "chromium-plate, nickel-silver"
    answer = client.post(f"/finding/{found.pk}/", {**typed, "made_of": "brass, moonstone"})
    assert answer.status_code == 422
    page = answer.content.decode()
    assert "&#x27;moonstone&#x27; is no material" in page
    assert re.search(r'value="brass, moonstone"[^>]*aria-invalid="true"', page)


def test_a_material_whose_own_table_is_gone_is_not_told_as_nothing(client: Client, arrived):
    found = note_finding(
        arrived, FindingDetails(part="struts", condition="red rust", made_of="steel"), by="x"
    )
    type(found).objects.filter(pk=found.pk).update(made_of="my-alloy")
    page = client.get(f"/finding/{found.pk}/").content.decode()
    assert "my-alloy" in page
    assert "It is made of" not in page


def test_two_ways_with_one_agent_say_which_corrosion_each_is_for(client: Client, arrived):
    found = note_finding(
        arrived, FindingDetails(part="struts", condition="red rust", made_of="steel, blued steel"), by="x"
    )
    allowed = client.get(f"/finding/{found.pk}/").content.decode().partition("What its materials allow")[2]
    assert "Red-brown rust: " in allowed
    assert "Rust on blued steel: " in allowed


def test_a_glue_that_no_table_knows_is_refused_and_what_was_typed_stands(client: Client, on_the_bench):
    typed = {"move": "let it wait", "waiting_for": "curing", "long": "shelac", "text": "left strut seat"}
    answer = client.post(f"/job/{on_the_bench.number}/move/", typed, headers=LIVE)
    assert answer.status_code == 422
    page = answer.content.decode()
    form = page.partition('<form id="move-let-it-wait"')[2].partition("</form>")[0]
    assert "Nearest: shellac" in form
    assert "data-answered" in form
    assert 'value="shelac"' in form
    assert 'value="left strut seat"' in form
    assert not answer.has_header("HX-Retarget")
    gone = client.post(f"/job/{on_the_bench.number}/move/", {"move": "take it back"}, headers=LIVE)
    assert gone["HX-Retarget"] == gone["HX-Reselect"] == "#main"
    taken = client.post(f"/job/{on_the_bench.number}/move/", {**typed, "long": "shellac"}, headers=LIVE)
    assert taken["HX-Redirect"] == f"/job/{on_the_bench.number}/"
    on_the_bench.refresh_from_db()
    assert on_the_bench.waits_until > on_the_bench.arrived_at


def test_chances_are_drawn_as_bars_as_long_as_they_are_probable(client: Client):
    page = ask(client, "1.7 0.35")
    widths = [int(one) for one in re.findall(r'class="bar"[^>]*><i style="width:(\d+)%"', page)]
    told = [int(one) for one in re.findall(r"</span>\s*(\d+) %\.", page)]
    assert widths == told
    assert len(widths) >= 3
