"""The pages of families: listed, made of a job, looked over part by part, changed as a file, handed on."""

from __future__ import annotations

import html
import re
from itertools import count

import pytest
from django.test import Client

from pegwood.anatomy.construction import constructions
from pegwood.book import arriving
from pegwood.book.arriving import CameraDetails, OwnerDetails
from pegwood.book.families import construction_of
from pegwood.book.family_files import family_file
from pegwood.book.family_learning import make_family
from pegwood.book.models import DiaryEntry, Job
from pegwood.book.stripping.off import OffDetails, log_off

pytestmark = pytest.mark.django_db
BY = "Tove Halm"
serial = count(1)


@pytest.fixture(autouse=True)
def own(own_families, halm):
    return own_families


def strange(*names: str) -> Job:
    details = CameraDetails(maker="Vorrin", model="Duplex", serial=f"{next(serial)}")
    job = arriving.take_in(OwnerDetails(name="Ilse Marrick"), details, by=BY)
    for name in names:
        log_off(job, OffDetails(name=name, minutes=4), by=BY)
    return job


@pytest.fixture
def duplex() -> Job:
    job = strange("front ring", "lens cell", "shutter plate")
    make_family([job], "Duplex", by=BY)
    return job


def seen() -> str:
    return f"?seen={family_file('duplex').version}"


def part_of(name: str):
    return construction_of("duplex").parts[name]


#: Of the lens cell, as the page has it.
SENT = {
    "name": "lens cell",
    "also": "",
    "materials": "",
    "scarce": "scarce",
    "side": "front",
    "tool": "fingers",
    "low": "2",
    "likely": "4",
    "high": "12",
    "after": "front-ring",
    "after_more": "",
}
CELL = "/families/duplex/part/lens-cell/"


def send(client: Client, address: str = CELL, **changed):
    return client.post(address + seen(), {**SENT, **changed})


def text(answer) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode()))


# --- the list -----------------------------------------------------------------------------------------


def test_all_families_are_listed_and_own_ones_have_their_jobs(client: Client, duplex):
    answer = client.get("/families/")
    said = " ".join(text(answer).split())
    assert f"3 parts · families/duplex.toml · learned from {duplex.number}" in said
    for one in constructions().values():
        assert one.name in said
    assert "/families/" in client.get("/workshop/").content.decode()


def test_broken_files_are_told_with_file_and_line_and_take_no_page_down(client: Client, own, duplex):
    (own / "half.toml").write_text('id = "half"\nname = "Half"\nmark = "practice"\nsource = 3\n', "utf-8")
    (own / "bytes.toml").write_bytes(b"\xff\xfe")
    (own / "duplex.toml").write_text("id = \n", "utf-8")
    (own / "odd <b>.toml").write_text("x", "utf-8")
    said = text(client.get("/families/"))
    assert "families/half.toml, line 4: source: expected text, found 3." in said
    assert "bytes.toml is no text in UTF-8" in said
    assert "families/duplex.toml: Invalid value" in said
    assert "<b>.toml" not in client.get("/families/").content.decode()
    # its pages lead to the file, the job's pages go on without a family
    assert "Left aside:" in text(client.get("/families/duplex/"))
    assert client.get(CELL).status_code == 302
    assert client.get("/families/bytes/as-file/").status_code == 200
    assert "“duplex” is left aside or gone" in text(client.get(f"/job/{duplex.number}/strip/"))
    assert client.get(f"/job/{duplex.number}/").status_code == 200


def test_what_stands_in_place_of_a_family_that_came_is_told(client: Client, own):
    own.mkdir()
    (own / "my-box.toml").write_text(
        'id = "box"\nname = "My box"\nsource = "me"\nmark = "practice"\n[[part]]\nid = "lid"\nname = "lid"\n',
        "utf-8",
    )
    said = text(client.get("/families/"))
    assert "families/my-box.toml: your own 'box' stands in place of the one that came." in said


def test_a_file_that_is_not_there_is_a_plain_404(client: Client, duplex):
    for address in (
        "/families/nothing/",
        "/families/..%2F..%2Fbook/export/",
        "/families/duplex/part/nothing/",
    ):
        assert client.get(address).status_code == 404


def test_the_file_is_handed_on_as_it_is(client: Client, duplex):
    answer = client.get("/families/duplex/export/")
    assert answer.content.decode() == family_file("duplex").text
    assert answer["Content-Disposition"] == 'attachment; filename="duplex.toml"'


# --- from a job -----------------------------------------------------------------------------------------


def test_a_job_of_no_family_offers_to_make_one_and_it_is_made(client: Client):
    first, second = strange("front ring", "lens cell"), strange("front ring", "lens cell", "shutter plate")
    link = f"/job/{first.number}/family/"
    assert "Make a family of this strip-down" in text(client.get(f"/job/{first.number}/"))
    assert link in client.get(f"/job/{first.number}/").content.decode()
    assert link in client.get(f"/job/{first.number}/strip/").content.decode()
    page = client.get(link).content.decode()
    assert re.search(rf'value="{second.number}"[^>]* checked', page)  # the same model
    answer = client.post(link, {"into": "", "name": "Duplex", "jobs": [str(second.number)]}, follow=True)
    assert answer.redirect_chain[-1][0] == "/families/duplex/"
    assert "Duplex: 3 parts, in families/duplex.toml." in text(answer)
    assert "Learn it into its family" in text(client.get(f"/job/{first.number}/"))
    assert "in 2 jobs, never the other way" in text(client.get(CELL))
    third = strange("front ring", "top cover")
    page = client.get(f"/job/{third.number}/family/").content.decode()
    assert 'value="duplex"' in page
    client.post(f"/job/{third.number}/family/", {"into": "duplex", "name": ""})
    assert "top-cover" in construction_of("duplex").parts
    assert DiaryEntry.objects.filter(what="learned a family").count() == 2


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"into": "", "name": ""}, "Give the new family a name"),
        ({"into": "", "name": "box"}, "'box' is a kind of camera already"),
        ({"into": "no-such", "name": "x"}, "Select a valid choice"),
        ({"into": "", "name": "x", "jobs": ["999"]}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_made_is_refused_in_place_with_what_was_typed(client: Client, duplex, sent, says):
    job = strange("front ring")
    answer = client.post(f"/job/{job.number}/family/", sent)
    assert answer.status_code == 422
    assert says in text(answer)
    assert f'value="{sent["name"]}"' in answer.content.decode() or not sent["name"]


def test_a_camera_of_a_family_that_came_is_told_so(client: Client, arrived):
    log_off(arrived, OffDetails(name="top cover"), by=BY)
    link = f"/job/{arrived.number}/family/"
    assert link not in client.get(f"/job/{arrived.number}/").content.decode()
    assert "which came with Pegwood" in text(client.get(link))
    assert client.post(link, {"into": "", "name": "Mine"}).status_code == 422


# --- part by part -----------------------------------------------------------------------------------------


def test_a_part_is_changed_and_all_else_of_the_file_stays(client: Client, duplex):
    before = family_file("duplex").text
    answer = send(
        client,
        name="Rear cell",
        also="back lens, cell",
        materials="Brass, nickel plate",
        side="back",
        tool="spanner",
        not_in_all="on",
        after=[],
        after_more="",
        next="yes",
    )
    assert answer.status_code == 302, text(answer)
    assert answer["Location"] == "/families/duplex/part/shutter-plate/"
    cell = part_of("lens-cell")
    assert (cell.name, cell.also, cell.not_in_all) == ("Rear cell", ("back lens", "cell"), True)
    assert cell.materials[0] == "brass"
    assert len(cell.materials) == 2
    assert (cell.ways[0].side, cell.ways[0].tool, cell.ways[0].after) == ("back", "spanner", ())
    kept = [line for line in before.splitlines() if line.startswith("#")]
    assert [line for line in family_file("duplex").text.splitlines() if line.startswith("#")] == kept
    assert part_of("front-ring") == constructions_before(before)["front-ring"]


def constructions_before(before: str):
    from pegwood.book.family_files import checked

    return checked("duplex", before).parts


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"materials": "bras"}, "'bras' is no material that the tables know. Nearest: brass"),
        ({"low": "9"}, "expected low, likely, high in this order"),
        ({"high": ""}, "All three minutes are needed"),
        ({"likely": "nan"}, "Write a plain number"),
        ({"name": ""}, "still empty"),
        ({"name": "Front  Ring"}, "There is another part called 'Front  Ring'"),
        ({"after_more": "fron ring"}, "'fron ring' is no part of this family. Nearest: front ring"),
        ({"after_more": "lens cell"}, "cannot be off before itself"),
        ({"tool": "hammer"}, "Select a valid choice"),
        (
            {"after_more": "shutter plate"},
            "these wait for each other: lens cell after shutter plate after lens cell",
        ),
    ],
)
def test_what_cannot_be_is_told_in_place_and_nothing_is_lost(client: Client, duplex, changed, says):
    before = family_file("duplex").text
    answer = send(client, also="what was typed", **changed)
    assert answer.status_code == 422
    assert says in " ".join(text(answer).split()).replace("Front Ring", "Front  Ring")
    assert 'value="what was typed"' in answer.content.decode()
    assert family_file("duplex").text == before


def test_a_part_is_added_and_taken_out(client: Client, duplex):
    answer = send(client, "/families/duplex/new-part/", name="Top cover", after=[], after_more="front ring")
    assert answer.status_code == 302, text(answer)
    assert part_of("top-cover").ways[0].after == ("front-ring",)
    client.post(CELL + "take-out/" + seen())
    assert construction_of("duplex").parts.keys() == {"front-ring", "shutter-plate", "top-cover"}
    assert part_of("shutter-plate").ways[0].after == ("front-ring",)


def test_a_page_that_is_older_than_the_file_writes_nothing(client: Client, own, duplex):
    version = seen()
    path = own / "duplex.toml"
    path.write_text(path.read_text("utf-8") + "# by hand\n", "utf-8")
    answer = client.post(CELL + version, {**SENT, "also": "typed"})
    assert answer.status_code == 422
    assert "has changed since this page was opened" in text(answer)
    assert path.read_text("utf-8").endswith("# by hand\n")


def test_a_part_with_several_ways_is_changed_in_the_file_but_for_its_name(client: Client, own, duplex):
    path = own / "duplex.toml"
    more = '\n[[part]]\nid = "plate"\nname = "plate"\n'
    for name in ("from the front", "from the back"):
        more += f'[[part.ways]]\nname = "{name}"\nside = "front"\ntool = "fingers"\n'
        more += "minutes = { low = 1, likely = 2, high = 3 }\n"
    path.write_text(path.read_text("utf-8").replace("\n[[learned]]", more + "\n[[learned]]", 1), "utf-8")
    page = "/families/duplex/part/plate/"
    assert "It has 2 ways of coming off" in text(client.get(page))
    assert send(client, page, name="base plate").status_code == 302
    assert part_of("plate").name == "base plate"
    assert [way.name for way in part_of("plate").ways] == ["from the front", "from the back"]


# --- as a file ------------------------------------------------------------------------------------------


def test_the_file_is_changed_as_text_and_what_is_amiss_is_told_with_its_line(client: Client, duplex):
    page = "/families/duplex/as-file/"
    good = family_file("duplex").text
    wrong = good.replace('name = "lens cell"', "name = 3")
    answer = client.post(page + seen(), {"text": wrong})
    assert answer.status_code == 422
    line = wrong.splitlines().index("name = 3") + 1
    assert f"families/duplex.toml, line {line}: part 2, name: expected text, found 3." in text(answer)
    assert "name = 3" in text(answer)
    assert family_file("duplex").text == good
    browser_s = good.replace('name = "lens cell"', 'name = "rear cell"').replace("\n", "\r\n")
    answer = client.post(page + seen(), {"text": browser_s})
    assert answer.status_code == 302
    assert part_of("lens-cell").name == "rear cell"
    assert "\r" not in family_file("duplex").text


def test_the_family_is_called_otherwise(client: Client, duplex):
    client.post("/families/duplex/" + seen(), {"name": "Half-frame"})
    assert construction_of("duplex").name == "Half-frame"
    assert client.post("/families/duplex/" + seen(), {"name": " "}).status_code == 422


# --- what the step says of its minutes --------------------------------------------------------------------


def test_a_step_says_that_its_minutes_are_learned(client: Client, duplex):
    job = strange("front ring")
    client.post(f"/job/{job.number}/family/", {"into": "duplex", "name": ""})
    answer = client.get(f"/job/{job.number}/strip/?part=lens-cell")
    assert "min here (file: 4), timed 1 time" in text(answer)
    assert "Minutes learned from 2 jobs at this bench" in text(client.get("/families/duplex/"))
