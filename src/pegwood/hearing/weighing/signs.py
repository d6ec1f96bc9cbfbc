"""Signs for and against a claim: what its cue shows whoever is meant, and what this part shows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from pegwood.hearing.items import Item
from pegwood.hearing.reading import Reading
from pegwood.hearing.told import Told
from pegwood.hearing.weighing.claims import Claim, Cue, gap
from pegwood.hearing.weighing.kinds import standing_signs, step

GAPS = (0, 1, 2, 3, 4, 6, 10, 20)
#: Words on each side of a cue that are looked at.
AROUND = 3
#: Tenths of a probability that stand for it.
TENTHS = 10


@dataclass
class Scene:
    """
    A sentence laid out for weighing, read once for all its claims.

    Attributes
    ----------
    told : Told
    reading : Reading
    cues : sequence of Cue
    live : set of (int, str)
        (part, condition) of all that the rules told in it.
    """

    told: Told
    reading: Reading
    cues: Sequence[Cue]
    live: set[tuple[int, str]]
    mentions: list[Item] = field(init=False)
    shared: list[str] = field(init=False)

    def __post_init__(self) -> None:
        sentence = self.told.sentence
        self.mentions = [
            item for item in sentence.items if item.mention is not None and any(self.told.meant[item.first])
        ]
        plain, kinds = self.reading.plain, self.reading.tokens
        said = [plain[at] for at in range(sentence.first, sentence.end) if kinds[at].kind == "word"]
        self.shared = [
            f"length {step(len(said))}",
            f"cues {min(len(self.cues), 4)}",
            f"parts {min(len(self.mentions), 4)}",
            f"starts {' '.join(said[:1])}",
            f"starts {' '.join(said[:2])}",
            *standing_signs(self.told),
        ]

    def piece(self, at: int) -> int:
        """Which piece of the sentence a token stands in."""
        return sum(first <= at for first, _ in self.told.sentence.pieces)

    def word(self, at: int) -> str:
        """A word of the sentence; marks for beyond its ends."""
        if at < self.told.sentence.first:
            return "<s>"
        return self.reading.plain[at] if at < self.told.sentence.end else "</s>"

    def stems(self, first: int, end: int) -> str:
        """The stems of some tokens."""
        return " ".join(self.reading.lexicon.stems.of(word) for word in self.reading.plain[first:end])


def kind_said(remark: float, nothing: float) -> list[str]:
    """How likely a sentence is a remark, and tells nothing [1], as signs for what is told in it."""
    return [f"remark {int(remark * TENTHS)}", f"nothing {int(nothing * TENTHS)}"]


def cue_signs(scene: Scene, cue: Cue, condition: str) -> Iterator[str]:
    """What a cue shows, whoever is meant by it."""
    yield from scene.shared
    item = cue.item
    yield f"condition {condition}"
    if item is None:
        yield "no word for it"
        yield f"no word for it {scene.stems(cue.first, cue.end)}"
    else:
        yield f"said {scene.stems(cue.first, cue.end)}"
        yield f"read {int(item.degree * TENTHS)}"
        if condition == "fine":
            yield f"fine {' '.join(scene.reading.plain[cue.first : cue.end])}"
    if scene.told.stands.is_nothing(cue.first):
        yield "told of nothing"
    fine = "fine" if condition == "fine" else "wrong"
    for away in range(1, AROUND):
        yield f"before {away} {scene.word(cue.first - away)}"
        yield f"after {away} {scene.word(cue.end + away - 1)}"
    yield f"before {fine} {scene.word(cue.first - 1)}"
    yield f"after {fine} {scene.word(cue.end)}"


def part_signs(scene: Scene, claim: Claim) -> Iterator[str]:
    """What is shown by this part's being the one."""
    room, head = kin(scene.reading, claim.part)
    yield f"how {claim.how}"
    yield f"room {room} {claim.condition}"
    yield f"head {head} {claim.condition}"
    yield f"head {head}"
    yield from _rules(scene, claim)
    if claim.mention is None:
        yield from _carried(scene, claim)
    else:
        yield from _named(scene, claim, claim.mention)


def kin(reading: Reading, part: int) -> tuple[str, str]:
    """The mechanism a part belongs to, and the last word of its name."""
    own = reading.finder.names.parts[part]
    return _kin(own.id, own.name)


@lru_cache(maxsize=4096)
def _kin(part_id: str, name: str) -> tuple[str, str]:
    words = name.split("(")[0].split(",")[0].split(" of ")[0].split()
    return part_id.partition(".")[0], words[-1].lower() if words else ""


def _rules(scene: Scene, claim: Claim) -> Iterator[str]:
    cue, draft = claim.cue, claim.draft
    if draft is not None:
        yield "rules say so"
        yield f"rules say so {'carried' if draft.carried else 'named'}"
        yield f"rules say so {draft.certainty}"
        if draft.denied:
            yield "rules deny"
        return
    if any(claim.part in one.parts for one in cue.live):
        yield "rules say another condition"
    elif cue.live:
        yield "rules say another part"
    elif cue.gone:
        yield "rules took it back"
    else:
        yield "rules say nothing"
    if (claim.part, claim.condition) in scene.live:
        yield "rules say so elsewhere"


def _carried(scene: Scene, claim: Claim) -> Iterator[str]:
    cue, told = claim.cue, scene.told
    if claim.how == "topic":
        yield f"topic {min(told.age, 4)} {'told of' if told.told_of else 'not told of'}"
    before = sum(item.end <= cue.first for item in scene.mentions)
    after = sum(item.first >= cue.end for item in scene.mentions)
    yield f"carried past {min(before, 2)} {min(after, 2)}"
    pointed = any(item.tells("it") and item.first < cue.first for item in scene.told.sentence.items)
    yield f"carried {'pointed' if pointed else 'not pointed'}"
    yield f"carried {'early' if cue.first - scene.told.sentence.first < GAPS[4] else 'late'}"
    yield f"carried {scene.word(scene.told.sentence.first)}"
    yield f"carried cues {min(len(scene.cues), 3)}"


def _named(scene: Scene, claim: Claim, mention: Item) -> Iterator[str]:
    cue, reading, lexicon = claim.cue, scene.reading, scene.reading.lexicon
    ahead = mention.end <= cue.first
    side = "ahead" if ahead else "behind"
    first, end = (mention.end, cue.first) if ahead else (cue.end, mention.first)
    between = reading.plain[first:end] if first < end else []
    yield side
    yield f"{side} gap {step(gap(cue, mention), GAPS)}"
    others = sum(first <= one.first < end for one in scene.mentions)
    yield f"{side} past parts {min(others, 2)}"
    cues = sum(one is not cue and first <= one.first < end for one in scene.cues)
    yield f"{side} past cues {min(cues, 2)}"
    same = "same" if scene.piece(mention.first) == scene.piece(cue.first) else "another"
    yield f"{side} {same} piece"
    if any(word in lexicon.being for word in between):
        yield f"{side} being"
    if any(not word.isalnum() for word in between):
        yield f"{side} comma"
    yield from _led_in(scene, mention, side)
    if len(between) <= (1 if ahead else AROUND):
        yield f"{side} between {' '.join(between)}"
    assert mention.mention is not None
    yield f"name read {int(mention.degree * TENTHS)}"
    yield f"name words {min(mention.mention.words, 3)} {'whole' if mention.mention.whole else 'short'}"
    yield f"name {scene.stems(mention.first, mention.end)}"
    if claim.open > 1:
        yield f"one of {min(claim.open, 5)}"
    if mention.first - scene.told.sentence.first < AROUND:
        yield f"{side} leads"
    if scene.told.sentence.end - mention.end < 2:
        yield f"{side} ends"
    before = [one for one in scene.mentions if one.end <= cue.first]
    if ahead and before and before[-1] is mention:
        yield "nearest ahead"
    after = [one for one in scene.mentions if one.first >= cue.end]
    if not ahead and after and after[0] is mention:
        yield f"nearest behind, {'some' if before else 'none'} ahead"
    if scene.told.stands.is_nothing(mention.first):
        yield "named of nothing"


def _led_in(scene: Scene, mention: Item, side: str) -> Iterator[str]:
    lexicon = scene.reading.lexicon
    before = scene.word(mention.first - 1)
    yield f"{side} led in {before}"
    beyond = scene.word(mention.first - 2) if before in lexicon.articles else before
    if beyond in lexicon.prepositions:
        yield f"{side} led in by place"
        yield f"{side} led in by {beyond}"
