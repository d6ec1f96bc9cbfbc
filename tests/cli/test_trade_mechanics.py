"""`pegwood trade` on springs, shims, fits, clutches, cells, films and series: it answers or refuses."""

import json

import pytest
from click.testing import CliRunner

from pegwood.cli.root import main
from pegwood.cli.trade import QUESTIONS, trade
from trade.walk_json import unsourced


def run(*words):
    return CliRunner().invoke(main, ["trade", *words])


ASKED = [
    ("spring 0.30 3.3 10", "rate: 0.31 N/mm"),
    ("spring 2 20 5 --kind torsion --across mean", "N mm a degree"),
    ("spring 0.30 3.3 10 --again", "0.3 mm wire, 10 free turns"),
    ("spring --rate 0.31 --over 2.4 --within 4", "wind: "),
    ("shim 0.37 --stock 0.05x4,0.1x2,0.2,0.02", "4 leaves"),
    ("fit brass aluminium --diameter 50 --to 60 --clearance 0.02", "clearance: closes"),
    ("clutch --friction 0.15 --force 2 --faces 2 --outside 10 --inside 6", "2.4 N mm worn in"),
    ("cell MR9", "mercury oxide, 1.35 V"),
    ("film 120", "61 mm wide"),
    ("series 1/60", "15.625 ms"),
]


@pytest.mark.parametrize(("asked", "says"), ASKED)
def test_it_answers_and_names_its_sources(asked, says):
    shown = run(*asked.split())
    assert shown.exit_code == 0, shown.output
    assert says in shown.output.split("\n\n")[0]
    assert "How it is known" in shown.output


@pytest.mark.parametrize("asked", [asked for asked, _ in ASKED])
def test_json_is_one_object_whose_figures_have_their_sources(asked):
    shown = run(*asked.split(), "--json")
    data = json.loads(shown.output)
    assert unsourced(data) == []


@pytest.mark.parametrize(
    "asked",
    [
        "spring 3.3 0.3 10",
        "spring 0.3",
        "spring --rate 1",
        "spring 0.3 3.3 10 --of wool",
        "shim 0",
        "fit brass wood --diameter 5",
        "cell LR45",
        "film 999",
        "series 1/0",
    ],
)
def test_it_refuses_in_one_line(asked):
    shown = run(*asked.split())
    assert shown.exit_code == 2
    assert shown.output.startswith("pegwood: ")
    assert shown.output.count("\n") == 1


@pytest.mark.parametrize("name", QUESTIONS)
def test_the_line_in_the_list_is_the_questions_own(name):
    command = trade.get_command(None, name)
    assert command.help.strip().splitlines()[0] == QUESTIONS[name][1]
