"""A lens's glass: haze, marks, fungus and separation graded; what cleaning changed; veiling glare."""

from pegwood.instruments.glass.analysis import analyse_glass, analyse_veil
from pegwood.instruments.glass.place import Glass
from pegwood.instruments.glass.practice import KINDS, Practice, practice
from pegwood.instruments.glass.results import Change, Condition, GlassLimits, GlassResult, Graded
from pegwood.instruments.glass.veil import Patch, Veil

__all__ = [
    "KINDS", "Change", "Condition", "Glass", "GlassLimits", "GlassResult", "Graded", "Patch", "Practice",
    "Veil", "analyse_glass", "analyse_veil", "practice",
]  # fmt: skip
