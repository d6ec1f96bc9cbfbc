"""The torque of something that turns, by a spring balance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

from pegwood.book.gauging.limits import LIMITS, limit_in
from pegwood.book.gauging.readers._typed import typed_table
from pegwood.book.gauging.ways import GaugeFile
from pegwood.instruments.transport.told import CLUTCH, friction_told, newtons

#: By the mark: what a limit is asked for. Of what is not here none is known.
LIMIT_OF = {
    CLUTCH: CLUTCH,
    "rewind": "rewind",
    "advance without film": "advance-empty",
    "advance with film": "advance-film",
}


def read(files: Sequence[GaugeFile], said: Mapping[str, Any]) -> dict[str, Any]:
    """
    How hard it turns.

    Parameters
    ----------
    files : sequence of GaugeFile
        One table, with the column `force_n`.
    said : mapping
        `marked`, which part turns; `radius_mm`, `balance` ("N" or "g": what a bare figure is in), and of a
        clutch `core_mm` and `full_mm`.

    Raises
    ------
    RefusedReadings
        One line.
    """
    table = typed_table(files)
    table.need("force_n")
    forces = table.column("force_n", partial(newtons, unit=said.get("balance") or "N"))
    what = LIMIT_OF.get(str(said.get("marked") or ""))
    key = f"transport.{what}_n_m"
    limit = limit_in(said, key) if key in LIMITS else None
    turned = friction_told(forces, {**said, "what": what}, limit=limit)
    return {**turned.to_json(), "warnings": list(turned.warnings), "notes": []}
