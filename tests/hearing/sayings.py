"""A bank of sayings: one thing said of one part, and what it tells. Only learned from; never a measure of how
well is heard."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from hearing.narrations import CERTAINTIES, CONDITIONS, BadLabel, Finding, Narration, Sentence
from pegwood.hearing.results import NamedPart

FOLDER = Path(__file__).parent / "sayings"
NONE = "none"
#: What a saying of no finding is, and the kind of sentence that makes it.
KINDS = {"remark": "remark", "aside": "aside", "hypothetical": "talk", "plan": "talk", "nothing": "talk"}
#: Words that stand for a part named before.
POINTING = frozenset(
    (
        "it",
        "its",
        "itself",
        "this",
        "that",
        "these",
        "those",
        "one",
        "the",
        "they",
        "them",
        "she",
        "he",
        "her",
    )
)
#: Parts that every file is heard with, besides its own: those that most files speak of.
MOST_COMMON = 150
_LEADING = re.compile(r"^(?:the|a|an|this|that|these|those|my|his|her|its|their|both|one of the|old)\s+")


@dataclass(frozen=True, kw_only=True)
class Saying(Narration):
    """A saying as a narration of its own: its part named in a line before where it is only pointed at."""

    named: tuple[NamedPart, ...]

    def parts(self) -> tuple[NamedPart, ...]:
        """All parts that its file speaks of."""
        return self.named


@cache
def sayings() -> tuple[Saying, ...]:
    """
    All of the bank, file by file.

    Raises
    ------
    BadLabel
        With the file and the words it is about.
    """
    tables = {
        path: tomllib.loads(path.read_text("utf-8"))["saying"] for path in sorted(FOLDER.glob("*.toml"))
    }
    often = Counter(name for told in tables.values() for name in _names(told))
    common = [name for name, _ in sorted(often.items(), key=lambda one: (-one[1], one[0]))[:MOST_COMMON]]
    return tuple(one for path, told in tables.items() for one in _read(told, common, path))


def _read(told: Sequence[dict[str, Any]], common: Sequence[str], path: Path) -> list[Saying]:
    names = sorted({*_names(told), *common})
    named = {name: NamedPart(id=f"said.{name.replace(' ', '-')}", name=name) for name in names}
    found = []
    for at, one in enumerate(told):
        pointed = _points(one.get("part", "it"))
        part = named[names[at % len(names)] if pointed else _name(one["part"])]
        said = _sentence(one, part, path.name)
        before = [Sentence(at_s=0.0, says=f"now the {part.name}")] if pointed and "part" in one else []
        found.append(
            Saying(
                name=f"{path.stem} {at}", family="", half="dev", voice="", sentences=(*before, said),
                named=tuple(named.values()),
            )
        )  # fmt: skip
    return found


def _names(told: Sequence[dict[str, Any]]) -> set[str]:
    return {_name(one["part"]) for one in told if not _points(one.get("part", "it"))}


def _points(part: str) -> bool:
    return set(part.lower().replace("'s", "").split()) <= POINTING


def _name(part: str) -> str:
    lower = part.lower().strip().removesuffix("'s")
    while (shorter := _LEADING.sub("", lower)) != lower:
        lower = shorter
    return lower


def _sentence(told: dict[str, Any], part: NamedPart, where: str) -> Sentence:
    about = f"{where}: “{told['says']}”"
    condition, kind = told["condition"], told.get("kind", "")
    conditions = {condition, *told.get("or", ())}
    if condition == NONE:
        if kind not in KINDS:
            raise BadLabel(f"{about}: nothing is told by it; expected a kind: {', '.join(KINDS)}.")
        return Sentence(at_s=1.0, says=told["says"], kind=KINDS[kind])
    certainty = told.get("certainty", "plain")
    if (
        not conditions <= CONDITIONS
        or certainty not in CERTAINTIES
        or not (_points(told["part"]) or told["part"] in told["says"])
    ):
        raise BadLabel(f"{about}: no such condition or certainty, or the part is not named so.")
    finding = Finding(
        part=part.id, condition=condition, others=tuple(told.get("or", ())),
        denied=bool(told.get("denied", False)), certainty=certainty,
    )  # fmt: skip
    return Sentence(at_s=1.0, says=told["says"], findings=(finding,))
