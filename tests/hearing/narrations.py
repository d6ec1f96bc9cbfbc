"""The labelled set: invented talk at the bench, and what a careful apprentice would write of it."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from pegwood.anatomy.construction import constructions
from pegwood.hearing.results import Line, NamedPart

FOLDER = Path(__file__).parent / "narrations"
HALVES = ("dev", "test")
KINDS = ("talk", "remark", "aside")
CERTAINTIES = ("plain", "probable", "possible")
#: How a sentence is hard: a thing carried over by a pronoun or by nothing at all, a correction of the words
#: before, a question, the owner's story, something that is not the case, a condition of nothing named.
HOWS = ("carried", "correction", "question", "reported", "hypothetical", "nothing placed")
KEYS = tomllib.loads((FOLDER.parent / "keys.toml").read_text("utf-8"))
CONDITIONS = frozenset(KEYS["conditions"])
WORKS = frozenset(KEYS["works"])


class BadLabel(ValueError):
    """A label of the set that names no part, no condition or no work."""


@dataclass(frozen=True, kw_only=True)
class Finding:
    """
    What one sentence tells of one part.

    Attributes
    ----------
    part, condition : str
    others : tuple of str
        Conditions that the same words may be written down as with equal right.
    denied : bool
    certainty : str
    grade : int or None
    place : str
    earlier_repair : bool
    optional : bool
        Whether two careful people might differ about writing it down: then finding it is neither right nor
        wrong, nor is leaving it out.
    """

    part: str
    condition: str
    others: tuple[str, ...] = ()
    denied: bool = False
    certainty: str = "plain"
    grade: int | None = None
    place: str = ""
    earlier_repair: bool = False
    optional: bool = False

    @property
    def conditions(self) -> frozenset[str]:
        return frozenset((self.condition, *self.others))


@dataclass(frozen=True, kw_only=True)
class Work:
    """Work told of a part, or of none in particular."""

    part: str | None
    work: str
    done: bool = False
    optional: bool = False


@dataclass(frozen=True, kw_only=True)
class Sentence:
    """Some words said in one go, when, and what they tell."""

    at_s: float
    says: str
    kind: str = "talk"
    how: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    work: tuple[Work, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Narration:
    """One camera talked over by one invented speaker."""

    name: str
    family: str
    half: str
    voice: str
    sentences: tuple[Sentence, ...]

    def lines(self) -> tuple[Line, ...]:
        """The sentences as the hearing room takes them."""
        return tuple(Line(words=sentence.says, at_s=sentence.at_s) for sentence in self.sentences)

    def parts(self) -> tuple[NamedPart, ...]:
        """The parts of its family, with all that they are called."""
        return parts_of(self.family)


@cache
def parts_of(family: str) -> tuple[NamedPart, ...]:
    """The parts of a family, as the hearing room takes them."""
    return tuple(
        NamedPart(id=key, name=part.name, also=tuple(part.also))
        for key, part in constructions()[family].parts.items()
    )


@cache
def narrations(half: str) -> tuple[Narration, ...]:
    """All narrations of a half ("dev" or "test"), by name."""
    return tuple(read(path) for path in sorted((FOLDER / half).glob("*.toml")))


def read(path: Path) -> Narration:
    """
    One narration, with every label looked at.

    Raises
    ------
    BadLabel
        With the file and the words it is about.
    """
    told = tomllib.loads(path.read_text("utf-8"))
    known = set(constructions()[told["family"]].parts)
    if told["half"] != path.parent.name or not told["voice"].strip():
        raise BadLabel(f"{path.name}: the half is its folder's name, and the voice is told.")
    sentences = tuple(_sentence(one, known, path.name) for one in told["sentence"])
    for before, after in pairwise(sentences):
        if after.at_s <= before.at_s:
            raise BadLabel(f"{path.name}: “{after.says}” begins before the sentence it follows.")
    return Narration(
        name=path.stem, family=told["family"], half=told["half"], voice=told["voice"], sentences=sentences
    )


def _sentence(told: dict[str, Any], known: set[str], where: str) -> Sentence:
    about = f"{where}: “{told['says']}”"
    findings = tuple(
        Finding(
            **({key: value for key, value in one.items() if key != "or"}), others=tuple(one.get("or", ()))
        )
        for one in told.pop("findings", ())
    )
    work = tuple(Work(**{"part": None, **one}) for one in told.pop("work", ()))
    sentence = Sentence(**{**told, "how": tuple(told.get("how", ()))}, findings=findings, work=work)
    for found in findings:
        if found.part not in known:
            raise BadLabel(f"{about}: the family has no {found.part!r}.")
        if not found.conditions <= CONDITIONS or found.certainty not in CERTAINTIES:
            raise BadLabel(f"{about}: no such condition or certainty.")
        if found.grade is not None and found.grade not in range(1, 6):
            raise BadLabel(f"{about}: a grade is 1 to 5.")
        if found.place and found.place not in sentence.says:
            raise BadLabel(f"{about}: the place was not said so.")
    for done in work:
        if (done.part is not None and done.part not in known) or done.work not in WORKS:
            raise BadLabel(f"{about}: no such part or work.")
    if sentence.kind not in KINDS or not set(sentence.how) <= set(HOWS):
        raise BadLabel(f"{about}: no such kind of sentence.")
    if sentence.kind != "talk" and (findings or work):
        raise BadLabel(f"{about}: a {sentence.kind} tells nothing of this camera.")
    if not sentence.says.strip() or "\n" in sentence.says:
        raise BadLabel(f"{where}: one line of words each.")
    return sentence
