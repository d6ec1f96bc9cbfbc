"""Who may be meant by each thing told: every part named in the sentence, and those spoken of before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from pegwood.hearing.drafts import Draft, WorkDraft
from pegwood.hearing.items import Item
from pegwood.hearing.meaning import Meaning
from pegwood.hearing.told import Told
from pegwood.hearing.vocabulary import NOTHING

#: Parts that one mention, or the talk before, may leave open.
MOST_OPEN = 8
#: Cues of a sentence that are weighed; a sentence of more is no sentence.
MOST_CUES = 24
LATELY = 3
CORRECTING = ("correct", "undo")


@dataclass(eq=False, slots=True)
class Cue:
    """
    Words with which something is told.

    Attributes
    ----------
    first, end : int
        Tokens.
    item : Item, optional
        None where the rules told it without a word for it: "same on the other one".
    wordless : bool
        Whether it is a whole stretch, of which the vocabulary knows no word.
    live, gone : list of Draft
        What the rules told by it, and took back.
    settled : bool
        Whether nobody but those the rules say can be meant.
    tells_work : bool
        Whether it is work that is told, not a condition.
    """

    first: int
    end: int
    item: Item | None = None
    wordless: bool = False
    live: list[Draft] = field(default_factory=list)
    gone: list[Draft] = field(default_factory=list)
    settled: bool = False
    tells_work: bool = False


@dataclass(eq=False, slots=True)
class Claim:
    """
    A condition, or work, that may be told of a part.

    Attributes
    ----------
    cue : Cue
    part : int
    condition : str
        Or the work.
    how : str
        How the part came to be thought of: "named", "together" with others, "open" (one of some), "topic",
        "open topic", "lately 0" and so on, "rules", "about" (by the words alone).
    mention : Item, optional
        Where it was named.
    open : int
        Of how many it may be one [1].
    draft : Draft, optional
        The rules' own, where they told the very same.
    another : bool
        Whether the condition is another than the vocabulary has for the cue's words.
    """

    cue: Cue
    part: int
    condition: str
    how: str
    mention: Item | None = None
    open: int = 1
    draft: Draft | None = None
    another: bool = False


def cues_of(told: Told, drafts: Sequence[Draft], works: Sequence[WorkDraft]) -> list[Cue]:
    """
    Cues of a sentence, in order; `drafts` and `works` are those the rules made of it.

    What was taken back is no cue, nor is what is told as work or as the cause of another thing. Where the
    speaker corrects a word, only the rules know which one stands.
    """
    cues = [
        Cue(item.first, item.end, item)
        for item in told.sentence.items
        if item.mention is None and item.tells("condition", "vague") and not item.tells(*CORRECTING)
    ][:MOST_CUES]
    for draft in drafts:
        mine = [cue for cue in cues if cue.first < draft.told_end and draft.told < cue.end]
        if not mine and not draft.taken_back:
            mine = [Cue(draft.told, draft.told_end)]
            cues += mine
        for cue in mine:
            (cue.gone if draft.taken_back else cue.live).append(draft)
    other = told.causes + [(work.first, work.end) for work in works]
    kept = [
        cue
        for cue in cues
        if cue.live
        or not (cue.gone or told.corrected or any(first <= cue.first < end for first, end in other))
    ]
    same = {item.first for item in told.sentence.items if item.tells("same", "again")}
    for cue in kept:
        again = cue.item is None and cue.first in same
        cue.settled = told.corrected or again or any(draft.corrected for draft in cue.live)
    return sorted(kept, key=lambda cue: cue.first)


def claims_of(
    cue: Cue, told: Told, meaning: Meaning, conditions: Sequence[str], about: Sequence[int]
) -> Iterator[Claim]:
    """
    All that a cue may tell, of whom.

    Parameters
    ----------
    cue : Cue
    told : Told
    meaning : Meaning
    conditions : sequence of str
        What the words around it may tell beside what the vocabulary says.
    about : sequence of int
        Parts that the sentence may be about by its words.
    """
    for part, (how, mention, open_) in _thought_of(cue, told, about).items():
        own = list(dict.fromkeys(_conditions(cue, part, meaning)))
        for condition in own:
            draft = next((one for one in cue.live if part in one.parts and one.condition == condition), None)
            if draft is None and (cue.settled or cue.item is None):
                continue
            yield Claim(cue, part, condition, how, mention, open_, draft)
        if not cue.settled and (cue.item is not None or cue.wordless):
            for condition in conditions:
                if condition not in own:
                    yield Claim(cue, part, condition, how, mention, open_, another=bool(own))


def _conditions(cue: Cue, part: int, meaning: Meaning) -> Iterator[str]:
    if cue.item is None or cue.tells_work:
        yield from (draft.condition for draft in cue.live)
        return
    kinds = cue.item.kinds
    told = [kinds["condition"]] if kinds.get("condition") else []
    if "vague" in kinds:
        told.append(meaning.vague(kinds["vague"], (part,)))
    yield from (one for one in told if one and one != NOTHING)


def _thought_of(cue: Cue, told: Told, about: Sequence[int]) -> dict[int, tuple[str, Item | None, int]]:
    """Parts that a cue may be about: how each came up, where it was named, of how many it may be one."""
    near: dict[int, tuple[int, str, Item, int]] = {}
    for item in told.sentence.items:
        parts, may_be = told.meant.get(item.first, ((), ())) if item.mention is not None else ((), ())
        how = ("named" if len(parts) == 1 else "together") if parts else "open"
        for part in parts or may_be[:MOST_OPEN]:
            apart = gap(cue, item)
            if part not in near or apart < near[part][0]:
                near[part] = apart, how, item, 1 if parts else len(may_be)
    found: dict[int, tuple[str, Item | None, int]] = {
        part: (how, item, open_) for part, (_, how, item, open_) in near.items()
    }
    for part in told.topic[:LATELY]:
        found.setdefault(part, ("topic", None, len(told.topic)))
    if not told.topic:
        for part in told.may_be[: MOST_OPEN // 2]:
            found.setdefault(part, ("open topic", None, len(told.may_be)))
    for back, part in enumerate(reversed(told.recent[-LATELY:])):
        found.setdefault(part, (f"lately {back}", None, 1))
    for draft in cue.live:
        for part in draft.parts:
            found.setdefault(part, ("rules", None, 1))
    for part in about:
        found.setdefault(part, ("about", None, 1))
    return found


def told_elsewhere(cue: Cue, cues: Sequence[Cue]) -> set[str]:
    """Conditions that other cues of the sentence have a word for."""
    return {
        one.item.kinds["condition"]
        for one in cues
        if one is not cue and one.item is not None and one.item.kinds.get("condition")
    }


def gap(cue: Cue, item: Item) -> int:
    """Tokens between a cue and something else."""
    return max(item.first - cue.end, cue.first - item.end, 0)
