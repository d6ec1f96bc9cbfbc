"""
Which threads a screw can be, with probabilities.

Bayes' rule over the threads of the tables and one more hypothesis, that it is none of them. Before measuring,
threads are as probable as they are frequent in cameras. A screw's true diameter lies evenly between the
limits of its class; some are worn or filed below the lower limit, a few stand above the upper one. What is
read scatters normally around the true diameter and the pitch by name.
"""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass

from pegwood.trade.grounds import Ground, Grounds, joined
from pegwood.trade.reference import Reference
from pegwood.trade.threads.measured import (
    LARGEST_M,
    SMALLEST_M,
    U_ANGLE_DEG,
    U_DIAMETER_M,
    U_PITCH_SHARE,
    Measured,
)
from pegwood.trade.threads.rows import NOT_COUNTED, ORIGINS, Crest, Thread, odds, threads

#: Shares of screws within their class, worn or filed below it, and above it; and how far, in pitches.
WITHIN, WORN, ABOVE = 0.90, 0.08, 0.02
WORN_BY, ABOVE_BY = 0.10, 0.05
#: A screw's own pitch, against its name: standard deviation as a share.
OWN_PITCH = 0.003
#: A screw's own flank angle, against its name, [degree].
OWN_ANGLE_DEG = 1.0
#: Of a hundred crests looked at under a loupe, how many are taken for the other form.
MISTAKEN_CREST = 0.12
#: Of a hundred screws, how many are of no thread in the tables.
NONE_OF_THESE = 0.03

HOW_SCREWS_VARY = Ground(
    "common bench practice: of a hundred screws 90 lie within their class, 8 are worn or filed below it by "
    "up to a tenth of the pitch, 2 stand above it; 3 are of no thread in the tables; one crest in eight is "
    "misread",
    "practice",
)


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A thread the screw can be, and how probable that is, [1]."""

    thread: Thread
    p: float

    @property
    def grounds(self) -> Grounds:
        """What size and limits rest on."""
        return joined(self.thread.grounds, self.thread.form.grounds, (self.thread.limits.ground,))


@dataclass(frozen=True, kw_only=True)
class Likeness:
    """
    What a screw can be.

    Attributes
    ----------
    measured : Measured
        The screw.
    candidates : tuple of Candidate
        All threads, the most probable first.
    none_p : float
        How probable it is that it is none of them, [1]; with the candidates' it adds up to one.
    by_origin : mapping
        Probability of origin and thread together, by origin and thread, [1].
    origins : mapping
        The origins' names by key.
    grounds : tuple of Ground
        What the probabilities rest on, besides the threads' own grounds.
    """

    measured: Measured
    candidates: tuple[Candidate, ...]
    none_p: float
    by_origin: dict[str, dict[Hashable, float]]
    origins: dict[str, str]
    grounds: Grounds

    @property
    def leading(self) -> tuple[Candidate, ...]:
        """Those worth a word: the first, and whatever has at least two in a hundred, six at most."""
        return self.candidates[:1] + tuple(one for one in self.candidates[1:6] if one.p >= 0.02)


def threads_like(
    reference: Reference,
    diameter_m: float,
    pitch_m: float,
    *,
    u_diameter_m: float = U_DIAMETER_M,
    u_pitch_m: float | None = None,
    angle_deg: float | None = None,
    u_angle_deg: float = U_ANGLE_DEG,
    crest: Crest | None = None,
    origin: str | None = None,
) -> Likeness:
    """
    The threads a measured screw can be, with probabilities.

    Parameters
    ----------
    reference : Reference
        The tables.
    diameter_m, pitch_m : float
        Outside diameter over the crests, and pitch, [m].
    u_diameter_m, u_pitch_m : float
        Their standard uncertainties, [m]; the pitch's is 2 % of it where none is given.
    angle_deg, u_angle_deg : float, optional
        Angle between the flanks and its standard uncertainty, [degree].
    crest : str, optional
        ``"flat"`` or ``"rounded"``, as seen under a loupe.
    origin : str, optional
        Where the camera was made: a name of the table of origins.

    Returns
    -------
    likeness : Likeness
        All threads with their probabilities, the most probable first.

    Raises
    ------
    ValueError
        If a figure cannot be a screw's.
    UnknownWord
        If the origin is not in its table.
    """
    measured = Measured(
        diameter_m=diameter_m,
        pitch_m=pitch_m,
        u_diameter_m=u_diameter_m,
        u_pitch_m=U_PITCH_SHARE * pitch_m if u_pitch_m is None else u_pitch_m,
        angle_deg=angle_deg,
        u_angle_deg=u_angle_deg,
        crest=crest,
    )
    all_threads = threads(reference)
    before, grounds = odds(reference, origin)
    weight = {key: likelihood(one, measured) for key, one in all_threads.items()}
    none = NONE_OF_THESE * likelihood_of_none(measured)
    joint = {
        place: {key: (1 - NONE_OF_THESE) * p * weight[key] for key, p in among.items()}
        for place, among in before.items()
    }
    whole = none + sum(sum(among.values()) for among in joint.values())
    by_origin = {place: {key: p / whole for key, p in among.items()} for place, among in joint.items()}
    candidates = [
        Candidate(thread=one, p=sum(among[key] for among in by_origin.values()))
        for key, one in all_threads.items()
    ]
    return Likeness(
        measured=measured,
        candidates=tuple(sorted(candidates, key=lambda one: -one.p)),
        none_p=none / whole,
        by_origin=by_origin,
        origins={key: reference.rows(ORIGINS)[key].name for key in by_origin},
        grounds=joined(grounds, (NOT_COUNTED, HOW_SCREWS_VARY)),
    )


def likelihood(thread: Thread, measured: Measured) -> float:
    """How densely screws of a thread would be measured just so, [1/m2] (by angle and crest where given)."""
    u_pitch = math.hypot(measured.u_pitch_m, OWN_PITCH * thread.pitch_m)
    found = normal(measured.pitch_m, thread.pitch_m, u_pitch)
    if found < 1e-300:
        return 0.0
    found *= sum(
        share * spread(measured.diameter_m, low, high, measured.u_diameter_m)
        for share, low, high in diameters(thread)
    )
    if measured.angle_deg is not None:
        u_angle = math.hypot(measured.u_angle_deg, OWN_ANGLE_DEG)
        found *= normal(measured.angle_deg, thread.form.angle_deg, u_angle)
    if measured.crest is not None:
        found *= MISTAKEN_CREST if measured.crest != thread.form.crest else 1 - MISTAKEN_CREST
    return found


def likelihood_of_none(measured: Measured) -> float:
    """The same for a screw of no thread in the tables: anything goes, evenly by ratio of sizes."""
    evenly = 1 / (measured.diameter_m * math.log(LARGEST_M / SMALLEST_M))
    evenly /= measured.pitch_m * math.log(0.35 / 0.08)  # pitch against diameter, as screws have it
    if measured.angle_deg is not None:
        evenly /= 62.0 - 45.0
    if measured.crest is not None:
        evenly *= 0.5
    return evenly


def diameters(thread: Thread) -> tuple[tuple[float, float, float], ...]:
    """Where screws of a thread have their outside diameter: share, lowest and highest, [1] and [m]."""
    low, high = thread.limits.low_m, thread.limits.high_m
    return (
        (WITHIN, low, high),
        (WORN, low - WORN_BY * thread.pitch_m, low),
        (ABOVE, high, high + ABOVE_BY * thread.pitch_m),
    )


def normal(x: float, mean: float, u: float) -> float:
    """The normal density."""
    return math.exp(-0.5 * ((x - mean) / u) ** 2) / (u * math.sqrt(2 * math.pi))


def spread(x: float, low: float, high: float, u: float) -> float:
    """The density of something even between two limits, read with a normal error."""
    root = u * math.sqrt(2)
    # erfc on the side where the value lies outside, lest two numbers near one be subtracted
    a, b = (low - x) / root, (high - x) / root
    inside = math.erfc(a) - math.erfc(b) if a > 0 else math.erfc(-b) - math.erfc(-a)
    return abs(inside) / (2 * (high - low))
