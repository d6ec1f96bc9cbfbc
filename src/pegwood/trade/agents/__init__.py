"""Agents on materials: what may touch what, put on how, and how a whole assembly may be cleaned."""

from __future__ import annotations

from pegwood.trade.agents._bearing import Bearing, Part, Step
from pegwood.trade.agents._judging import Judgement, Reason, judged, method_on, verdict, worst
from pegwood.trade.agents._kinds import (
    AGENTS,
    MATRIX,
    METHODS,
    METHODS_ON,
    UNCLEAR,
    Agent,
    AgentsOn,
    Dirt,
    Method,
    MethodsOn,
    Unclear,
    Verdict,
)
from pegwood.trade.agents._routes import Route, parts_of, routes
from pegwood.trade.agents._tables import Tables, UnclearWord
from pegwood.trade.agents._telling import tell_agent, tell_material
from pegwood.trade.agents._telling_method import tell_method
from pegwood.trade.agents._telling_routes import tell_routes

__all__ = [
    "AGENTS",
    "MATRIX",
    "METHODS",
    "METHODS_ON",
    "UNCLEAR",
    "Agent",
    "AgentsOn",
    "Bearing",
    "Dirt",
    "Judgement",
    "Method",
    "MethodsOn",
    "Part",
    "Reason",
    "Route",
    "Step",
    "Tables",
    "Unclear",
    "UnclearWord",
    "Verdict",
    "judged",
    "method_on",
    "parts_of",
    "routes",
    "tell_agent",
    "tell_material",
    "tell_method",
    "tell_routes",
    "verdict",
    "worst",
]
