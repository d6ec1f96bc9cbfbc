"""How soon the trade answers: as a command against ``python -c pass``, and warm against reading one table."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from statistics import median
from time import perf_counter
from typing import Any

from benchmarks.command_help import _seconds

RUNS = 15


def measure() -> list[dict[str, Any]]:
    """The command in turn with a bare Python; every example of the page, warm, and the slowest of them."""
    question = ["-m", "pegwood", "trade", "brass + steel, salt"]
    _seconds(*question)  # once, to have the bytecode written
    pairs = [(_seconds(*question), _seconds("-c", "pass")) for _ in range(RUNS)]
    command, bare = (median(side) for side in zip(*pairs, strict=True))
    warm, table = _slowest_warm(), _one_table()
    return [
        {
            "name": "pegwood trade, as a command",
            "value": command,
            "baseline": bare,
            "against": "python -c pass",
            "ratio": command / bare,
            "budget": 0.250,
            "budget_is": "value",
        },
        {
            "name": f"warm look-up, the slowest of the examples ({warm[1]!r})",
            "value": warm[0],
            "baseline": table,
            "against": "parsing the table of materials",
            "ratio": warm[0] / table,
            "budget": 0.005,
            "budget_is": "value",
        },
    ]


def _slowest_warm() -> tuple[float, str]:
    from pegwood.trade.asking import EXAMPLES, ask
    from pegwood.trade.reference import Reference

    reference = Reference()
    times = []
    for question in EXAMPLES:
        ask(reference, question)
        times.append((median(_timed(lambda q=question: ask(reference, q)) for _ in range(RUNS)), question))
    return max(times)


def _one_table() -> float:
    text = files("pegwood.trade").joinpath("tables", "materials.toml").read_text(encoding="utf-8")
    return median(_timed(lambda: tomllib.loads(text)) for _ in range(RUNS))


def _timed(call: Any) -> float:
    began = perf_counter()
    call()
    return perf_counter() - began
