"""
Shutters with known faults, fired and measured: results as `pegwood measure shutter --json` writes them.

Nothing here is shared with the analysis. A shutter is made of times: what its train, its blades and its
faults make of each firing; the recorder adds noise and the error of its clock. Two populations: one drawn as
`pattern.toml` says shutters are, one that is made otherwise: gum that grows with the train's share of the
time, other sizes, other breaks, up to three faults, speeds that differ with heavier tails.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

import pegwood.instruments.shutter

TABLE = tomllib.loads(Path(pegwood.instruments.shutter.__file__).with_name("pattern.toml").read_text("utf-8"))
SAYS = TABLE["practice"]
ROWS = {row["id"]: row for row in TABLE["sign"]}

DOUBLING = {"1": 1.0, "1/2": 1 / 2, "1/4": 1 / 4, "1/8": 1 / 8, "1/15": 1 / 16, "1/30": 1 / 32}
DOUBLING |= {"1/60": 1 / 64, "1/125": 1 / 128, "1/250": 1 / 256, "1/500": 1 / 512, "1/1000": 1 / 1024}
IN_THE_ERRORS = (
    "all-slow", "all-fast", "slow-range-slow", "slow-range-fast", "slow-speeds-equal", "fast-end-slow",
    "fast-end-fast", "time-added", "time-missing", "one-speed", "no-pattern",
)  # fmt: skip
EXCLUDE = ({"all-slow", "all-fast"}, {"slow-range-slow", "slow-range-fast", "slow-speeds-equal"})
EXCLUDE += ({"fast-end-slow", "fast-end-fast", "time-added", "time-missing"},)


@dataclass
class Shutter:
    """
    One shutter: how each of its speeds is off, and how its firings differ.

    Attributes
    ----------
    errors : dict of str to float
        Error of a firing on average, settled, by marking, [EV].
    faults : set of str
        The signs it truly shows.
    firing_ev : float
        Standard deviation from firing to firing, [EV].
    first_ev : float
        How much slower a first firing after a rest is, [EV].
    rested : float
        Share of recordings that begin rested.
    bounces, caps : float
        Share of firings that do.
    travel_s : float
        Second curtain's travel time less the first's, [s].
    """

    errors: dict[str, float]
    faults: set[str] = field(default_factory=set)
    firing_ev: float = 0.03
    first_ev: float = 0.0
    rested: float = 0.0
    bounces: float = 0.0
    caps: float = 0.0
    travel_s: float | None = None


def fired(
    shutter: Shutter, rng: np.random.Generator, n: int = 5, noise_ev: float = 0.01, clock: float = 1e-4
) -> list[dict[str, Any]]:
    """What the instrument says of every speed: the fields of a result that matter here."""
    drift = clock * rng.standard_normal() / math.log(2)
    return [
        _recording(shutter, marked, off, rng, n, noise_ev, clock, drift)
        for marked, off in shutter.errors.items()
    ]


def _recording(
    shutter: Shutter,
    marked: str,
    off: float,
    rng: np.random.Generator,
    n: int,
    noise_ev: float,
    clock: float,
    drift: float,
) -> dict[str, Any]:
    target = DOUBLING[marked]
    true = off + drift + shutter.firing_ev * rng.standard_normal(n)
    if shutter.first_ev and rng.random() < shutter.rested:
        true[0] += shutter.first_ev
    times = target * 2 ** (true + noise_ev * rng.standard_normal(n))
    stops, mean = np.log2(times / target), float(times.mean())
    per_ev = mean * math.log(2)
    own = noise_ev / math.sqrt(n)
    repeat = max(float(stops.std(ddof=1)) / math.sqrt(n), own) if n > 1 else own
    of_clock = clock / math.log(2)
    u = math.hypot(repeat, of_clock)
    bounced = rng.random(n) < shutter.bounces
    result: dict[str, Any] = {
        "marked": marked,
        "marked_s": target,
        "shots": [
            {
                "at_s": 1.0 + i,
                "channel": 0,
                "effective_s": float(time),
                "bounce": bool(b),
                "bounce_extra_s": 0.05 * float(time) if b else 0.0,
                "budget": [{"name": "noise", "u": noise_ev * float(time) * math.log(2), "df": None}],
            }
            for i, (time, b) in enumerate(zip(times, bounced, strict=True))
        ],
        "summary": {
            "n": n,
            "effective_s": mean,
            "spread_ev": float(stops.std(ddof=1)) if n > 1 else None,
            "error_ev": math.log2(mean / target),
            "error_u_ev": u,
            "error_df": float(n - 1) if n > 1 else 9.0,
            "verdict": "no limit given",
            "first_firing_ev": None,
            "first_firing_u_ev": None,
            "first_firing_df": None,
            "budget": [
                {
                    "name": "repeatability" if n > 1 else "noise",
                    "u": repeat * per_ev,
                    "df": n - 1.0 or None,
                    "kind": "A",
                },
                {"name": "clock", "u": of_clock * per_ev, "df": None, "kind": "B"},
            ],
        },
    }
    if n >= 3:
        others = stops[1:]
        scatter = max(float(others.std(ddof=1)), noise_ev)
        result["summary"] |= {
            "first_firing_ev": float(stops[0] - others.mean()),
            "first_firing_u_ev": scatter * math.sqrt(1 + 1 / (n - 1)),
            "first_firing_df": n - 2.0,
        }
    if shutter.travel_s is not None:
        result["curtains"] = _curtains(shutter, mean, rng, n)
    return result


def _curtains(shutter: Shutter, mean: float, rng: np.random.Generator, n: int) -> dict[str, Any]:
    assert shutter.travel_s is not None
    half = min(max(shutter.travel_s / 2, -0.9 * mean), 0.9 * mean)
    spread = 0.03
    taper = math.log2((mean + half) / (mean - half)) + spread / math.sqrt(n) * rng.standard_normal()
    capped = rng.random(n) < (shutter.caps if mean < 0.003 else 0.0)
    return {
        "taper_ev": taper,
        "taper_u_ev": spread / math.sqrt(n),
        "taper_df": None,
        "firings": [{"capping": "found" if c else "not found"} for c in capped],
    }


# --- the population of the table -------------------------------------------------------------------------


def _dial(rng: np.random.Generator) -> list[str]:
    """All of a dial, or every second speed of it, or some."""
    marks = list(DOUBLING)[: 10 + rng.integers(2)]
    how = rng.random()
    if how < 0.6:
        return marks
    if how < 0.8:
        return marks[rng.integers(2) :: 2]
    return sorted(rng.choice(marks, size=rng.integers(4, 9), replace=False), key=list(DOUBLING).index)


def as_the_table_says(rng: np.random.Generator) -> Shutter:
    """A shutter drawn as `pattern.toml` says they are, with at most two faults in its errors."""
    marks = _dial(rng)
    times = np.array([DOUBLING[m] for m in marks])
    while True:
        faults = {name for name in IN_THE_ERRORS if rng.random() < ROWS[name]["prior"]}
        clash = any(len(faults & group) > 1 for group in EXCLUDE)
        if len(faults) <= 2 and not clash and not ("no-pattern" in faults and len(faults) > 1):
            break
    off = (
        np.zeros(len(times))
        if faults & EXCLUDE[0]
        else np.full(len(times), SAYS["sound_offset_ev"] * rng.normal())
    )
    key = "scattered" if "no-pattern" in faults else "between"
    off += rng.choice(SAYS[f"{key}_ev"], p=SAYS[f"{key}_weights"]) * rng.standard_normal(len(times))
    for name in faults - {"no-pattern"}:
        off += _as_drawn(name, times, rng)
    return _fired_as(Shutter(dict(zip(marks, map(float, off), strict=True)), faults), rng)


def _as_drawn(name: str, times: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    row = ROWS[name]
    if row["shape"] == "equal":
        at = _between(SAYS["slow_break_s"], rng)
        common = SAYS["bypassed_s"] * 2 ** (SAYS["bypassed_sd_ev"] * rng.standard_normal())
        return np.where(times >= at, np.log2(common / times), 0.0)
    if row["shape"] == "delay":
        while True:
            delay = row["direction"] * SAYS["delay_median_s"] * SAYS["delay_factor"] ** rng.standard_normal()
            if 1 + delay / times.min() > 0.07:
                return np.log2(1 + delay / times)
    size = row["sizes"][rng.choice(len(row["sizes"]), p=[one["weight"] for one in row["sizes"]])]
    amount = size["mean_ev"] + size["sd_ev"] * rng.standard_normal()
    if row["shape"] == "all":
        return np.full(len(times), amount)
    if row["shape"] == "one":
        return amount * (np.arange(len(times)) == rng.integers(len(times)))
    at = _between(SAYS[f"{row['shape']}_break_s"], rng)
    sign = 1 if row["shape"] == "slow" else -1
    reach, full = sign * np.log2(times / at), sign * math.log2(SAYS[f"{row['shape']}_full_s"] / at)
    if rng.random() < 0.5 and full > 1:
        return amount * np.clip(reach / full, 0, 1)
    return amount * (reach >= 0)


def _between(ends: list[float], rng: np.random.Generator) -> float:
    return float(2 ** rng.uniform(math.log2(ends[0]), math.log2(ends[1])))


def _fired_as(shutter: Shutter, rng: np.random.Generator) -> Shutter:
    """Scatter, first firing, bounce and curtains as the table has them."""
    df = SAYS["firing_df"]
    shutter.firing_ev = SAYS["firing_ev"] * math.sqrt(df / rng.chisquare(df))
    if shutter.firing_ev > SAYS["scatter_bound_ev"]:
        shutter.faults.add("scatter")
    if rng.random() < ROWS["first-firing-slow"]["prior"]:
        shutter.faults.add("first-firing-slow")
        shutter.first_ev = SAYS["first_ev"] + SAYS["first_sd_ev"] * rng.standard_normal()
        shutter.rested = SAYS["first_rested"]
    watched = rng.random() < 0.5
    for name, share in (("bounce", "bounces"), ("capping", "caps")):
        does = rng.random() < ROWS[name]["prior"] and (name != "capping" or watched)
        if does:
            shutter.faults.add(name)
        setattr(shutter, share, rng.beta(SAYS["share_a"], SAYS["share_b"]) if does else SAYS["false_alarm"])
    if watched:
        unequal = rng.random() < SAYS["travel_unequal_share"]
        shutter.travel_s = SAYS["travel_unequal_s" if unequal else "travel_sound_s"] * rng.standard_normal()
        fastest = list(shutter.errors)[-1]
        time = DOUBLING[fastest] * 2 ** shutter.errors[fastest]
        half = min(max(shutter.travel_s / 2, -0.9 * time), 0.9 * time)
        taper = math.log2((time + half) / (time - half))
        if abs(taper) > SAYS["taper_bound_ev"]:
            shutter.faults.add("taper-late" if taper > 0 else "taper-early")
    return shutter


# --- a population that is made otherwise -------------------------------------------------------------------


def made_otherwise(rng: np.random.Generator) -> Shutter:
    """Other frequencies, other sizes, other shapes; up to three faults; heavier tails between speeds."""
    marks = _dial(rng)
    times = np.array([DOUBLING[m] for m in marks])
    share = {
        "all-slow": 0.22, "all-fast": 0.03, "slow-range-slow": 0.3, "slow-range-fast": 0.03,
        "slow-speeds-equal": 0.03, "fast-end-slow": 0.2, "fast-end-fast": 0.03, "time-added": 0.04,
        "time-missing": 0.01, "one-speed": 0.04, "no-pattern": 0.03,
    }  # fmt: skip
    while True:
        faults = {name for name in IN_THE_ERRORS if rng.random() < share[name]}
        clash = any(len(faults & group) > 1 for group in EXCLUDE)
        if len(faults) <= 3 and not clash and not ("no-pattern" in faults and len(faults) > 1):
            break
    off = 0.06 * rng.standard_normal() + 0.05 * rng.standard_t(4, len(times))
    if "no-pattern" in faults:
        off = rng.uniform(-0.9, 0.9, len(times))
    for name in faults - {"no-pattern"}:
        off = off + _otherwise(name, times, rng)
    shutter = Shutter(dict(zip(marks, map(float, off), strict=True)), faults)
    shutter.firing_ev = float(0.04 * np.exp(0.6 * rng.standard_normal()))
    if shutter.firing_ev > SAYS["scatter_bound_ev"]:
        shutter.faults.add("scatter")
    if rng.random() < 0.2:
        shutter.faults.add("first-firing-slow")
        shutter.first_ev, shutter.rested = float(rng.uniform(0.15, 1.0)), 0.5
    if rng.random() < 0.1:
        shutter.faults.add("bounce")
        shutter.bounces = float(rng.uniform(0.1, 1.0))
    return shutter


def _otherwise(name: str, times: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    size = float(np.exp(rng.normal(math.log(0.6), 0.45)))
    if name.startswith("all"):
        return np.full(len(times), size if name == "all-slow" else -0.8 * size)
    if name == "slow-range-slow":  # gum: the train's share of the time
        train = np.maximum(times - rng.uniform(0.01, 0.03), 0)
        return 1.3 * size * train / (train + rng.uniform(0.02, 0.08))
    if name == "slow-range-fast":
        return np.where(times >= rng.uniform(0.02, 0.2), -size, 0.0)
    if name == "slow-speeds-equal":
        common = rng.uniform(0.012, 0.05)
        return np.where(times > common, np.log2(common / times), 0.0)
    if name.startswith("fast-end"):  # a drag that tells the more the faster
        at = 1 / rng.uniform(90, 300)
        share = np.clip(np.log2(2 * at / times) / np.log2(2 * at / (1 / 512)), 0, 1.3)
        return (1.2 * size if name == "fast-end-slow" else -size) * share
    if name == "time-added":
        return np.log2(1 + rng.uniform(0.0003, 0.002) / times)
    if name == "time-missing":
        return np.log2(1 - rng.uniform(0.15, 0.6) * times.min() / times)
    alone = np.arange(len(times)) == rng.integers(len(times))
    return rng.choice([-1, 1]) * size * alone
