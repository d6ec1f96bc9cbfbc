"""How soon ``pegwood --help`` answers, against a Python that starts and does nothing."""

from __future__ import annotations

import subprocess
import sys
import time
from statistics import median
from typing import Any

RUNS = 15


def _seconds(*arguments: str) -> float:
    began = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def measure() -> dict[str, Any]:
    """Median of a few runs, the two taken in turn so that a busy moment hits both."""
    _seconds("-m", "pegwood", "--help")  # once, to have the bytecode written
    pairs = [(_seconds("-m", "pegwood", "--help"), _seconds("-c", "pass")) for _ in range(RUNS)]
    value, baseline = (median(side) for side in zip(*pairs, strict=True))
    return {
        "name": "pegwood --help",
        "value": value,
        "baseline": baseline,
        "against": "python -c pass",
        "ratio": value / baseline,
        "budget": 0.150,
        "budget_is": "value",
    }
