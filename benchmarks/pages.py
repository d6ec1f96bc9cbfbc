"""How long the pages take in the server with 10,000 jobs in the book, against the same pages with 100."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

MANY, FEW = 10_000, 100
BUDGET_S = 0.080


def _pages(count: int) -> dict[str, dict[str, float]]:
    # A program of its own for each book: Django takes one workshop in its life.
    command = [sys.executable, "-m", "benchmarks._book_of_jobs", str(count)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    found: dict[str, dict[str, float]] = json.loads(done.stdout)
    return found


def measure() -> list[dict[str, Any]]:
    """The 95th percentile of each page."""
    many, few = _pages(MANY), _pages(FEW)
    return [
        {
            "name": f"{page}, p95 of processor time, {MANY:,} jobs",
            "value": many[page]["p95"],
            "baseline": few[page]["p95"],
            "against": f"{FEW} jobs",
            "ratio": many[page]["p95"] / few[page]["p95"],
            "budget": BUDGET_S,
            "budget_is": "value",
        }
        for page in many
    ]
