"""Glues and coverings: what holds what, what lifts it, how long it takes."""

from __future__ import annotations

from pegwood.trade.glues._tables import COVERINGS, GLUES, JOINS, Covering, Fit, Glue, Join
from pegwood.trade.glues.curing import Curing, cure
from pegwood.trade.glues.joins import Choice, Ranking, best_glues
from pegwood.trade.glues.telling import curing_data, tell_covering, tell_glue, tell_join

__all__ = [
    "COVERINGS",
    "GLUES",
    "JOINS",
    "Choice",
    "Covering",
    "Curing",
    "Fit",
    "Glue",
    "Join",
    "Ranking",
    "best_glues",
    "cure",
    "curing_data",
    "tell_covering",
    "tell_glue",
    "tell_join",
]
