"""A group of firings: mean, spread, error, verdict, first firing; and the JSON everybody else reads."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from pegwood.instruments.shutter import MarkedSpeed, analyse, limit_for
from pegwood.instruments.verdicts import Limit

from .lightcurves import Bench, Firing

MS = 1e-3
LIMIT = Limit(-0.3, 0.3, "the workshop", "practice")


def group(*effective: float, **bench) -> Bench:
    firings, at = [], 0.3
    for te in effective:
        firings.append(Firing(at, 0.5 * MS, te - 0.5 * MS, 0.5 * MS))
        at += te + 0.4
    return Bench(tuple(firings), rate=48_000, **bench)


def summary(bench: Bench, marked="1/125", **options):
    return analyse(bench.recording(), marked=MarkedSpeed.parse(marked), **options).summary


def test_the_mean_its_spread_and_its_error():
    times = [8.0 * MS, 8.2 * MS, 8.1 * MS, 8.4 * MS, 7.9 * MS]
    found = summary(group(*times, sigma=1e-3))
    assert found.n == 5
    assert found.effective.value == pytest.approx(np.mean(times), rel=1e-4)
    # GUM 4.2: the standard deviation of the mean; the clock's 58 ppm is small beside it
    assert found.effective.u == pytest.approx(np.std(times, ddof=1) / math.sqrt(5), rel=0.02)
    assert found.effective.df == pytest.approx(4, abs=0.2)
    assert found.spread_ev == pytest.approx(np.std(np.log2(times), ddof=1), rel=0.02)
    assert found.range_ev == pytest.approx(math.log2(8.4 / 7.9), rel=0.02)
    assert found.error.value == pytest.approx(math.log2(np.mean(times) * 128), abs=1e-3)
    assert found.error.u == pytest.approx(found.effective.u / found.effective.value / math.log(2))


def test_too_much_light_is_positive():
    assert summary(group(16 * MS)).error.value == pytest.approx(math.log2(16 / 7.8125), abs=1e-3)
    assert summary(group(4 * MS)).error.value == pytest.approx(math.log2(4 / 7.8125), abs=1e-3)


def test_the_reading_of_the_marking_moves_the_error():
    bench = group(16 * MS)
    exact, marked = summary(bench, "1/60"), summary(bench, "1/60", reading="as marked")
    assert exact.error.value - marked.error.value == pytest.approx(0.0931, abs=1e-4)


def test_one_firing_has_no_spread_and_keeps_its_own_budget():
    result = analyse(group(8 * MS).recording(), marked=MarkedSpeed.parse("1/125"), limit=LIMIT)
    assert result.summary.spread_ev is None
    assert result.summary.first_firing is None
    assert result.summary.effective.u == pytest.approx(result.shots[0].effective.u)


def test_two_firings_that_happen_to_agree_are_not_called_certain():
    result = analyse(group(8 * MS, 8 * MS, sigma=0.02).recording(), marked=MarkedSpeed.parse("1/125"))
    noise = [next(c.u for c in shot.effective.budget if c.name == "noise") for shot in result.shots]
    part = next(c for c in result.summary.effective.budget if c.name == "repeatability")
    assert part.df == 1
    assert part.u >= 0.999 * math.hypot(*noise) / 2


def test_a_first_firing_that_is_slow_is_told_apart_from_scatter():
    slow = summary(group(10 * MS, 8.0 * MS, 8.1 * MS, 7.9 * MS, 8.05 * MS))
    assert slow.first_firing.value == pytest.approx(math.log2(10 / 8.0125), abs=0.02)
    assert slow.first_firing.df == 3
    assert slow.first_firing.coverage_interval()[0] > 0
    even = summary(group(8.1 * MS, 8.0 * MS, 8.1 * MS, 7.9 * MS, 8.05 * MS))
    assert even.first_firing.coverage_interval()[0] < 0 < even.first_firing.coverage_interval()[1]


@pytest.mark.parametrize(
    ("te", "said"),
    [(7.8 * MS, "within"), (11.5 * MS, "outside"), (5.5 * MS, "outside"), (9.6 * MS, "too close to call")],
)
def test_the_verdict_follows_the_interval(te, said):
    times = te * np.array([0.99, 1.01, 1.0, 0.985, 1.015])
    assert summary(group(*times), limit=LIMIT).verdict == said


def test_without_a_limit_or_a_marked_speed_there_is_no_verdict():
    assert summary(group(8 * MS)).verdict == "no limit given"
    bench = group(8 * MS)
    assert analyse(bench.recording(), limit=LIMIT).summary.verdict == "no limit given"
    assert (
        summary(bench, "B", limit=limit_for("leaf", "newer", MarkedSpeed.parse("B"))).verdict
        == "no limit given"
    )


def test_firings_of_different_speeds_are_told():
    result = analyse(group(8 * MS, 33 * MS).recording(), marked=MarkedSpeed.parse("1/125"))
    assert any("more than 1 EV" in w for w in result.warnings)


def test_the_json_has_the_keys_that_were_promised():
    limit = limit_for("leaf", "newer", MarkedSpeed.parse("1/125"))
    result = analyse(group(8 * MS, 8.1 * MS).recording(), marked=MarkedSpeed.parse("1/125"), limit=limit)
    data = json.loads(json.dumps(result.to_json(), allow_nan=False))
    assert set(data) >= {"file", "method", "coupling", "sample_rate_hz", "shots", "summary", "warnings"}
    assert set(data["shots"][0]) >= {
        "at_s", "effective_s", "effective_u_s", "total_s", "opening_s", "closing_s", "efficiency", "bounce",
        "channel",
    }  # fmt: skip
    assert set(data["summary"]) >= {
        "n", "effective_s", "effective_u_s", "spread_ev", "error_ev", "error_u_ev", "verdict", "limit_source",
    }  # fmt: skip
    assert data["file"] == "bench.wav"
    assert data["marked"] == "1/125"
    assert data["reading"] == "exact"
    assert data["marked_s"] == 0.0078125
    assert data["summary"]["limit_source"] == limit.source
    assert data["summary"]["limit_mark"] == "practice"


def test_the_method_states_the_levels_it_reads_at():
    method = analyse(group(8 * MS).recording()).method
    for told in ("ISO 516", "integral", "0 %", "100 %", "50 %", "100 ppm"):
        assert told in method


def test_the_budget_of_a_firing_adds_up_to_its_uncertainty():
    shot = analyse(group(8 * MS, sigma=0.02).recording()).to_json()["shots"][0]
    assert math.hypot(*(c["u"] for c in shot["budget"])) == pytest.approx(shot["effective_u_s"], rel=1e-9)
    assert {"noise", "sampling", "clock"} <= {c["name"] for c in shot["budget"]}
    assert all(c["mark"] for c in shot["budget"] if c["source"])
    low, high = shot["effective_95_s"]
    assert low < shot["effective_s"] < high


@pytest.mark.parametrize("te", [2 * MS, 33 * MS, 3.0])
def test_the_light_curve_is_thin_and_carries_its_marks(te):
    result = analyse(group(te).recording())
    (curve,) = result.curves_json()
    t, level, marks = np.array(curve["t_s"]), np.array(curve["level"]), curve["marks_s"]
    assert len(t) == len(level) <= 400
    assert (np.diff(t) > 0).all()
    assert level.max() == pytest.approx(1, abs=0.06)
    assert abs(level[0]) < 0.06
    order = ["first_light", "half_open", "fully_open", "begins_to_close", "half_closed", "last_light"]
    at = [marks[name] for name in order]
    assert at == sorted(at)
    assert at == pytest.approx(
        [0, 0.25 * MS, 0.5 * MS, te, te + 0.25 * MS, te + 0.5 * MS], abs=0.05 * MS + 2e-4 * te
    )
    # the curve itself says the same: exposure under it is the effective time
    assert np.trapezoid(level, t) == pytest.approx(te, rel=0.02)


def test_progress_runs_from_little_to_all():
    told = []
    analyse(group(8 * MS, 8 * MS).recording(), progress=told.append)
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
