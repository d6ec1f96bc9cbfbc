"""What a language's file holds, as types."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

Words = tuple[str, ...]
Pairs = tuple[tuple[str, str], ...]


class BadVocabulary(ValueError):
    """A language's file that does not hold what it must; the message names the file and the place."""


@dataclass(frozen=True, kw_only=True)
class Taught:
    """
    What a bench taught by mending and dropping what was proposed.

    Attributes
    ----------
    part_names : tuple of (said, part's id)
    conditions : tuple of (said, condition)
    mishearings : tuple of (heard, meant)
    """

    part_names: Pairs = ()
    conditions: Pairs = ()
    mishearings: Pairs = ()


@dataclass(frozen=True, kw_only=True)
class SoundRules:
    """From spelling to sound: replacements in order, vowels that count as one, classes of consonants."""

    spelled: Pairs
    vowels: str
    classes: Words


@dataclass(frozen=True, kw_only=True)
class ConditionWords:
    """What tells a condition, and what a part with it does not do ("turn", after "won't")."""

    said: Words
    not_done: Words = ()


@dataclass(frozen=True, kw_only=True)
class Vague:
    """Words that tell a condition by what they are said of: (word in the part's name, condition)."""

    said: Words
    of: Pairs
    otherwise: str


@dataclass(frozen=True, kw_only=True)
class WorkRules:
    """What stands before work to do, work done, and work that is not to be done."""

    to_do: Words
    done: Words
    not_to_do: Words
    past_endings: Words
    past: Words
    also_states: Words


@dataclass(frozen=True, kw_only=True)
class CertaintyWords:
    """How sure the speaker is, and whose word it is."""

    probable: Words
    possible: Words
    reported: Words
    hypothetical: Words
    whether: Words
    question_starts: Words
    questioned: Words
    asking_before: Words
    sure: Words


@dataclass(frozen=True, kw_only=True)
class DenialWords:
    """What denies, what only looks so, and what stands before a thing that is not done."""

    said: Words
    unless: Words
    of_function: Words
    only: Words
    softened: Words


@dataclass(frozen=True, kw_only=True)
class CorrectionWords:
    """What takes back: all of them, those that put nothing instead, and those that do so only nearby."""

    said: Words
    undo: Words
    weak: Words


@dataclass(frozen=True, kw_only=True)
class GeneralityWords:
    """What speaks of such cameras in general, and what turns back to this one."""

    said: Words
    many: Words
    but_here: Words
    although: Words


@dataclass(frozen=True, kw_only=True)
class PointingWords:
    """What points back at a thing spoken of."""

    it: Words
    other: Words
    same: Words
    again: Words
    both: Words
    one: Words
    opposites: Pairs


@dataclass(frozen=True, kw_only=True)
class SmallWords:
    """Small words that rules of the extractor turn on, each by what it does."""

    indefinite: Words  # "a", before any one of a kind
    either: Words  # "or", between two of which one holds
    goes_on: Words  # "or", "nor": a denial goes on past them
    rejects: Words  # "not", before a part that is not meant
    after_no: Words  # what follows "no" where it takes back what was said
    of: Words  # "of", after which stands what something belongs to
    turns: Words  # "of", "on", "in": "X of the Y" is the "Y X"
    of_in_names: Words  # within a part's name, what it is of follows
    with_in_names: Words  # within a part's name, what it has follows
    or_in_names: Words
    and_in_names: Words
    beside_work: Words  # between a work and what it is done to
    before_state: Words  # between a verb and a state
    after_praise: Words  # after praise that is complete
    pointing: Words  # articles that may stand alone as well
    in_measures: Words  # within a measure, after its unit


@dataclass(frozen=True, kw_only=True)
class Grammar:
    """How a sentence hangs together."""

    articles: Words
    prepositions: Words
    near: Words
    joins: Words
    breaks: Words
    contrasts: Words
    anew: Words
    being: Words
    causes: Words
    off_from: Words
    missing_from: Words
    carriers: Words
    generic_heads: Words
    own: Words
    plural: Words
    places: Words
    earlier_repair: Words
    shy_names: Words
    name_links: Words
    possessives: Words


@dataclass(frozen=True, kw_only=True)
class MeasureWords:
    """How a measure is said, and which directions say that a thing is out of adjustment."""

    numbers: Words
    units: Words
    directions: Words
    out_of_adjustment: Words


@dataclass(frozen=True, kw_only=True)
class Vocabulary:
    """
    A language's words of the trade and its rules.

    Attributes
    ----------
    language : str
    source, mark : str
        On what its words rest.
    stemmer : str
        The language as the stemming library names it.
    conditions, works : mapping
        By key, what tells it.
    grades : mapping of str to tuple of str
        From "slight" to "past_use", grades 1 to 5.
    common : tuple of str
        Everyday words, which are never taken for a misheard word of the trade by their looks alone.
    mishearings : tuple of (heard, meant)
    taught : Taught
    called : mapping of str to tuple of str
        By the last word of a part's id, what it is called in talk besides its names.
    """

    language: str
    source: str
    mark: str
    stemmer: str
    sounds: SoundRules
    conditions: Mapping[str, ConditionWords]
    vague: tuple[Vague, ...]
    works: Mapping[str, Words]
    work_rules: WorkRules
    grades: Mapping[str, Words]
    certainty: CertaintyWords
    denial: DenialWords
    corrections: CorrectionWords
    generality: GeneralityWords
    hesitations: Words
    weak_fine: Words
    repaired: Words
    asides: Words
    fillers: Words
    common: Words
    pointing: PointingWords
    grammar: Grammar
    small: SmallWords
    measures: MeasureWords
    mishearings: Pairs
    taught: Taught = Taught()
    called: Mapping[str, Words] = field(default_factory=dict)

    def with_taught(self, taught: Taught) -> Vocabulary:
        """
        The same, with what the bench taught beside it.

        Raises
        ------
        BadVocabulary
            If it teaches a condition that there is not.
        """
        for said, condition in taught.conditions:
            if condition not in self.conditions:
                raise BadVocabulary(f"{said!r} is taught as {condition!r}, which is no condition.")
        return replace(self, taught=taught)
