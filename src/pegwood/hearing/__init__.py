"""
Speech or typed narration in, findings on named parts out.

Nothing leaves the bench, no language model is asked, and whatever is found is a proposal: a person keeps it,
mends it or drops it.
"""

from pegwood.hearing.extracting import hear
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
from pegwood.hearing.telling import as_data
from pegwood.hearing.timed_text import NotNarration, read_narration
from pegwood.hearing.vocabulary import BadVocabulary, Taught, Vocabulary, vocabulary

__all__ = [
    "BadVocabulary",
    "Certainty",
    "Heard",
    "Line",
    "NamedPart",
    "NotNarration",
    "SaidFinding",
    "SaidRemark",
    "SaidWork",
    "Taught",
    "Unplaced",
    "Vocabulary",
    "as_data",
    "hear",
    "read_narration",
    "vocabulary",
]
