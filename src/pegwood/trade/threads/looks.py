"""
What to measure next: the look that is expected to tell most, and what each thread would read.

The gain is the mutual information between what the look shows and which thread it is, in bits: how far the
doubt left now will shrink, on average over all the look can show. Two threads equally probable leave one bit.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from pegwood.trade.grounds import Ground, Grounds
from pegwood.trade.threads.likeness import (
    MISTAKEN_CREST,
    OWN_ANGLE_DEG,
    OWN_PITCH,
    Candidate,
    Likeness,
    diameters,
    normal,
    spread,
)

TURNS = 10
#: Over ten turns with a calliper's depth rod or a scale under a loupe, [m].
U_LENGTH_M = 0.03e-3
#: With a thread gauge's leaf, or lines laid over a photograph, [degree].
U_ANGLE_DEG = 2.0
#: With a micrometer over the crests, [m].
U_MICROMETER_M = 0.004e-3
#: A known hole and a screw turned in by two fingers: how often the answer misleads.
MISLED_BY_HOLE = 0.10
#: A look must promise this much to be worth the time, [bit].
WORTH_BITS = 0.02

HOW_LOOKS_ERR = Ground(
    "common bench practice: 0.03 mm over ten turns, 2 degrees by gauge or photograph, 0.004 mm by "
    "micrometer, one crest in eight misread, one try in ten in a known hole misleading",
    "practice",
)


@dataclass(frozen=True, kw_only=True)
class Look:
    """
    Something to measure or to try.

    Attributes
    ----------
    do : str
        What to do.
    how : str
        How, in a sentence.
    gain_bits : float
        By how much it is expected to lessen the doubt, [bit].
    reads : tuple of (str, str)
        What each of the leading threads would read.
    grounds : tuple of Ground
        What the gain rests on.
    """

    do: str
    how: str
    gain_bits: float
    reads: tuple[tuple[str, str], ...]
    grounds: Grounds = (HOW_LOOKS_ERR,)


def looks(likeness: Likeness) -> tuple[Look, ...]:
    """
    All there is to measure or try that is worth it, what tells most first; none where nothing is left.

    Parameters
    ----------
    likeness : Likeness
        What the screw can be by now.
    """
    among = [one for one in likeness.candidates[:12] if one.p > 1e-3]
    if len(among) < 2:
        return ()
    found = sorted(_all(likeness, among), key=lambda look: -look.gain_bits)
    return tuple(look for look in found if look.gain_bits >= WORTH_BITS)


def _all(likeness: Likeness, among: Sequence[Candidate]) -> Iterator[Look]:
    measured = likeness.measured
    if measured.u_pitch_m > U_LENGTH_M / TURNS:
        yield _turns(among, likeness)
    if measured.angle_deg is None:
        yield _angle(among, likeness)
    if measured.crest is None:
        yield _crest(among, likeness)
    if measured.u_diameter_m > 1.5 * U_MICROMETER_M:
        yield _micrometer(among, likeness)
    if len(likeness.by_origin) > 1:
        yield _origin(among, likeness)
    yield _hole(among, likeness)


def _reads(likeness: Likeness, reading: Callable[[Candidate], str]) -> tuple[tuple[str, str], ...]:
    return tuple((one.thread.name, reading(one)) for one in likeness.leading)


def _turns(among: Sequence[Candidate], likeness: Likeness) -> Look:
    def density(one: Candidate, length: float) -> float:
        mean = TURNS * one.thread.pitch_m
        return normal(length, mean, math.hypot(U_LENGTH_M, OWN_PITCH * mean))

    lengths = [TURNS * one.thread.pitch_m for one in among]
    return Look(
        do=f"the pitch over {TURNS} turns",
        how=f"Measure from crest to crest over {TURNS} turns, or over as many as there are, and divide.",
        gain_bits=_gain_of_value(among, density, min(lengths), max(lengths), U_LENGTH_M),
        reads=_reads(likeness, lambda one: f"{TURNS * one.thread.pitch_m * 1e3:.2f} mm"),
    )


def _angle(among: Sequence[Candidate], likeness: Likeness) -> Look:
    u = math.hypot(U_ANGLE_DEG, OWN_ANGLE_DEG)
    return Look(
        do="the angle between the flanks",
        how="Lay a thread gauge's leaf of each form in it against the light, or lines over a photograph.",
        gain_bits=_gain_of_value(
            among, lambda one, angle: normal(angle, one.thread.form.angle_deg, u), 47.5, 60.0, u
        ),
        reads=_reads(likeness, lambda one: f"{one.thread.form.angle_deg:.3g}°"),
    )


def _crest(among: Sequence[Candidate], likeness: Likeness) -> Look:
    return Look(
        do="the form of the crests",
        how="Look along the thread under a loupe: flat on top, or rounded? A worn screw tells nothing.",
        gain_bits=_gain_of_words(
            among,
            lambda one: {
                form: MISTAKEN_CREST if form != one.thread.form.crest else 1 - MISTAKEN_CREST
                for form in ("flat", "rounded")
            },
        ),
        reads=_reads(likeness, lambda one: one.thread.form.crest),
    )


def _micrometer(among: Sequence[Candidate], likeness: Likeness) -> Look:
    measured = likeness.measured
    step = U_MICROMETER_M  # as wide as the blur: a sum over a normal's own width is exact to a millionth
    reach = 4 * measured.u_diameter_m
    grid = [measured.diameter_m - reach + step * i for i in range(int(2 * reach / step) + 1)]

    def true(one: Candidate) -> list[float]:
        """Where the true diameter lies by what is known so far, blurred by the micrometer."""
        density = [
            normal(d, measured.diameter_m, measured.u_diameter_m)
            * sum(share * spread(d, low, high, U_MICROMETER_M) for share, low, high in diameters(one.thread))
            for d in grid
        ]
        whole = sum(density) * step
        return [value / whole if whole else 0.0 for value in density]

    densities = {one.thread.row.key: true(one) for one in among}
    at = {d: i for i, d in enumerate(grid)}
    return Look(
        do="the outside diameter with a micrometer",
        how="Over the crests of unworn turns, at three places; take the largest.",
        gain_bits=_gain_on_grid(among, lambda one, d: densities[one.thread.row.key][at[d]], grid, step),
        reads=_reads(
            likeness,
            lambda one: f"{one.thread.limits.low_m * 1e3:.3f} to {one.thread.limits.high_m * 1e3:.3f} mm",
        ),
    )


def _origin(among: Sequence[Candidate], likeness: Likeness) -> Look:
    def places(one: Candidate) -> dict[str, float]:
        found = {place: odds[one.thread.row.key] for place, odds in likeness.by_origin.items()}
        whole = sum(found.values())
        return {place: p / whole for place, p in found.items()}

    def likeliest(one: Candidate) -> str:
        found = places(one)
        place = max(found, key=lambda name: found[name])
        return f"{likeness.origins[place]} in {100 * found[place]:.0f} of 100"

    return Look(
        do="where the camera was made",
        how="And whether the screw is its own: the threads of one maker's country rarely mix in one camera.",
        gain_bits=_gain_of_words(among, places),
        reads=_reads(likeness, likeliest),
    )


def _hole(among: Sequence[Candidate], likeness: Likeness) -> Look:
    """The known hole, of those of the three leading threads, that parts them best."""
    return max((_in_hole(known, among, likeness) for known in among[:3]), key=lambda look: look.gain_bits)


def _in_hole(known: Candidate, among: Sequence[Candidate], likeness: Likeness) -> Look:
    def goes(one: Candidate) -> bool:
        """Whether it goes in by fingers for six turns: little slack for the pitch, less for the diameter."""
        off = 6 * abs(one.thread.pitch_m - known.thread.pitch_m)
        larger = one.thread.limits.high_m - known.thread.diameter_m
        return off < 0.12 * known.thread.pitch_m and larger < 0.03e-3

    def shows(one: Candidate) -> dict[str, float]:
        p = 1 - MISLED_BY_HOLE if goes(one) else MISLED_BY_HOLE
        return {"goes in": p, "stiffens": 1 - p}

    return Look(
        do=f"by hand in a hole that is known to be {known.thread.name}",
        how="Two fingers, no driver. Stop where it stiffens: never force it.",
        gain_bits=_gain_of_words(among, shows),
        reads=_reads(likeness, lambda one: "goes in" if goes(one) else "stiffens"),
    )


def _gain_of_value(
    among: Sequence[Candidate],
    density: Callable[[Candidate, float], float],
    lowest: float,
    highest: float,
    u: float,
) -> float:
    """Mutual information of a reading that scatters by about u around values between the two."""
    low, high = lowest - 5 * u, highest + 5 * u
    count = min(600, max(60, int((high - low) / (u / 3))))
    step = (high - low) / count
    return _gain_on_grid(among, density, [low + step * i for i in range(count + 1)], step)


def _gain_on_grid(
    among: Sequence[Candidate],
    density: Callable[[Candidate, float], float],
    grid: Sequence[float],
    step: float,
) -> float:
    whole = sum(one.p for one in among)
    gain = 0.0
    for x in grid:
        each = [(one.p / whole, density(one, x)) for one in among]
        mean = sum(p * f for p, f in each)
        gain += step * sum(p * f * math.log2(f / mean) for p, f in each if f > 0 and p > 0)
    return max(gain, 0.0)


def _gain_of_words(among: Sequence[Candidate], shows: Callable[[Candidate], dict[str, float]]) -> float:
    """The same for what is seen as one of a few words."""
    whole = sum(one.p for one in among)
    each = [(one.p / whole, shows(one)) for one in among]
    gain = 0.0
    for word in each[0][1]:
        mean = sum(p * seen[word] for p, seen in each)
        gain += sum(p * seen[word] * math.log2(seen[word] / mean) for p, seen in each if seen[word] > 0)
    return max(gain, 0.0)
