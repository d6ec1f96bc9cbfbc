"""The one command that runs the benchmarks: what it takes, what it shows, what it refuses."""

from __future__ import annotations

import importlib
import json
import sys
from types import SimpleNamespace

import pytest

import benchmarks.__main__ as command

ROW = {"name": "reading a page", "value": 0.02, "baseline": 0.01, "ratio": 2.0, "budget": 3.0}


@pytest.fixture
def bench(monkeypatch):
    """Put a made-up benchmark in the place of those there are."""

    def put(measure):
        monkeypatch.setattr(command, "names", lambda: ["invented"])
        monkeypatch.setitem(sys.modules, "benchmarks.invented", SimpleNamespace(measure=measure))

    return put


def test_a_benchmark_gives_one_row_or_several(bench):
    bench(lambda: ROW)
    assert [row["name"] for row in command.measured("invented")] == ["reading a page"]
    bench(lambda: [ROW, ROW | {"name": "writing a page"}])
    assert [row["name"] for row in command.measured("invented")] == ["reading a page", "writing a page"]


def test_a_row_that_lacks_its_baseline_is_refused(bench):
    bench(lambda: {key: value for key, value in ROW.items() if key != "baseline"})
    with pytest.raises(ValueError, match=r"benchmarks/invented\.py: a row lacks baseline"):
        command.measured("invented")


def test_the_budget_is_a_ratio_unless_it_says_it_is_the_value():
    assert not command.over(ROW)
    assert command.over(ROW | {"budget": 1.9})
    assert not command.over(ROW | {"budget": 0.05, "budget_is": "value"})
    assert command.over(ROW | {"budget": 0.01, "budget_is": "value"})
    assert not command.over(ROW | {"budget": None})


def test_json_is_one_object_on_stdout(bench, capsys):
    bench(lambda: ROW)
    assert command.main(["--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["rows"][0]["ratio"] == 2.0
    assert said["failed"] == []


@pytest.mark.parametrize("name", command.names())
def test_every_module_beside_it_is_a_benchmark(name):
    assert callable(importlib.import_module(f"benchmarks.{name}").measure)


@pytest.mark.slow
def test_the_pages_answer_in_a_book_of_many_jobs():
    from benchmarks import pages

    found = pages._pages(60)
    assert found.keys() == {"front page", "job card", "search"}
    assert all(0 < page["median"] <= page["p95"] for page in found.values())


@pytest.mark.slow
def test_what_is_promised_holds_about_as_often_as_it_says():
    from benchmarks import price

    found = price.held(60, draws=1000)
    # 60 jobs: three standard deviations either way of 50, 80 and 95 %; the benchmark takes 2,000
    assert 0.30 <= found["usual"] <= 0.70
    assert 0.64 <= found["not_more_than"] <= 0.96
    assert found["worst"] >= 0.86


def test_only_strict_makes_a_figure_over_its_budget_an_error(bench, capsys):
    bench(lambda: ROW | {"budget": 1.0})
    assert command.main([]) == 0
    assert "over" in capsys.readouterr().out
    assert command.main(["--strict"]) == 1


def test_a_broken_benchmark_is_said_and_is_an_error(bench, capsys):
    def broken():
        raise RuntimeError("no such recording")

    bench(broken)
    assert command.main(["--json"]) == 1
    said = capsys.readouterr()
    assert json.loads(said.out)["failed"] == ["invented"]
    assert "no such recording" in said.err


def test_an_unknown_name_is_refused_with_the_names_there_are(bench, capsys):
    bench(lambda: ROW)
    with pytest.raises(SystemExit, match="2"):
        command.main(["invented", "forgotten"])
    assert "there are: invented" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("number", "unit", "shown"),
    [
        (0.0123, "s", "12.3 ms"),
        (2.5, "s", "2.5 s"),
        (2.0, "×", "2 ×"),
        (12345.6, "", "12,346"),
        (None, "s", "–"),
    ],
)
def test_a_figure_is_shown_in_a_unit_one_can_read(number, unit, shown):
    assert command.figure(number, unit) == shown
