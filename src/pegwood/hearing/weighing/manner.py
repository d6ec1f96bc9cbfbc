"""Signs of how a claim is told: denied or not, as seen or as a guess."""

from __future__ import annotations

from collections.abc import Iterator

from pegwood.hearing.items import Item
from pegwood.hearing.weighing.claims import Claim
from pegwood.hearing.weighing.kinds import step
from pegwood.hearing.weighing.scenes import Scene
from pegwood.hearing.weighing.signs import GAPS

#: Words before a cue, and after it, that may tell how it is meant.
BEFORE, AFTER = 8, 6
KINDS = (
    "deny",
    "deny not",
    "possible",
    "probable",
    "reported",
    "hypothetical",
    "sure",
    "general",
    "contrast",
)


def manner_signs(scene: Scene, claim: Claim) -> Iterator[str]:
    """What speaks for a claim's being denied, or for its being a conjecture; both read the same signs."""
    cue = claim.cue
    drafts = [claim.draft] if claim.draft is not None else cue.live[:1]
    for draft in drafts:
        yield f"rules {draft.certainty}"
        yield f"rules {'deny' if draft.denied else 'tell'}"
    if not drafts:
        yield "rules say nothing"
    yield f"condition {claim.condition}"
    yield f"said {scene.stems(cue.first, cue.end)}"
    yield from scene.shared
    sentence = scene.told.sentence
    if cue.first >= scene.told.stands.asked_from:
        yield "asked here"
    if scene.told.stands.is_reported(cue.first):
        yield "reported here"
    for away in range(1, BEFORE + 1):
        word = scene.other_word(cue.first - away)
        yield f"shortly before {word}"
        if away <= 2:
            yield f"before {away} {word}"
        if word == "<s>":
            break
        yield f"pair before {word} {scene.other_word(cue.first - away + 1)}" if away > 1 else "pair before"
    for away in range(AFTER):
        word = scene.other_word(cue.end + away)
        yield f"shortly after {word}"
        yield f"pair after {scene.other_word(cue.end + away - 1)} {word}" if away else f"after {word}"
        if word == "</s>":
            break
    if cue.wordless:
        yield from {f"within {scene.other_word(at)}" for at in range(cue.first, cue.end)}
    for item in sentence.items:
        for kind in item.kinds:
            if kind in KINDS:
                yield from _cast(scene, claim, item, kind)


def _cast(scene: Scene, claim: Claim, item: Item, kind: str) -> Iterator[str]:
    """A word of denial or doubt, by where it stands to the cue."""
    cue = claim.cue
    if item.first >= cue.first and item.end <= cue.end:
        yield f"{kind} within"
        return
    ahead = item.end <= cue.first
    side = "ahead" if ahead else "behind"
    first, end = (item.end, cue.first) if ahead else (cue.end, item.first)
    same = "same" if scene.piece(item.first) == scene.piece(cue.first) else "another"
    yield f"{kind} {side} {same} piece {step(max(end - first, 0), GAPS)}"
    cues = sum(one is not cue and first <= one.first < end for one in scene.cues)
    parts = sum(first <= one.first < end for one in scene.mentions)
    yield f"{kind} {side} past {min(cues, 2)} {min(parts, 2)}"
    words = " ".join(scene.reading.plain[item.first : item.end])
    yield f"{kind} {side} {words}"
