"""
How what was heard is written: plainly, and a conjecture as a conjecture. Pure: it needs no book.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from pegwood.hearing import Certainty, Heard, SaidFinding, SaidRemark, SaidWork, Unplaced

Outlook = Literal["", "mend", "can stay"]
_Said = SaidFinding | SaidWork | SaidRemark | Unplaced
LONGEST_CONDITION = 240

#: Conditions that are things and not properties: "no fungus", where others are "not gummed".
THINGS = frozenset(
    (
        "rust", "corrosion", "water marks", "haze", "fungus", "pinholes", "non-original glue",
        "non-original part", "light leak", "low output", "open circuit",
    )
)  # fmt: skip
#: Conditions whose key alone does not say enough on a card.
IN_WORDS = {"wrong": "wrongly fitted", "sandy": "sand in it", "weak": "weak, tired"}
#: Work as it is planned, and as it was done; braces stand for the part.
WORKS: dict[str, tuple[str, str]] = {
    "clean": ("clean {}", "cleaned {}"),
    "degrease": ("degrease {}", "degreased {}"),
    "lubricate": ("lubricate {}", "lubricated {}"),
    "replace": ("replace {}", "replaced {}"),
    "make": ("make {} anew", "made {} anew"),
    "adjust": ("adjust {}", "adjusted {}"),
    "polish": ("polish {}", "polished {}"),
    "reglue": ("glue {} again", "glued {} again"),
    "remove": ("remove {}", "removed {}"),
    "straighten": ("straighten {}", "straightened {}"),
    "tighten": ("tighten {}", "tightened {}"),
    "free": ("free {}", "freed {}"),
    "solder": ("solder {}", "soldered {}"),
    "re-cement": ("cement {} again", "cemented {} again"),
    "patch": ("patch {}", "patched {}"),
    "paint": ("paint {}", "painted {}"),
    "shim": ("shim {}", "shimmed {}"),
    "check": ("check {}", "checked {}"),
    "refit": ("refit {}", "refitted {}"),
    "leave": ("leave {} as it is", "left {} as it is"),
}
#: So near to each other work and finding are told together [characters]: about two sentences.
TOGETHER = 240
#: Work that mends nothing by itself.
NO_MEND = frozenset({"check", "leave"})


@dataclass(frozen=True, kw_only=True)
class Told:
    """
    One thing heard, as it stands now: as the ear gave it, or as a person mended it.

    Attributes
    ----------
    kind : str
        "finding", "work", "remark" or "unplaced".
    part, part_id : str
        Empty where none was told, or the family has none of that name.
    condition : str
        A key of the vocabulary, or a person's own word.
    work : tuple of str
        Keys of the vocabulary's works.
    done : bool
        Whether the work was told as done.
    why : str
        Why it could not be placed.
    at_s : float, optional
        When it was said [s].
    """

    kind: str
    part: str = ""
    part_id: str = ""
    condition: str = ""
    grade: int | None = None
    place: str = ""
    certainty: Certainty = "plain"
    denied: bool = False
    cause: str = ""
    work: tuple[str, ...] = ()
    done: bool = False
    measured: str = ""
    earlier_repair: bool = False
    why: str = ""
    at_s: float | None = None
    words: str = field(default="")

    @property
    def is_plain(self) -> bool:
        """Whether it was said as seen or done, of a part that is known: nothing to think about."""
        if self.kind == "finding":
            return self.certainty == "plain" and bool(self.part_id)
        return self.kind == "work" and self.done and bool(self.part_id)

    @property
    def condition_said(self) -> str:
        """Part of a finding: "possibly gummed", "no fungus", "out of adjustment, a tenth low"."""
        known = IN_WORDS.get(self.condition, self.condition)
        if self.denied:
            known = f"no {known}" if self.condition in THINGS else f"not {known}"
        sure = {"plain": "", "probable": "probably ", "possible": "possibly "}[self.certainty]
        measured = f", {self.measured}" if self.measured else ""
        return f"{sure}{known}{measured}"[:LONGEST_CONDITION]

    @property
    def work_said(self) -> str:
        """The work in words: "clean the shutter blades", "cleaned the shutter blades"."""
        part = f"the {self.part}" if self.part else ""
        forms = [WORKS.get(one, (f"{one} {{}}", f"{one} {{}}"))[self.done] for one in self.work]
        said = (form.format(part if n == 0 else part and "it") for n, form in enumerate(forms))
        return ", ".join(" ".join(one.split()) for one in said)

    @property
    def in_short(self) -> str:
        """One line for a list."""
        if self.kind == "finding":
            return ": ".join(filter(None, (self.part, self.condition_said)))
        if self.kind == "work":
            return self.work_said if self.done else f"to do: {self.work_said}"
        if self.kind == "unplaced":
            return f"not placed: {', '.join(filter(None, (self.part, self.condition))) or self.words}"
        return f"of such cameras: {self.words}"

    @property
    def outlook(self) -> Outlook:
        """What is to be done about a finding, as far as that was told."""
        if any(one not in NO_MEND for one in self.work):
            return "mend"
        return "can stay" if "leave" in self.work else ""

    def quoted(self) -> str:
        """The words it rests on, with when they were said."""
        return f"Said{moment(self.at_s, ' at ')}: “{self.words.strip()}”"


def told_from(data: Mapping[str, Any]) -> Told:
    """From plain data, as it is kept: what is not there is empty."""
    work = data.get("work") or ()
    grade, at = data.get("grade"), data.get("at_s")
    return Told(
        kind=str(data["kind"]),
        part=str(data.get("part") or ""),
        part_id=str(data.get("part_id") or ""),
        condition=str(data.get("condition") or ""),
        grade=None if grade is None else int(grade),
        place=str(data.get("place") or ""),
        certainty=_certainty(data.get("certainty")),
        denied=bool(data.get("denied")),
        cause=str(data.get("cause") or ""),
        work=(work,) if isinstance(work, str) else tuple(map(str, work)),
        done=bool(data.get("done")),
        measured=str(data.get("measured") or ""),
        earlier_repair=bool(data.get("earlier_repair")),
        why=str(data.get("why") or ""),
        at_s=None if at is None else float(at),
        words=str(data.get("words") or ""),
    )


_Found = tuple[tuple[int, int], str, dict[str, Any]]
_MORE = ("grade", "place", "cause", "measured")
_SAME = ("part_id", "condition", "certainty", "denied")


def in_order(heard: Heard) -> list[_Found]:
    """
    All that was heard, in the order spoken: where its words stand, its kind, and it as plain data.

    Work that was told together with a finding stands once: with the finding while it is to be done, by itself
    where it was done.
    """
    from pegwood.hearing import as_data

    data: dict[str, Any] = as_data(heard)
    kinds: tuple[tuple[str, Sequence[_Said], list[dict[str, Any]]], ...] = (
        ("finding", heard.findings, data["findings"]),
        ("work", heard.work, data["work"]),
        ("remark", heard.remarks, data["remarks"]),
        ("unplaced", heard.unplaced, data["unplaced"]),
    )
    found = [
        (one.where, kind, dict(row))
        for kind, ones, rows in kinds
        for one, row in zip(ones, rows, strict=True)
    ]
    with_it = []
    for where, kind, row in found:
        if kind != "work":
            continue
        for other, is_finding, seen in found:
            told_with = (
                is_finding == "finding" and seen["part_id"] == row["part_id"] and row["work"] in seen["work"]
            )
            if told_with and abs(other[0] - where[0]) <= TOGETHER:
                if row["done"]:
                    seen["work"] = [one for one in seen["work"] if one != row["work"]]
                else:
                    with_it.append(row)
    kept = [one for one in found if not any(one[2] is row for row in with_it)]
    return _once(sorted(kept, key=lambda one: one[0]))


def _once(found: list[_Found]) -> list[_Found]:
    """A finding said again in the next breath, "perished, gone to tar", stands once, with all of it."""
    kept: list[_Found] = []
    for where, kind, row in found:
        same = next(
            (
                before[2]
                for before in reversed(kept)
                if kind == before[1] == "finding"
                and where[0] - before[0][0] <= TOGETHER
                and all(before[2][name] == row[name] for name in _SAME)
                and all(before[2][name] == row[name] or not (before[2][name] and row[name]) for name in _MORE)
            ),
            None,
        )
        if same is None:
            kept.append((where, kind, row))
            continue
        for name in _MORE:
            same[name] = same[name] or row[name]
        same["work"] = [*same["work"], *(one for one in row["work"] if one not in same["work"])]
        same["earlier_repair"] = same["earlier_repair"] or row["earlier_repair"]
    return kept


def moment(at_s: float | None, before: str = "") -> str:
    """A place in a recording as people say it, 0:12:03; empty where none is known."""
    if at_s is None:
        return ""
    whole = max(0, int(at_s))
    return f"{before}{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}"


def _certainty(value: object) -> Certainty:
    return value if value == "probable" or value == "possible" else "plain"
