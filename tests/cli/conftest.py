"""The command, run in this process against the test's own book, or in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pegwood.cli import main
from pegwood.frame.workshop import WorkshopFolder

Run = Callable[..., Result]


@pytest.fixture
def run(db: None, workshop_folder: WorkshopFolder, monkeypatch: pytest.MonkeyPatch) -> Run:
    """``run("job", "list")``: what the command prints, and how it ends."""
    monkeypatch.setenv("PEGWOOD_WORKSHOP", str(workshop_folder.root))
    workshop_folder.database.touch()  # the commands look whether there is a book; the test's lies in memory

    def run(*words: object) -> Result:
        result = CliRunner().invoke(main, [str(word) for word in words])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return run


@pytest.fixture
def run_alone(tmp_path: Path) -> Callable[..., subprocess.CompletedProcess[str]]:
    """The command as a process of its own, in a workshop of its own: ``tmp_path / "alone"``."""

    def run(*words: object, **environment: str) -> subprocess.CompletedProcess[str]:
        clean = {name: value for name, value in os.environ.items() if not name.startswith("PEGWOOD_")}
        return subprocess.run(
            [sys.executable, "-m", "pegwood", *(str(word) for word in words)],
            env={**clean, "PEGWOOD_WORKSHOP": str(tmp_path / "alone"), **environment},
            cwd=tmp_path,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )

    return run
