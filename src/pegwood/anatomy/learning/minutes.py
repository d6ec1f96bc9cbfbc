"""
Minutes per step from this bench's own jobs.

ln(minutes) = ln(what the family's file says is usual) + this bench's pace + the step's own + what differs
from job to job. Steps with few times are drawn towards the file's value at this bench's pace, those with many
show their own (see `pegwood.anatomy.learning.pooling`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from pegwood.anatomy.bench_log import TakenOff
from pegwood.anatomy.construction import Construction
from pegwood.anatomy.learning.pooling import Weak, pooled, variances
from pegwood.anatomy.parts import Minutes
from pegwood.anatomy.rebuilding.before import way_used
from pegwood.trade.grounds import Ground, Grounds
from pegwood.trade.numbers import figure

#: The file's low and high are taken as the ends that one in ten fall short of and one in ten go beyond.
TEN_TO_NINETY = Ground("common practice: low to high holds eight jobs in ten", "practice")
#: Standard deviations from the middle to the 90th percentile of a normal distribution.
Z_90 = 1.2815515655446004
#: A step of one figure has some spread too: its logarithm, [1].
LEAST_SPREAD = 0.1
#: Of the spread that a file allows, squared: how much is this bench's pace, how much a step's own, and how
#: much differs from job to job. A start; the last two are learned.
PACE, OWN, JOB_TO_JOB = 0.3, 0.2, 0.5
SPLIT = Ground("Pegwood's own start: how a file's spread divides; jobs correct it", "practice")
#: Longer than this many times `high`: the clock ran on. Shorter than `low` by this much: pressed twice.
TOO_LONG, TOO_SHORT = 5.0, 10.0

Step = tuple[str, str]  # the part's id, the way's name


@dataclass(frozen=True, kw_only=True)
class SetAside:
    """A time that is left out, and why."""

    entry: TakenOff
    says: str


@dataclass(frozen=True, kw_only=True)
class LearnedMinutes:
    """
    How long a step takes at this bench.

    Attributes
    ----------
    part, way : str
        Of a mend: its fault, and what it is called.
    n : int
        How many times it was timed here.
    low, median, high : float
        Of the next time: one in ten is shorter than low, one in ten longer than high, [min].
    drawn : float
        How much of it is the file's value at this bench's pace rather than the step's own times: 1 for one
        that was never timed.
    file : Minutes
        What the file says.
    """

    part: str
    way: str
    n: int
    low: float
    median: float
    high: float
    drawn: float
    file: Minutes

    @property
    def minutes(self) -> Minutes:
        """For a plan."""
        return Minutes(low=self.low, likely=self.median, high=self.high)

    @property
    def says(self) -> str:
        """What it rests on, for a person."""
        minutes, file = figure(self.median, 2), f"(file: {figure(self.file.likely)})"
        if not self.n:
            return f"{minutes} min at this bench's pace {file}; never timed here"
        times = f"timed {self.n} time{'s' if self.n > 1 else ''}"
        drawn = f"{figure(100 * self.drawn, 2)} % of it still the file's at this bench's pace"
        return f"{minutes} min here {file}, {times}; {drawn}"


@dataclass(frozen=True, kw_only=True)
class BenchMinutes:
    """
    What a bench's jobs say of a family's minutes.

    Attributes
    ----------
    steps : mapping of (part, way) to LearnedMinutes
        Every step of the family; empty where nothing was timed.
    pace, pace_u_log : float
        This bench's minutes over the file's, [1], and the standard uncertainty of its logarithm.
    own, job_to_job : float
        What was learned of the spread, as shares of what the files allow, squared.
    set_aside : tuple of SetAside
    jobs : int
        How many jobs gave a time.
    grounds : tuple of Ground
        What was taken for granted.
    """

    steps: Mapping[Step, LearnedMinutes]
    pace: float
    pace_u_log: float
    own: float
    job_to_job: float
    set_aside: tuple[SetAside, ...]
    jobs: int = 0
    grounds: Grounds = (TEN_TO_NINETY, SPLIT)

    @property
    def says(self) -> str:
        """What all of it rests on, for a person; empty where nothing was timed."""
        if not self.steps:
            return ""
        jobs = f"{self.jobs} job{'s' if self.jobs != 1 else ''}"
        pace = f"on the whole {figure(100 * self.pace, 2)} % of the file's"
        return f"Minutes learned from {jobs} at this bench, {pace}."

    def for_construction(self) -> dict[Step, tuple[Minutes, str]]:
        """As `Construction.with_minutes` takes them."""
        return {step: (one.minutes, one.says) for step, one in self.steps.items()}


def learn_minutes(construction: Construction, logs: Iterable[Iterable[TakenOff]]) -> BenchMinutes:
    """
    Minutes of a family's steps from this bench's jobs.

    Parameters
    ----------
    construction : Construction
        The family's, as its file says it.
    logs : iterable of logs
        One for each job on such a camera; times of parts or ways that the family does not know are left out.
    """
    file = {
        (part.id, way.name): way.file_minutes or way.minutes
        for part in construction.parts.values()
        for way in part.ways
    }
    times, set_aside, jobs = _times(construction, logs, file)
    return shrunk(file, times, jobs, set_aside)


def shrunk(
    file: Mapping[Step, Minutes],
    times: Mapping[Step, Sequence[float]],
    jobs: int,
    set_aside: tuple[SetAside, ...] = (),
) -> BenchMinutes:
    """
    Minutes of steps from what they took, each drawn towards the file's at this bench's pace.

    Parameters
    ----------
    file : mapping of step to Minutes
        Every step there is, timed or not.
    times : mapping of step to sequence of float
        Of those that were timed, [min].
    jobs : int
        How many jobs gave a time.
    set_aside : tuple of SetAside
        Handed on.
    """
    if not times:
        return BenchMinutes(
            steps={}, pace=1.0, pace_u_log=math.nan, own=OWN, job_to_job=JOB_TO_JOB, set_aside=set_aside
        )
    steps = list(file)
    spread = np.array([_log_spread(file[step]) for step in steps])
    prior_variance = PACE * float((spread**2).mean())
    timed = [step for step in steps if step in times]
    own, job_to_job = variances(
        [np.log(np.array(times[step]) / file[step].likely) for step in timed],
        np.array([_log_spread(file[step]) for step in timed]),
        Weak(middle=OWN),
        Weak(middle=JOB_TO_JOB),
        prior_variance,
    )
    counts = np.array([len(times.get(step, ())) for step in steps], dtype=float)
    means = np.array(
        [float(np.mean(np.log(np.array(times[s]) / file[s].likely))) if s in times else 0.0 for s in steps]
    )
    each = job_to_job * spread**2
    within = np.full(len(steps), math.inf)
    np.divide(each, counts, out=within, where=counts > 0)
    found = pooled(means, within, own * spread**2, 0.0, prior_variance)
    ahead = np.sqrt(found.groups_u**2 + each)
    return BenchMinutes(
        steps={
            step: LearnedMinutes(
                part=step[0],
                way=step[1],
                n=int(counts[n]),
                low=file[step].likely * math.exp(found.groups[n] - Z_90 * ahead[n]),
                median=file[step].likely * math.exp(found.groups[n]),
                high=file[step].likely * math.exp(found.groups[n] + Z_90 * ahead[n]),
                drawn=float(found.drawn[n]),
                file=file[step],
            )
            for n, step in enumerate(steps)
        },
        pace=math.exp(found.mean),
        pace_u_log=found.mean_u,
        own=own,
        job_to_job=job_to_job,
        set_aside=set_aside,
        jobs=jobs,
    )


def implausible(minutes: float, told: Minutes) -> str:
    """Why a time is left out, given what the file says of the step; empty where it counts."""
    if minutes > TOO_LONG * told.high:
        return f"longer than {TOO_LONG:g} times the file's {figure(told.high)}: the clock ran on"
    if minutes < told.low / TOO_SHORT:
        return f"shorter than a {TOO_SHORT:g}th of the file's {figure(told.low)}: pressed twice"
    return ""


def _log_spread(minutes: Minutes) -> float:
    """The standard deviation of the logarithm that low and high stand for."""
    return max(LEAST_SPREAD, math.log(minutes.high / minutes.low) / (2 * Z_90))


def _times(
    construction: Construction, logs: Iterable[Iterable[TakenOff]], file: Mapping[Step, Minutes]
) -> tuple[dict[Step, list[float]], tuple[SetAside, ...], int]:
    times: dict[Step, list[float]] = {}
    aside: list[SetAside] = []
    jobs: set[int] = set()
    for job, log in enumerate(logs):
        for entry in log:
            way = way_used(entry, construction)
            if way is None or entry.minutes is None or entry.met != "there":
                continue
            if than := implausible(entry.minutes, file[entry.part, way.name]):
                says = f"{entry.name}: {figure(entry.minutes)} min is {than}; left out."
                aside.append(SetAside(entry=entry, says=says))
                continue
            times.setdefault((entry.part, way.name), []).append(entry.minutes)
            jobs.add(job)
    return times, tuple(aside), len(jobs)
