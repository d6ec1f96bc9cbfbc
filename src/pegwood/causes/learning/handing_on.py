"""What this bench's own jobs taught, written for another workshop; read by `shared`."""

from __future__ import annotations

from collections.abc import Iterable

import tomlkit
from tomlkit.items import AoT, Table

from pegwood.anatomy.construction import WITHIN
from pegwood.anatomy.learning.minutes import BenchMinutes
from pegwood.anatomy.learning.toml_items import array, inline
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.learning.chances import Estimate
from pegwood.causes.learning.gathering import Heard, gathered, mend_named, of_story
from pegwood.causes.learning.learn import learned_minutes
from pegwood.causes.learning.lessons import Lesson
from pegwood.causes.learning.of_use import Around, Weights, fault_chance, mend_chance, sign_shows

HEAD = (
    "What jobs at one bench taught: how often cameras had a fault, what it showed, whether mends held.",
    "Counts, parts of jobs as parts. Nothing of owners, cameras, days or single jobs is in it.",
)
#: Counts are written to so many digits after the point; below half of the last nothing is told.
DIGITS = 3


def written(
    lessons: Iterable[Lesson], families: Iterable[FamilyCauses], weights: Weights | None = None
) -> str:
    """
    What own lessons taught, as TOML.

    Parameters
    ----------
    lessons : iterable of Lesson
        Of this bench.
    families : iterable of FamilyCauses
        Those that the lessons speak of, as their files say it.
    weights : Weights, optional
        As it was learned with: where several faults may have shown an answer, the starting knowledge has a
        say in whose doing it is counted as.
    """
    known = {one.family: one for one in families}
    found = gathered(lessons, known)
    weights = weights or Weights()
    minutes = learned_minutes(found, known)
    doc = tomlkit.document()
    for line in HEAD:
        doc.add(tomlkit.comment(line))
    uses = tomlkit.aot()
    for (family, called), heard in sorted(found.uses.items()):
        uses.append(_use(heard, called, known[family], minutes, weights))
    doc["use"] = uses
    return tomlkit.dumps(doc)


def _use(heard: Heard, called: str, causes: FamilyCauses, minutes: BenchMinutes, weights: Weights) -> Table:
    table = tomlkit.table()
    table["family"], table["called"], table["mechanism"] = causes.family, called, heard.mechanism
    around = Around(heard)
    faults, mends, signs = tomlkit.aot(), tomlkit.aot(), tomlkit.aot()
    for own in sorted(heard.faults):
        fault = causes.faults[f"{called}{WITHIN}{own}"]
        was, was_not = _counts(fault_chance(around, fault, weights).estimate, fault.prior, weights)
        if was or was_not:
            faults.append(_row(id=own, was=was, was_not=was_not))
    for done in sorted(heard.mends):
        own, name = done
        mend = mend_named(causes, f"{called}{WITHIN}{own}", name)
        held, failed = _counts(
            mend_chance(around, done, mend.success, weights).estimate, mend.success, weights
        )
        row = {"fault": own, "name": name, "held": held, "failed": failed}
        if timed := len(heard.minutes.get(done, ())):
            step = minutes.steps[f"{heard.mechanism}{WITHIN}{own}", name]
            row |= {"timed": timed, "over_file": round(step.median / step.file.likely / minutes.pace, DIGITS)}
        mends.append(_row(**row))
    for own in sorted(heard.looks):
        one = sign_shows(around, causes.signs[f"{called}{WITHIN}{own}"], (), weights)
        counts = {
            cause: _rounded(of)
            for cause, of in zip(one.causes, one.fit.credits, strict=True)
            if not cause.startswith(of_story(""))
        }
        row = _row(id=own, leak=array(counts.pop("")))
        row["shown_by"] = array(
            inline({"fault": cause, "shows": array(of)}) for cause, of in counts.items() if any(of)
        )
        signs.append(row)
    for name, rows in (("fault", faults), ("mend", mends), ("sign", signs)):
        _put(table, name, rows)
    return table


def _put(table: Table, name: str, rows: AoT) -> None:
    if len(rows):
        table[name] = rows


def _row(**values: object) -> Table:
    row = tomlkit.table()
    row.update(values)
    return row


def _counts(found: Estimate, start: float, weights: Weights) -> tuple[float, float]:
    """Of how many jobs it was so and not so, were each one without a story: what lies above the start."""
    n = found.weight - weights.start
    was = min(n, max(0.0, found.chance * found.weight - weights.start * start))
    return round(was, DIGITS), round(n - was, DIGITS)


def _rounded(several: Iterable[float]) -> tuple[float, ...]:
    return tuple(round(float(one), DIGITS) for one in several)
