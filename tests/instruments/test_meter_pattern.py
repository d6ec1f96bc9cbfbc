"""What a meter's errors show, on meters with a known fault, reckoned from its physics."""

import numpy as np
import pytest

from instruments.meters import Bench, in_series, leaking, rounded
from pegwood.instruments.meter import Against, Pattern, Readings, Shift, Stands, analyse_meter
from pegwood.instruments.meter._words import advice
from pegwood.instruments.uncertainty import Measured

BENCH = Bench(tuple(range(4, 17)))
AGAINST = Against(reference_u=0.05)


def meter(rng, fault, division):
    """Readings of a meter with one fault of a size that a repairer would see."""
    light, way = BENCH.light, BENCH.way
    shown, scatter = light + rng.normal(0, 0.03), 0.04
    sign = rng.choice([-1, 1])
    if fault == "offset":
        shown = shown + sign * rng.uniform(0.4, 1.0)
    elif fault == "low end only":
        shown = leaking(light, rng.uniform(4.0, 5.5))
    elif fault == "high end only":
        shown = in_series(light, rng.uniform(14.5, 16.0))
    elif fault == "hysteresis":
        shown = shown - rng.uniform(0.3, 0.6) * way / 2
    elif fault == "scatter":
        scatter = rng.uniform(0.3, 0.5)
    elif fault == "slope":
        shown = shown + sign * rng.uniform(0.06, 0.1) * (light - 10)
    shown = rounded(shown + rng.normal(0, scatter, light.size), division)
    return Readings(light, shown, way, np.full(light.size, division), tuple(range(light.size)))


FAULTS = ("none", "offset", "low end only", "high end only", "hysteresis", "scatter", "slope")


@pytest.mark.parametrize(("division", "n"), [(0.0, 30), (0.1, 8)])
@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_named_and_hardly_ever_another(fault, division, n):
    rng = np.random.default_rng(FAULTS.index(fault))
    named = [analyse_meter(meter(rng, fault, division), AGAINST).pattern.name for _ in range(n)]
    assert named.count(fault) >= 0.85 * n, named
    unclear = named.count("no clear pattern") + named.count("none")
    assert named.count(fault) + unclear >= 0.92 * n, named  # the rest points at a wrong part


@pytest.mark.parametrize(
    ("fault", "may_be"),
    [
        ("low end only", lambda light, rng: leaking(light, 4 + rng.uniform(-2, 0))),
        ("high end only", lambda light, rng: in_series(light, 16 + rng.uniform(0, 2))),
        ("slope", lambda light, rng: light + rng.choice([-1, 1]) * rng.uniform(0.02, 0.05) * (light - 10)),
    ],
)
def test_a_small_fault_is_left_unnamed_rather_than_misnamed(fault, may_be):
    rng, n = np.random.default_rng(4), 80
    bench = Bench((4, 6, 8, 10, 12, 14, 16), both_ways=False)
    named = []
    for _ in range(n):
        shown = may_be(bench.light, rng) + rng.normal(0, 0.06, 7)
        readings = Readings(bench.light, shown, bench.way, np.zeros(7), tuple(range(7)), one_way="one way")
        named.append(analyse_meter(readings, AGAINST).pattern.name)
    wrong = [one for one in named if one not in (fault, "none", "no clear pattern")]
    assert len(wrong) <= 0.05 * n, wrong


def test_too_few_levels_name_no_pattern():
    readings = Readings(
        np.array([5.0, 9, 13] * 2), np.array([5.5, 9.4, 13.6] * 2), np.array([1.0] * 3 + [-1.0] * 3),
        np.zeros(6),
        tuple(range(6)),
    )  # fmt: skip
    assert analyse_meter(readings, AGAINST).pattern.name == "cannot tell"


def test_two_shapes_alike_are_not_clear():
    # four levels with a single droop, and much noise: slope, bow or end
    rng = np.random.default_rng(3)
    unclear = 0
    for _ in range(20):
        light = np.array([5.0, 8, 11, 14])
        shown = light + np.array([-0.5, -0.2, 0, 0]) + rng.normal(0, 0.12, 4)
        found = analyse_meter(
            Readings(light, shown, np.zeros(4), np.zeros(4), (2, 3, 4, 5), one_way="-"), AGAINST
        )
        unclear += found.pattern.name in ("no clear pattern", "offset", "none")
    assert unclear >= 15


def test_every_pattern_has_its_meaning_advice_and_caution():
    from pegwood.instruments.meter.telling import advice_for, cautions_for, meaning_of

    for name in (*FAULTS, "bow", "no clear pattern", "cannot tell"):
        assert meaning_of(name)
        assert advice_for(name)
    assert any("mercury" in line for line in cautions_for("cds"))
    assert any("light" in line and "Selenium" in line for line in cautions_for("selenium"))
    assert any("remembers" in line for line in cautions_for("cds"))
    assert set(cautions_for("unknown")) >= {*cautions_for("selenium"), *cautions_for("cds")}


def test_a_cause_comes_before_the_trim_that_would_hide_it():
    rng = np.random.default_rng(2)
    leak = analyse_meter(meter(rng, "low end only", 0.0), AGAINST)
    assert "clean its contacts" in leak.advice[0]
    assert "Only what can't be mended is trimmed away" in leak.advice[-1]
    high = analyse_meter(meter(rng, "offset", 0.0), AGAINST)
    assert high.advice[0].startswith("Trim so that it shows")


def test_where_nothing_is_to_be_turned_nothing_is_said_of_turning():
    pattern = Pattern("offset", (Stands("offset", 0.2),), {})
    unsure = Shift(Measured(-0.2, 0.15), 0.25, 0.05, 2**-0.2, -1, 0.13)
    (only,) = advice(pattern, unsure, "too close to call")
    assert "holds zero: do not turn anything" in only
    sure = Shift(Measured(-0.2, 0.05), 0.25, 0.05, 2**-0.2, -1, 0.13)
    first, second, *_ = advice(pattern, sure, "too close to call")
    assert first.startswith("Trim so that it shows 0.20 EV less (95 %: -0.30 to -0.10)")  # 1.96 x 0.05
    assert "zero screw" in second


def test_the_sign_of_a_hysteresis_is_told():
    rng = np.random.default_rng(8)
    lagging = analyse_meter(meter(rng, "hysteresis", 0.0), AGAINST)
    assert lagging.hysteresis.value < 0
    assert any("as a needle does that lags" in line for line in lagging.advice)
