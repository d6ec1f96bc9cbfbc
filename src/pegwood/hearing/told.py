"""One sentence as it was listened to: where the talk stood before it, and what the rules made of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from pegwood.hearing.certainty import Standing
from pegwood.hearing.items import Sentence

#: Parts that one is taken to mean, and those of which it may be one.
Meant = tuple[tuple[int, ...], tuple[int, ...]]


@dataclass(slots=True)
class Told:
    """
    A sentence, and the state it was said in.

    Attributes
    ----------
    sentence : Sentence
    stands : Standing
    topic, may_be : tuple of int
        The parts spoken of before it, and those of which that may be one.
    recent : tuple of int
        Parts spoken of of late before it, the last one last.
    drafts, works : (int, int)
        Which of the listener's drafts of findings and of work it made.
    age : int
        Sentences since the topic was named.
    told_of : bool
        Whether anything was told of the topic since.
    meant : dict
        By the first token of a mention: the parts it is taken to mean.
    causes : list of (int, int)
        Stretches that tell what made something so.
    corrected : bool
        Whether something was put right in it, so that only the rules know which words stand.
    """

    sentence: Sentence
    stands: Standing
    topic: tuple[int, ...]
    may_be: tuple[int, ...]
    recent: tuple[int, ...]
    age: int
    told_of: bool
    drafts: tuple[int, int] = (0, 0)
    works: tuple[int, int] = (0, 0)
    meant: dict[int, Meant] = field(default_factory=dict)
    causes: list[tuple[int, int]] = field(default_factory=list)
    corrected: bool = False
