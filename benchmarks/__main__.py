"""
Run every benchmark beside this file: ``python -m benchmarks [NAME...] [--json] [--strict]``.

A benchmark is a module here with a function ``measure()`` that returns one dict or a list of them:

=============  ====================================================================================
``name``       what was measured
``value``      the figure, in ``unit`` (``"s"`` unless it says otherwise)
``baseline``   the figure it is held against, same unit, measured in the same run
``against``    what the baseline is, in words
``ratio``      value over baseline
``budget``     what may not be exceeded: a ratio, or with ``budget_is = "value"`` the value itself
=============  ====================================================================================

They are no tests: another process on the same machine changes every figure. With ``--strict`` a figure over
its budget makes the exit code 1.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import pkgutil
import platform
import sys
import time
import traceback
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

HERE = Path(__file__).resolve().parent
KEYS = {"name", "value", "baseline", "ratio", "budget"}


def names() -> list[str]:
    """The benchmarks there are, in alphabetical order."""
    return sorted(m.name for m in pkgutil.iter_modules([str(HERE)]) if not m.name.startswith("_"))


def measured(name: str) -> list[dict[str, Any]]:
    """
    What one benchmark found, each row complete.

    Raises
    ------
    ValueError
        If a row lacks one of the keys.
    """
    found = importlib.import_module(f"benchmarks.{name}").measure()
    rows = [found] if isinstance(found, dict) else list(found)
    for row in rows:
        if missing := KEYS - row.keys():
            raise ValueError(f"benchmarks/{name}.py: a row lacks {', '.join(sorted(missing))}: {row}")
    return [{"benchmark": name, "unit": "s", "against": "", **row} for row in rows]


def over(row: dict[str, Any]) -> bool:
    """Whether a figure is over its budget; without a budget it never is."""
    figure = row["value"] if row.get("budget_is") == "value" else row["ratio"]
    return row["budget"] is not None and figure is not None and figure > row["budget"]


def figure(number: float | None, unit: str = "") -> str:
    """A number for the table, in a unit one can read."""
    if number is None:
        return "–"
    if unit == "s" and abs(number) < 1:
        return f"{number * 1000:.3g} ms"
    return f"{number:,.3g} {unit}".strip() if abs(number) < 1000 else f"{number:,.0f} {unit}".strip()


def table(rows: list[dict[str, Any]]) -> Table:
    """The rows for somebody to look at."""
    drawn = Table(box=None, header_style="bold", padding=(0, 2))
    for head in ("what", "figure", "against", "ratio", "budget", ""):
        drawn.add_column(head, justify="right" if head in ("figure", "ratio", "budget") else "left")
    for row in rows:
        of_value = row.get("budget_is") == "value"
        drawn.add_row(
            row["name"],
            figure(row["value"], row["unit"]),
            f"{figure(row['baseline'], row['unit'])} {row['against']}".strip(),
            figure(row["ratio"], "×"),
            figure(row["budget"], row["unit"] if of_value else "×"),
            "[bold]over[/bold]" if over(row) else "",
        )
    return drawn


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(
        prog="python -m benchmarks", description=(__doc__ or "").split("\n\n")[0]
    )
    parser.add_argument(
        "names", nargs="*", metavar="NAME", help=f"one of: {', '.join(names()) or 'none yet'}"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object instead of the table")
    parser.add_argument("--strict", action="store_true", help="exit code 1 when a figure is over its budget")
    asked = parser.parse_args(arguments)
    if unknown := set(asked.names) - set(names()):
        parser.error(f"no benchmark called {', '.join(sorted(unknown))}; there are: {', '.join(names())}")
    console = Console(stderr=asked.json)
    rows: list[dict[str, Any]] = []
    failed: list[str] = []
    for name in asked.names or names():
        began = time.perf_counter()
        try:
            with console.status(f"{name} ..."):
                rows += measured(name)
        except Exception:  # noqa: BLE001  one broken benchmark does not hide the others
            failed.append(name)
            console.print(f"[bold]{name} failed[/bold]")
            console.print(traceback.format_exc(), markup=False)
        else:
            console.print(f"{name}: {time.perf_counter() - began:.1f} s", style="dim")
    if asked.json:
        machine = {
            "python": platform.python_version(),
            "machine": platform.machine(),
            "cores": os.cpu_count(),
        }
        print(json.dumps({"machine": machine, "rows": rows, "failed": failed}, indent=1))
    else:
        console.print(table(rows))
    return 1 if failed or (asked.strict and any(map(over, rows))) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
