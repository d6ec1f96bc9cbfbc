"""Signs for and against a claim: what its cue shows whoever is meant, and what this part shows."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from pegwood.hearing.items import Item
from pegwood.hearing.reading import Reading
from pegwood.hearing.weighing.claims import Claim, Cue, gap
from pegwood.hearing.weighing.kinds import step
from pegwood.hearing.weighing.scenes import Scene, kin

GAPS = (0, 1, 2, 3, 4, 6, 10, 20)
#: Words on each side of a cue that are looked at.
AROUND = 3
#: Tenths of a probability that stand for it.
TENTHS = 10


#: How a part came up, what the words say of it, whether it is of the mechanism of the topic, and of late.
Place = tuple[str, tuple[str, ...], bool, bool]


def kind_said(remark: float, nothing: float) -> list[str]:
    """How likely a sentence is a remark, and tells nothing [1], as signs for what is told in it."""
    return [f"remark {int(remark * TENTHS)}", f"nothing {int(nothing * TENTHS)}"]


def claim_signs(scene: Scene, claim: Claim) -> Iterator[str]:
    """All that a claim shows; whoever weighs many adds up each kind of signs once."""
    yield from scene.shared
    yield from cue_signs(scene, claim.cue, claim.condition, claim.another)
    if claim.mention is None:
        yield from carried_signs(scene, claim.cue)
    yield from place_signs(place_of(scene, claim))
    yield from name_signs(scene, claim)
    yield from common_signs(scene.reading, claim.part, claim.condition)
    yield from rule_signs(scene, claim)


def cue_signs(scene: Scene, cue: Cue, condition: str, another: bool) -> Iterator[str]:
    """What a cue shows, whoever is meant by it."""
    item = cue.item
    if cue.wordless:
        yield "wordless"
        yield f"wordless {condition}"
        yield f"wordless cues {min(len(scene.cues), 3)}"
        return
    if another:
        yield "another"
        yield f"another {condition}"
        yield f"another than {_own(cue)}"
        if not cue.tells_work:  # of work there is too little talk to learn it word by word
            yield f"another for {scene.stems(cue.first, cue.end)} {condition}"
        return
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


def _own(cue: Cue) -> str:
    """What the vocabulary has for a cue's words."""
    if cue.tells_work:
        return cue.live[0].condition
    return cue.item.kinds.get("condition", "vague") if cue.item is not None else "none"


def common_signs(reading: Reading, part: int, condition: str) -> Iterator[str]:
    """Whether such parts commonly have it."""
    room, head = kin(reading, part)
    yield f"room {room} {condition}"
    yield f"head {head} {condition}"
    yield f"head {head}"


def place_of(scene: Scene, claim: Claim) -> Place:
    """How a part came up, how likely the words are about it, and whether it belongs to what is spoken of."""
    room, _ = kin(scene.reading, claim.part)
    of_topic, of_lately = scene.rooms
    return claim.how, scene.about.said(claim.part), room in of_topic, room in of_lately


@cache
def place_signs(place: Place) -> tuple[str, ...]:
    """The place of a part as signs; there are few places, and each comes up over and over."""
    how, about, *near = place
    signs = [f"how {how}"]
    for said in about:
        signs += [f"about {said}", f"about {said} {how}"]
    for what, of in zip(("topic", "lately"), near, strict=True):
        signs.append(f"{'of' if of else 'not of'} the room of {what}")
        signs.append(f"{'of' if of else 'not of'} the room of {what} {how}")
    return tuple(signs)


def name_signs(scene: Scene, claim: Claim) -> Iterator[str]:
    """What is shown by where and how a part was named, whatever is told of it."""
    if claim.mention is None:
        return
    if claim.cue.wordless:
        own = claim.cue.first <= claim.mention.first < claim.cue.end
        yield f"wordless {'own' if own else 'other'} {claim.how}"
        yield from _called(scene, claim, claim.mention)
    else:
        yield from _named(scene, claim, claim.mention)


def rule_signs(scene: Scene, claim: Claim) -> tuple[str, ...]:
    """What the rules make of it."""
    cue, draft = claim.cue, claim.draft
    if draft is not None:
        carried = "carried" if draft.carried else "named"
        said = ("rules say so", f"rules say so {carried}", f"rules say so {draft.certainty}")
        return (*said, "rules deny") if draft.denied else said
    if any(claim.part in one.parts for one in cue.live):
        instead = "rules say another condition"
    elif cue.live:
        instead = "rules say another part"
    elif cue.gone:
        instead = "rules took it back"
    else:
        instead = "rules say nothing"
    if (claim.part, claim.condition) in scene.live:
        return instead, "rules say so elsewhere"
    return (instead,)


def carried_signs(scene: Scene, cue: Cue) -> Iterator[str]:
    """What speaks for a part that is not named in the sentence, whichever it is."""
    before = sum(item.end <= cue.first for item in scene.mentions)
    after = sum(item.first >= cue.end for item in scene.mentions)
    yield f"carried past {min(before, 2)} {min(after, 2)}"
    pointed = any(item.tells("it") and item.first < cue.first for item in scene.told.sentence.items)
    yield f"carried {'pointed' if pointed else 'not pointed'}"
    yield f"carried {'early' if cue.first - scene.told.sentence.first < GAPS[4] else 'late'}"
    yield f"carried {scene.word(scene.told.sentence.first)}"
    yield f"carried cues {min(len(scene.cues), 3)}"
    yield f"topic {min(scene.told.age, 4)} {'told of' if scene.told.told_of else 'not told of'}"


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
    yield from _called(scene, claim, mention)
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


def _called(scene: Scene, claim: Claim, mention: Item) -> Iterator[str]:
    assert mention.mention is not None
    yield f"name read {int(mention.degree * TENTHS)}"
    yield f"name words {min(mention.mention.words, 3)} {'whole' if mention.mention.whole else 'short'}"
    called = scene.stems(mention.first, mention.end)
    yield f"name {called}"
    yield f"name {called} is {scene.reading.finder.names.parts[claim.part].id}"
    if claim.open > 1:
        yield f"one of {min(claim.open, 5)}"


def _led_in(scene: Scene, mention: Item, side: str) -> Iterator[str]:
    lexicon = scene.reading.lexicon
    before = scene.word(mention.first - 1)
    yield f"{side} led in {before}"
    beyond = scene.word(mention.first - 2) if before in lexicon.articles else before
    if beyond in lexicon.prepositions:
        yield f"{side} led in by place"
        yield f"{side} led in by {beyond}"
