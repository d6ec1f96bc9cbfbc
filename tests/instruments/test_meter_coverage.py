"""How often a meter's 95 % intervals hold the truth, over simulated benches of many kinds."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from instruments.meters import Bench, binomial_bounds, in_series, leaking, rounded
from pegwood.instruments.meter import Against, Readings
from pegwood.instruments.meter.regression import fit_error

EVERY = Bench(tuple(range(4, 16)))
SIX = Bench((4, 6, 8, 10, 12, 14))
FOUR = Bench((5, 9, 12, 15))
UP_ONLY = Bench(tuple(range(4, 16)), both_ways=False)


@dataclass
class Meter:
    """A meter drawn at random: offset, slope and hysteresis as meters have them, read on some bench."""

    bench: Bench
    scatter: tuple
    division: float = 0.0
    bow: float = 0.2
    levels_off: float = 0.0
    reference: float = 0.0
    fault: Callable | None = None

    def read(self, rng):
        light, way = self.bench.light, self.bench.way
        offset, slope, apart = rng.normal(0, 0.5), rng.normal(0, 0.05), rng.normal(0, 0.15)
        middle, half = (light.max() + light.min()) / 2, np.ptp(light) / 2
        off = {level: rng.normal(0, self.levels_off) for level in self.bench.levels}
        scatter = np.exp(rng.uniform(*np.log(self.scatter)))
        true = light + rng.normal(0, self.reference)  # the reference is off by this, every time
        shown = (
            true
            + offset
            + slope * (light - middle)
            + rng.normal(0, self.bow) * ((light - middle) / half) ** 2
            + np.array([off[int(level)] for level in light])
            + rng.normal(0, scatter, light.size)
        )
        if self.bench.both_ways:
            shown = shown + apart * way / 2
        if self.fault:
            # at the middle, and the slope of the best line, of what the fault adds
            knee = rng.uniform(0, 4)
            grid = np.linspace(light.min(), light.max(), 1001)
            extra = self.fault(grid, knee) - grid
            offset, slope = offset + extra[500], slope + np.polyfit(grid, extra, 1)[0]
            shown = shown + self.fault(light, knee) - light
        shown = rounded(shown, self.division)
        told = Readings(
            light, shown, way, np.full(light.size, self.division), tuple(range(light.size)),
            one_way="" if self.bench.both_ways else "only one way",
        )  # fmt: skip
        return told, (offset, slope, apart)


KINDS = {
    "every level": (Meter(EVERY, (0.02, 0.2)), 1000),
    "six levels": (Meter(SIX, (0.02, 0.2)), 1000),
    "four levels": (Meter(FOUR, (0.02, 0.2)), 1000),
    "one way": (Meter(UP_ONLY, (0.02, 0.2)), 1000),
    "a reference that is off": (Meter(SIX, (0.02, 0.1), reference=0.1), 1000),
    "filters that are off": (Meter(EVERY, (0.02, 0.05), levels_off=0.1), 1000),
    "a leak": (Meter(EVERY, (0.02, 0.2), bow=0.05, fault=lambda light, knee: leaking(light, 2 + knee)), 1000),
    "in series": (
        Meter(EVERY, (0.02, 0.2), bow=0.05, fault=lambda light, knee: in_series(light, 17 - knee)),
        1000,
    ),
    "thirds, every level": (Meter(EVERY, (0.02, 0.2), 1 / 3), 160),
    "thirds, six levels": (Meter(SIX, (0.02, 0.2), 1 / 3), 300),
    "thirds, one way": (Meter(UP_ONLY, (0.02, 0.2), 1 / 3), 160),
    "halves": (Meter(EVERY, (0.03, 0.3), 1 / 2), 160),
    "tenths": (Meter(EVERY, (0.02, 0.1), 1 / 10), 300),
}


def coverage(meter, n, seed=0):
    """Shares of intervals that hold offset, slope and hysteresis."""
    rng, hits = np.random.default_rng(seed), np.zeros(3)
    common = Against(reference_u=meter.reference).common()
    for _ in range(n):
        readings, truth = meter.read(rng)
        fit = fit_error(readings)
        found = (fit.at(fit.middle, common), fit.slope(), fit.hysteresis())
        for place, (one, true) in enumerate(zip(found, truth, strict=True)):
            if one is not None:
                low, high = one.coverage_interval()
                hits[place] += low <= true <= high
    return hits[: 3 if meter.bench.both_ways else 2] / n


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_intervals_hold_the_truth(kind):
    meter, n = KINDS[kind]
    held = coverage(meter, n)
    low, high = binomial_bounds(n)
    assert ((low <= held) & (held <= high)).all(), held
