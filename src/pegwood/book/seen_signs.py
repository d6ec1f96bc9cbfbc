"""What a job's findings and readings say about its faults and signs: nothing is entered twice."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from django.db.models import QuerySet

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.part_names import NotOnePart, find_part
from pegwood.book.families import construction_of
from pegwood.book.models import Finding, Job, Measurement
from pegwood.book.stripping.way_in import strip_down_of
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.reads import Chance, Figure, Reading, Reads, Seen, counting, read_levels
from pegwood.causes.words.telling import Hint, SeenFinding, said_of
from pegwood.instruments.shutter import NoError, SpeedReading
from pegwood.instruments.uncertainty import Measured


@dataclass(frozen=True, kw_only=True)
class ReadSign:
    """How likely a job's readings are at each answer of a sign, and which readings, in words."""

    sign: str
    levels: tuple[float, ...]
    why: str


@dataclass(frozen=True, kw_only=True)
class SeenSigns:
    """
    What was seen and read on a job without anybody having been asked for it.

    Attributes
    ----------
    hints : tuple of Hint
        Of the findings; `finding.number` is the finding's primary key.
    read : tuple of ReadSign
        Of the readings.
    """

    hints: tuple[Hint, ...] = ()
    read: tuple[ReadSign, ...] = ()


def signs_from(job: Job, causes: FamilyCauses, *, phase: str = Measurement.Phase.FOUND) -> SeenSigns:
    """
    What a job's findings and accepted readings say.

    As found, a finding written down after work on its part was logged is left aside: it tells how the part
    is now, and not what was wrong with it. Readings by sound or video are left aside too, as everywhere a
    pattern over several speeds is looked for: what they are off by is alike at all of them.

    Parameters
    ----------
    job : Job
    causes : FamilyCauses
        Of the camera's family.
    phase : str, optional
        "as found" or "as left": which accepted readings, and whether findings after work count.
    """
    construction = construction_of(strip_down_of(job).family)
    if construction is None:
        return SeenSigns()
    return SeenSigns(
        hints=said_of(causes, construction, _findings(job, construction, phase)),
        read=tuple(
            _read(causes, (*readings_of(job, phase), *figures_of(job, phase), *chances_of(job, phase)))
        ),
    )


def _findings(job: Job, construction: Construction, phase: str) -> Iterator[SeenFinding]:
    worked = _worked_on(job, construction) if phase == Measurement.Phase.FOUND else {}
    for one in job.findings.order_by("at", "pk"):
        if _is_before(one, worked.get(_plain(construction, one.part))):
            yield SeenFinding(
                part=one.part, condition=one.condition, grade=one.grade, place=one.place, number=one.pk
            )


def _is_before(finding: Finding, worked: datetime | None) -> bool:
    return worked is None or finding.at <= worked


def _worked_on(job: Job, construction: Construction) -> dict[str, datetime]:
    """By part: when work on it was first logged."""
    found: dict[str, datetime] = {}
    for part, at in job.work.exclude(part="").order_by("at", "pk").values_list("part", "at"):
        found.setdefault(_plain(construction, part), at)
    return found


def _plain(construction: Construction, said: str) -> str:
    """The part that is meant, by id; as it was said, in lower case, where nobody knows it."""
    try:
        return find_part(construction, said).id
    except NotOnePart:
        return said.strip().casefold()


def shutter_found(phase: str = Measurement.Phase.FOUND) -> QuerySet[Measurement]:
    """The accepted measurements of shutters, of all jobs."""
    return Measurement.objects.filter(instrument="shutter", phase=phase, set_aside=False)


def readings_of(job: Job, phase: str) -> Iterator[Reading]:
    """The accepted readings of a job's shutter by light, as a sign can be answered by them."""
    accepted = shutter_found(phase).filter(job=job)
    for measurement in accepted.defer("curves").order_by("at", "pk"):
        result = measurement.result or {}
        try:
            speed = SpeedReading.from_result(result)
        except NoError:
            continue
        yield _reading(speed, "error", speed.error)
        if (uneven := _unevenness(result.get("curtains") or {})) is not None:
            yield _reading(speed, "unevenness", uneven)


def figures_of(job: Job, phase: str) -> Iterator[Figure]:
    """What other instruments read of a job and was accepted: every figure of an answer that has a ±."""
    accepted = job.measurements.exclude(instrument="shutter").filter(phase=phase, set_aside=False)
    for one in accepted.defer("curves").order_by("at", "pk"):
        for name, figure in _figures(one.result or {}):
            yield Figure(
                instrument=one.instrument,
                what=name,
                marked=one.marked,
                value=figure.value,
                u=figure.u,
                df=figure.df,
            )


def chances_of(job: Job, phase: str) -> Iterator[Chance]:
    """Where light may have come in, of an accepted strip: the chance of each place before and after."""
    accepted = job.measurements.filter(instrument="leaks", phase=phase, set_aside=False)
    for one in accepted.defer("curves").order_by("at", "pk"):
        for place in (one.result or {}).get("places") or ():
            yield Chance(instrument="leaks", what=place["at"], p=place["p"], prior=place["prior"])


def _figures(result: Mapping[str, Any]) -> Iterator[tuple[str, Measured]]:
    """Figures as `plain_data.figure` writes them: name_unit, name_u_unit, name_df; of parts too."""
    for key, u in result.items():
        if isinstance(u, Mapping):
            yield from ((f"{key}_{name}", known) for name, known in _figures(u))
            continue
        name, between, unit = key.partition("_u_") if "_u_" in key else (key.removesuffix("_u"), key[-2:], "")
        value = result.get(f"{name}_{unit}" if unit else name)
        if between not in ("_u_", "_u") or value is None or not _is_number(u) or not _is_number(value):
            continue
        df = result.get(f"{name}_df")
        known = Measured(float(value), float(u), math.inf if df is None else float(df))
        yield (f"{name}_{unit}" if unit else name), known


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _reading(speed: SpeedReading, what: Literal["error", "unevenness"], figure: Measured) -> Reading:
    return Reading(
        instrument="shutter",
        what=what,
        marked=speed.marked,
        marked_s=speed.target_s,
        value=figure.value,
        u=figure.u,
        df=figure.df,
    )


def _unevenness(curtains: Mapping[str, Any]) -> Measured | None:
    value, u, df = (curtains.get(f"unevenness_{one}") for one in ("ev", "u_ev", "df"))
    if value is None or u is None:
        return None
    return Measured(float(value), float(u), math.inf if df is None else float(df))


def _read(causes: FamilyCauses, readings: tuple[Seen, ...]) -> Iterator[ReadSign]:
    for sign in causes.signs.values():
        if sign.reads is None or (levels := read_levels(sign.reads, readings)) is None:
            continue
        told = ", ".join(_told(sign.reads, one) for one in counting(sign.reads, readings))
        yield ReadSign(sign=sign.id, levels=levels, why=f"read as accepted: {told}")


def _told(reads: Reads, one: Seen) -> str:
    """One reading as a hint tells it: what was read, how far off it is, and its standard uncertainty."""
    if isinstance(one, Reading):
        return f"{one.marked} s {reads.value(one):+.2f} ± {one.u:.2f} EV"
    if isinstance(one, Chance):
        return f"{one.instrument} {one.what.replace('-', ' ')} {one.p:.0%}, before it {one.prior:.0%}"
    unit = next((unit for unit in _UNITS if one.what.endswith(f"_{unit}")), "")
    scale, shown = _UNITS.get(unit, (1.0, ""))
    of = f"{one.what.removesuffix(f'_{unit}')} {one.marked}".replace("_", " ").strip()
    return f"{one.instrument} {of} {one.value * scale:+.3g} ± {one.u * scale:.2g} {shown}".strip()


#: Of figures: what a unit of the data is multiplied by to be read, and what it is then called.
#: The longer first: what ends in "_n_m" ends in "_m" too.
_UNITS = {
    "n_m": (1e3, "mN m"),
    "percent": (1.0, "%"),
    "ev": (1.0, "EV"),
    "m": (1e3, "mm"),
    "dpt": (1.0, "dpt"),
    "depths": (1.0, "depths of focus"),
    "rad": (180 / math.pi, "°"),
}
