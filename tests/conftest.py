"""Rules that hold for every test of the house; what only some rooms need stands in their own folders."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

from pegwood.frame.workshop import WorkshopFolder

# --- the same examples each time, and no clock: how long one takes says how busy the machine is ---------

settings.register_profile("house", derandomize=True, deadline=None)
settings.load_profile("house")

# --- nothing is skipped in CI, and what is left out is said -------------------------------------------


def _refused(report: pytest.TestReport | pytest.CollectReport) -> None:
    """In CI a skipped test is a failed one: a check that did not run has checked nothing."""
    if os.environ.get("CI") == "true" and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"skipped, and CI=true: {report.longrepr}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]):
    report = yield
    _refused(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector):
    report = yield
    _refused(report)
    return report


LEFT_OUT = pytest.StashKey[dict[str, int]]()


def pytest_deselected(items: list[pytest.Item]) -> None:
    for item in items:
        counts = item.config.stash.setdefault(LEFT_OUT, {})
        for kind in ("slow", "browser"):
            if item.get_closest_marker(kind):
                counts[kind] = counts.get(kind, 0) + 1


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    for kind, count in config.stash.get(LEFT_OUT, {}).items():
        terminalreporter.write_line(f"left out: {count} {kind} (python3 run.py test runs everything)")


# --- on all cores -------------------------------------------------------------------------------------


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> LoadScopeScheduling:
    """A file's tests stay together, and so do all in a browser: one of those at a time."""
    return ByRoom(config, log)


class ByRoom(LoadScopeScheduling):
    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.split("::", 1)[0]
        return "browser" if "browser" in file.split("/") else file


# --- every test has a workshop of its own -------------------------------------------------------------


@pytest.fixture(autouse=True)
def workshop_folder(tmp_path: Path, settings) -> WorkshopFolder:
    """An empty workshop's folder; the book itself is the test database."""
    folder = WorkshopFolder(tmp_path / "workshop")
    folder.root.mkdir()
    settings.WORKSHOP = folder
    return folder


@pytest.fixture
def own_families(workshop_folder: WorkshopFolder) -> Path:
    """The folder of the workshop's own families; it is not there yet."""
    return workshop_folder.root / "families"
