"""
How well narration was heard: what was found against what the labelled set says.

A finding is right where part and condition are, and where it rests on words of the labelled sentence or of
the next one. Whether it was denied, and how sure it was, is judged apart, on those that were found. A label
that two careful people might differ about counts neither way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from hearing import errors
from hearing.matching import (
    Claim,
    f1,
    finding_agrees,
    finding_fits,
    matched,
    sentence_finder,
    share,
    work_fits,
)
from hearing.narrations import Finding, Narration
from pegwood.hearing.results import Heard, Line


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What was heard in a narration; the lines are those it was heard in, one a sentence, misheard or not."""

    narration: Narration
    lines: tuple[Line, ...]
    heard: Heard


@dataclass(kw_only=True)
class Score:
    """
    Counts over some narrations; they add up.

    Attributes
    ----------
    right, missed, invented : int
        Findings, by part and condition.
    exact : int
        Those right that were also denied or not, and sure or not, as they are labelled.
    works_right, works_missed, works_invented : int
    errors : Counter
        By kind of error, in words.
    asked : Counter
        What each kind of error could have happened to: its denominator.
    by_how : Counter
        (how a sentence is hard, "right" | "missed" | "invented") to a count.
    """

    right: int = 0
    exact: int = 0
    missed: int = 0
    invented: int = 0
    works_right: int = 0
    works_missed: int = 0
    works_invented: int = 0
    errors: Counter[str] = field(default_factory=Counter)
    asked: Counter[str] = field(default_factory=Counter)
    by_how: Counter[tuple[str, str]] = field(default_factory=Counter)

    def __add__(self, other: Score) -> Score:
        mine, theirs = vars(self), vars(other)
        return Score(**{name: mine[name] + theirs[name] for name in mine})

    @property
    def precision(self) -> float:
        return share(self.right, self.right + self.invented)

    @property
    def recall(self) -> float:
        return share(self.right, self.right + self.missed)

    @property
    def f1(self) -> float:
        return f1(self.right, self.missed, self.invented)

    @property
    def works_f1(self) -> float:
        return f1(self.works_right, self.works_missed, self.works_invented)

    def rate(self, error: str) -> float:
        """Share of those an error could have happened to that it did happen to."""
        return share(self.errors[error], self.asked[error])

    @property
    def denials_right(self) -> float:
        """Of the labelled denials that were found, how many were found as denied."""
        return 1 - self.rate(errors.DENIAL_LOST)


def score(answers: Iterable[Answer]) -> Score:
    """All narrations together."""
    return sum((_score(answer) for answer in answers), Score())


def by_family(answers: Sequence[Answer]) -> dict[str, Score]:
    """The same, a family at a time."""
    families = dict.fromkeys(answer.narration.family for answer in answers)
    return {
        family: score(answer for answer in answers if answer.narration.family == family)
        for family in families
    }


def table(answers: Sequence[Answer]) -> str:
    """By family; errors by kind, with what they could have happened to; by how sentences are hard."""
    whole = score(answers)
    rows = [f"{'':30}{'P':>7}{'R':>7}{'F1':>7}{'denials':>9}{'to fact':>9}{'remarks':>9}{'works':>7}"]
    for name, one in [*by_family(answers).items(), ("all", whole)]:
        rows.append(
            f"{name:30}{one.precision:7.3f}{one.recall:7.3f}{one.f1:7.3f}{one.denials_right:9.3f}"
            f"{one.rate(errors.FACT_MADE):9.3f}{one.rate(errors.FROM_REMARK):9.3f}{one.works_f1:7.3f}"
        )
    rows.append(f"all, denied and certainty right too: {f1(whole.exact, *_not_exact(whole)):.3f}")
    rows += [f"  {kind:52}{whole.errors[kind]:5d} of {whole.asked[kind]}" for kind in errors.ERRORS]
    for how in sorted({how for how, _ in whole.by_how}):
        counts = [whole.by_how[how, what] for what in ("right", "missed", "invented")]
        rows.append(
            f"  {how:30} F1 {f1(*counts):5.3f}  right {counts[0]}, missed {counts[1]}, made {counts[2]}"
        )
    return "\n".join(rows)


def _not_exact(whole: Score) -> tuple[int, int]:
    short = whole.right - whole.exact
    return whole.missed + short, whole.invented + short


# --- one narration --------------------------------------------------------------------------------


def _score(answer: Answer) -> Score:
    if len(answer.lines) != len(answer.narration.sentences):
        raise ValueError(
            f"{answer.narration.name}: as many lines as sentences, so that they can be held together."
        )
    sentence_at = sentence_finder(answer.lines)
    told = Score()
    _score_findings(answer, sentence_at, told)
    _score_works(answer, sentence_at, told)
    return told


def _score_findings(answer: Answer, sentence_at: Callable[[int], int], told: Score) -> None:
    sentences = answer.narration.sentences
    labels = [(at, found) for at, one in enumerate(sentences) for found in one.findings]
    source = [
        (
            Claim(
                first=sentence_at(found.where[0]),
                last=sentence_at(max(found.where[1] - 1, found.where[0])),
                part=found.part.id,
                what=found.condition,
                denied=found.denied,
                certainty=found.certainty,
            ),
            found,
        )
        for found in answer.heard.findings
    ]
    unique = {(claim.last, claim.part, claim.what): (claim, found) for claim, found in reversed(source)}
    claims = [claim for claim, _ in unique.values()]
    heard = [found for _, found in unique.values()]
    pairs = matched(labels, claims, finding_fits, finding_agrees)
    used = set(pairs.values())
    left = [claim for at, claim in enumerate(claims) if at not in used]
    for at, (where, label) in enumerate(labels):
        if at in pairs:
            _judge_found(label, claims[pairs[at]], told)
            if label.grade is not None:
                told.asked[errors.GRADE_WRONG] += 1
                told.errors[errors.GRADE_WRONG] += heard[pairs[at]].grade != label.grade
            if label.earlier_repair:
                told.asked[errors.REPAIR_LOST] += 1
                told.errors[errors.REPAIR_LOST] += not heard[pairs[at]].earlier_repair
        if label.optional:
            continue
        outcome = "right" if at in pairs else "missed"
        setattr(told, outcome, getattr(told, outcome) + 1)
        told.by_how.update((how, outcome) for how in sentences[where].how)
        told.asked[errors.DENIAL_MISSED] += label.denied
        told.errors[errors.DENIAL_MISSED] += label.denied and (
            at not in pairs or not claims[pairs[at]].denied
        )
        if at not in pairs:
            _judge_missed(where, label, left, told)
    told.invented += len(left)
    told.asked.update(
        {errors.PART_WRONG: told.missed, errors.CONDITION_WRONG: told.missed, errors.NOT_HEARD: told.missed}
    )
    _judge_sentences(answer, sentence_at, claims, left, told)


def _judge_found(label: Finding, claim: Claim, told: Score) -> None:
    sure, heard_sure = label.certainty == "plain", claim.certainty == "plain"
    if not label.optional:
        told.exact += claim.denied == label.denied and sure == heard_sure
    denial = errors.DENIAL_LOST if label.denied else errors.DENIAL_MADE
    told.asked[denial] += 1
    told.errors[denial] += claim.denied != label.denied
    certainty = errors.DOUBT_MADE if sure else errors.FACT_MADE
    told.asked[certainty] += 1
    told.errors[certainty] += sure != heard_sure


def _judge_missed(where: int, label: Finding, left: Sequence[Claim], told: Score) -> None:
    near = [claim for claim in left if claim.first <= where + 1 and claim.last >= where]
    if any(claim.what in label.conditions for claim in near):
        told.errors[errors.PART_WRONG] += 1
    elif any(claim.part == label.part for claim in near):
        told.errors[errors.CONDITION_WRONG] += 1
    else:
        told.errors[errors.NOT_HEARD] += 1


def _judge_sentences(
    answer: Answer,
    sentence_at: Callable[[int], int],
    claims: Sequence[Claim],
    left: Sequence[Claim],
    told: Score,
) -> None:
    kept = {sentence_at(one.where[0]) for one in answer.heard.remarks}
    kept |= {sentence_at(max(one.where[1] - 1, one.where[0])) for one in answer.heard.remarks}
    made = {claim.last for claim in left}
    facts = {claim.last for claim in claims if claim.certainty == "plain" and not claim.denied}
    for at, sentence in enumerate(answer.narration.sentences):
        kinds = {"remark": errors.FROM_REMARK, "aside": errors.FROM_ASIDE}
        if sentence.kind in kinds:
            told.asked[kinds[sentence.kind]] += 1
            told.errors[kinds[sentence.kind]] += at in made
        if sentence.kind == "remark":
            told.asked[errors.REMARK_LOST] += 1
            told.errors[errors.REMARK_LOST] += at not in kept
        if "hypothetical" in sentence.how and not sentence.findings:
            told.asked[errors.FROM_HYPOTHETICAL] += 1
            told.errors[errors.FROM_HYPOTHETICAL] += at in made
        if sentence.findings and all(one.certainty != "plain" for one in sentence.findings):
            told.asked[errors.FACT_ANYHOW] += 1
            told.errors[errors.FACT_ANYHOW] += at in facts
    for claim in left:
        told.by_how.update((how, "invented") for how in answer.narration.sentences[claim.last].how)


def _score_works(answer: Answer, sentence_at: Callable[[int], int], told: Score) -> None:
    labels = [(at, work) for at, one in enumerate(answer.narration.sentences) for work in one.work]
    heard = [
        Claim(
            first=sentence_at(work.where[0]),
            last=sentence_at(max(work.where[1] - 1, work.where[0])),
            part=work.part.id if work.part else None,
            what=work.work,
            done=work.done,
        )
        for work in answer.heard.work
    ]
    # Work told together with a finding may stand there alone; it stands for the same work.
    known = {(claim.part, claim.what, at) for claim in heard for at in range(claim.first - 1, claim.last + 2)}
    for found in answer.heard.findings:
        last = sentence_at(max(found.where[1] - 1, found.where[0]))
        for work in found.work:
            if (found.part.id, work, last) not in known:
                first = sentence_at(found.where[0])
                heard.append(Claim(first=first, last=last, part=found.part.id, what=work))
    claims = list({(claim.last, claim.part, claim.what): claim for claim in reversed(heard)}.values())
    pairs = matched(labels, claims, work_fits, lambda work, claim: int(work.done == claim.done))
    wanted = [at for at, (_, work) in enumerate(labels) if not work.optional]
    told.works_right += sum(at in pairs for at in wanted)
    told.works_missed += sum(at not in pairs for at in wanted)
    told.works_invented += len(claims) - len(pairs)
    told.asked[errors.DONE_WRONG] += len(pairs)
    told.errors[errors.DONE_WRONG] += sum(labels[at][1].done != claims[to].done for at, to in pairs.items())
