"""Every table there is, read through at once: a slip in a workshop's own is found before it is asked."""

from __future__ import annotations

from typing import Any

from pegwood.trade.agents import AGENTS, MATRIX, METHODS, METHODS_ON, UNCLEAR, Tables
from pegwood.trade.cells import CELLS, SIZES, SYSTEMS
from pegwood.trade.films import FILMS
from pegwood.trade.fits import EXPANSIONS
from pegwood.trade.glues import COVERINGS, GLUES, JOINS
from pegwood.trade.lubricants import BEHAVIOURS, LUBRICANTS, PLACES
from pegwood.trade.materials import MATERIALS
from pegwood.trade.metals import (
    ANODIC_INDEX,
    CORROSION,
    ENVIRONMENTS,
    RULES,
    RUST_BANDS,
    RUST_GRADES,
    SEAWATER,
)
from pegwood.trade.names import nearest
from pegwood.trade.reference import Reference, Table
from pegwood.trade.safety import CODES, HAZARDS, MIXTURES, SAFETY_FIGURES, SUBSTANCES
from pegwood.trade.safety import RULES as SAFETY_RULES
from pegwood.trade.series import SERIES
from pegwood.trade.shims import FOIL_SETS
from pegwood.trade.springs import SPRING_WIRES, WIRE_SIZES
from pegwood.trade.threads import FAMILIES, FORMS, HOLES, ORIGINS, threads
from pegwood.trade.threads import SIZES as THREADS

EVERY: tuple[Table[Any], ...] = (
    MATERIALS,
    AGENTS,
    MATRIX,
    METHODS,
    METHODS_ON,
    UNCLEAR,
    ANODIC_INDEX,
    SEAWATER,
    ENVIRONMENTS,
    RULES,
    CORROSION,
    RUST_BANDS,
    RUST_GRADES,
    GLUES,
    JOINS,
    COVERINGS,
    SUBSTANCES,
    CODES,
    SAFETY_RULES,
    SAFETY_FIGURES,
    MIXTURES,
    HAZARDS,
    LUBRICANTS,
    PLACES,
    BEHAVIOURS,
    *THREADS,
    FAMILIES,
    FORMS,
    ORIGINS,
    HOLES,
    SPRING_WIRES,
    WIRE_SIZES,
    FOIL_SETS,
    EXPANSIONS,
    SYSTEMS,
    SIZES,
    CELLS,
    FILMS,
    SERIES,
)


def check(reference: Reference) -> None:
    """
    Read every table, and hold those against each other that speak of one another's rows.

    Raises
    ------
    ValueError
        In one line, with file and place, if a table is not as it must be.
    """
    stems = {table.stem for table in EVERY}
    for path in sorted(reference.own.glob("*.toml")) if reference.own else ():
        if path.stem not in stems:
            near = ", ".join(f"{one}.toml" for one in nearest(path.stem, stems))
            raise ValueError(f"{path} is named like no table, so nothing would read it. Nearest: {near}.")
    for table in EVERY:
        reference.rows(table)
    read = Tables(reference)
    for part in ("agents", "methods", "matrix", "methods_on"):
        getattr(read, part)
    threads(reference)
