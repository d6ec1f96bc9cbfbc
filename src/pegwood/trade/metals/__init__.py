"""Metals and finishes: couples, what corrosion looks like and what undoes it, grades of rust."""

from __future__ import annotations

from pegwood.trade.metals._tables import (
    ANODIC_INDEX,
    CORROSION,
    ENVIRONMENTS,
    RULES,
    RUST_BANDS,
    RUST_GRADES,
    SEAWATER,
    AnodicIndex,
    Corrosion,
    Environment,
    RustGrade,
    Treatment,
)
from pegwood.trade.metals._telling_corrosion import tell_corrosion, tell_rust
from pegwood.trade.metals.corrosion import Seen, corrosion_of, corrosion_on, corrosion_seen
from pegwood.trade.metals.couples import Couple, couple, in_order, index_of
from pegwood.trade.metals.grades import FLAGS, Graded, grade_from_area, grade_from_look, rp_by_formula
from pegwood.trade.metals.telling import tell_couple, tell_metal

__all__ = [
    "ANODIC_INDEX",
    "CORROSION",
    "ENVIRONMENTS",
    "FLAGS",
    "RULES",
    "RUST_BANDS",
    "RUST_GRADES",
    "SEAWATER",
    "AnodicIndex",
    "Corrosion",
    "Couple",
    "Environment",
    "Graded",
    "RustGrade",
    "Seen",
    "Treatment",
    "corrosion_of",
    "corrosion_on",
    "corrosion_seen",
    "couple",
    "grade_from_area",
    "grade_from_look",
    "in_order",
    "index_of",
    "rp_by_formula",
    "tell_corrosion",
    "tell_couple",
    "tell_metal",
    "tell_rust",
]
