"""
Speech or typed narration in, findings on named parts out.

Nothing leaves the bench, no language model is asked, and whatever is found is a proposal: a person keeps it,
mends it or drops it.
"""

from pegwood.hearing.results import (
    Certainty,
    Heard,
    Line,
    NamedPart,
    SaidFinding,
    SaidRemark,
    SaidWork,
    Unplaced,
)

__all__ = [
    "Certainty",
    "Heard",
    "Line",
    "NamedPart",
    "SaidFinding",
    "SaidRemark",
    "SaidWork",
    "Unplaced",
]
