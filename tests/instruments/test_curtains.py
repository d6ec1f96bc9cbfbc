"""
Both curtains of a focal-plane shutter, timed by sensors across the gate.

What is right is worked out here: uniform and uniformly accelerated motion (x = v t + a t^2 / 2, elementary
mechanics, from memory), the geometry of the shadow as the house's fact sheet on shutter timing has it (1.7
and row 6 of its section 12; mark there: memory, calc), and recordings of a simulated shutter that shares no
code with the analysis.
"""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace

import numpy as np
import pytest

from pegwood.demo import simulator as sim
from pegwood.instruments.recordings import open_recording
from pegwood.instruments.shutter import (
    MarkedSpeed,
    RefusedCurtains,
    Sensors,
    analyse,
    compare_places,
    places_from_mm,
    with_curtains,
)
from pegwood.instruments.shutter._figure import mean_over_firings, taper
from pegwood.instruments.shutter._kinematics import Run, shadow_width, slit_efficiency
from pegwood.instruments.shutter._passing import Passing, capping
from pegwood.instruments.uncertainty import Component, combine

from .lightcurves import EDGES, Bench, Firing

THREE = (0.0, 0.018, 0.036)
EVEN = sim.Curtain(speed_m_s=2.5)
SPRUNG = sim.Curtain(speed_m_s=2.0, acceleration_m_s2=60.0)


def arrival(x: float, v: float, a: float) -> float:
    """When x = v t + a t^2 / 2, by the formula for the root: t = (sqrt(v^2 + 2 a x) - v) / a."""
    return x / v if a == 0 else (math.sqrt(v * v + 2 * a * x) - v) / a


def shutter(first=EVEN, second=EVEN, **more) -> sim.FocalPlaneShutter:
    return sim.FocalPlaneShutter(first=first, second=second, **{"sensor_m": 0.001, **more})


def recorded(kind, delays, places=THREE, seed=1, gate=None):
    """What the analysis makes of a row of firings, the second curtain starting after each of the delays."""
    points = [[replace(kind, point_m=x).fire(delay) for delay in delays] for x in places]
    made = sim.record_points(points, gate or sim.LightGate(), np.random.default_rng(seed))
    return analyse(open_recording(io.BytesIO(sim.as_audio(made)), name="firings.wav"))


def curtains_of(kind, delays, places=THREE, **more):
    found = with_curtains(recorded(kind, delays, places), Sensors(places_m=places, **more)).curtains
    assert found is not None
    return found


def holds(measured, truth: float, probability: float = 0.999) -> bool:
    low, high = measured.coverage_interval(probability)
    return low < truth < high


# --- kinematics in closed form --------------------------------------------------------------------


@pytest.mark.parametrize("places", [(0.0, 0.036), THREE, (0.002, 0.018, 0.030)])
def test_an_even_run_has_one_speed_everywhere(places):
    run = Run(tuple(x / 2.5 for x in places), places)
    assert [run.speed(t) for t in run.times_s] == pytest.approx([2.5] * len(places), rel=1e-12)
    assert run.time_at(0.036) - run.time_at(0.0) == pytest.approx(0.036 / 2.5, rel=1e-12)


@pytest.mark.parametrize(("v", "a"), [(2.0, 60.0), (0.5, 200.0), (3.0, -40.0)])
def test_three_places_give_an_even_acceleration_exactly(v, a):
    run = Run(tuple(arrival(x, v, a) for x in THREE), THREE)
    # v(x) = sqrt(v0^2 + 2 a x)
    speeds = [math.sqrt(v * v + 2 * a * x) for x in THREE]
    assert [run.speed(t) for t in run.times_s] == pytest.approx(speeds, rel=1e-9)
    assert run.time_at(0.040) == pytest.approx(arrival(0.040, v, a), rel=1e-9)


def test_a_bend_changes_speeds_but_not_the_passing_of_the_places():
    times = tuple(arrival(x, 2.0, 60.0) for x in THREE)
    bent = Run(times, THREE, bend=0.02)
    assert [bent.time_at(x) for x in THREE] == pytest.approx(times, abs=1e-12)
    gained = bent.speed(times[-1]) - Run(times, THREE).speed(times[-1])
    assert gained == pytest.approx(0.02 * 0.036 / times[-1], rel=1e-9)


def test_a_run_that_stops_before_a_place_is_no_way_there():
    # braked from 2 m/s at 60 m/s2 it stands after v^2 / 2a = 33 mm
    run = Run(tuple(arrival(x, 2.0, -60.0) for x in (0.0, 0.010, 0.020)), (0.0, 0.010, 0.020))
    with pytest.raises(ValueError, match="does not lead to 40 mm"):
        run.time_at(0.040)


@pytest.mark.parametrize("edge", ["linear", "square", "cosine", "rounded"])
def test_the_moment_of_half_light_is_where_the_edge_has_it(edge):
    firing = Firing(at=0.5, opening=0.002, plateau=0.006, closing=0.003, edge=edge)
    (shot,) = analyse(Bench(firings=(firing,), rate=48_000, sigma=0.003).recording()).shots
    half = EDGES[edge][2]  # by the edge's own formula
    assert shot.half_open.value == pytest.approx(0.5 + half * 0.002, abs=4e-6)
    assert shot.half_closed.value == pytest.approx(0.511 - half * 0.003, abs=4e-6)
    assert shot.half_open.u < 4e-6


# --- geometry of the shadow -----------------------------------------------------------------------


@pytest.mark.parametrize(("f_number", "efficiency"), [(2.0, 0.7273), (8.0, 0.9143)])
def test_the_shadow_lowers_the_efficiency_as_row_6_says(f_number, efficiency):
    # worth a test, row 6 (memory): slit 2 mm, curtain 1.5 mm before the film
    assert slit_efficiency(0.002, shadow_width(0.0015, f_number)) == pytest.approx(efficiency, abs=1e-4)


def test_the_efficiency_behind_a_lens_comes_with_the_slit():
    # slit 2 mm: delay = 2 mm / 2.5 m/s
    found = curtains_of(shutter(sensor_m=0.0005), [0.0008] * 3, gap_m=0.0015, f_number=2.0)
    assert found.shadow_m == pytest.approx(0.00075)
    for place in found.places:
        assert holds(place.slit, 0.002)
        assert holds(place.slit_efficiency, 0.7273)


# --- simulated shutters ---------------------------------------------------------------------------


def test_even_curtains_are_timed():
    found = curtains_of(shutter(), [0.002] * 3)
    assert holds(found.first_travel, 0.036 / 2.5)
    assert holds(found.second_travel, 0.036 / 2.5)
    assert found.first_travel.u < 5e-6
    assert holds(found.taper, 0.0)
    assert found.capping == "not found"
    for place in found.places:
        # slit = speed times time open
        assert holds(place.first_speed, 2.5)
        assert holds(place.slit, 0.005)
        assert holds(place.effective, 0.002)


def test_curtains_that_speed_up_are_timed():
    second = sim.Curtain(speed_m_s=1.95, acceleration_m_s2=60.0)
    found = curtains_of(shutter(SPRUNG, second), [0.002] * 3)
    t = [[arrival(x, v, 60.0) for x in THREE] for v in (2.0, 1.95)]
    assert holds(found.first_travel, t[0][2])
    assert holds(found.second_travel, t[1][2])
    open_s = [0.002 + t[1][i] - t[0][i] for i in range(3)]
    assert holds(found.taper, math.log2(open_s[2] / open_s[0]))
    for i, place in enumerate(found.places):
        assert holds(place.first_speed, math.sqrt(2.0**2 + 2 * 60 * THREE[i]))
        assert holds(place.second_speed, math.sqrt(1.95**2 + 2 * 60 * THREE[i]))
        # distance of both edges while the middle of the slit passes, by the two formulas of motion
        middle = t[0][i] + open_s[i] / 2
        slit = (2.0 * middle + 30 * middle**2) - (1.95 * (middle - 0.002) + 30 * (middle - 0.002) ** 2)
        assert place.slit.value == pytest.approx(slit, rel=5e-3)
        assert holds(place.slit, slit)


def test_each_curtain_passes_each_place_when_mechanics_say():
    second = sim.Curtain(speed_m_s=1.95, acceleration_m_s2=60.0)
    found = curtains_of(shutter(SPRUNG, second), [0.002] * 3)
    assert (found.places[0].opens.value, found.places[0].opens.u) == (0.0, 0.0)
    for place in found.places:
        if place.at_m:
            assert holds(place.opens, arrival(place.at_m, 2.0, 60.0))
        assert holds(place.closes, 0.002 + arrival(place.at_m, 1.95, 60.0))


def test_the_gate_stands_open_from_the_firsts_arrival_to_the_seconds_start():
    # at 2.5 m/s 40 mm take 16 ms; the first sensor sits 2 mm in, the second starts 20 ms after the first
    found = curtains_of(shutter(), [0.020] * 3, (0.002, 0.018, 0.034), gate_m=0.040)
    assert holds(found.flash.across, 0.038 / 2.5)
    assert holds(found.flash.starts, 0.020 - 0.002 / 2.5)
    assert holds(found.flash.wholly_open, 0.004)


@pytest.mark.parametrize(
    ("written", "places"),
    [("0,18,36", THREE), (" 0 18  36 ", THREE), ("0; 18; 36", THREE), ("0; 17,5", (0.0, 0.0175))],
)
def test_places_are_read_as_people_write_them(written, places):
    assert places_from_mm(written) == pytest.approx(places)


@pytest.mark.parametrize("written", ["left,right", "0;;36", "0,18,36mm", "1/2"])
def test_places_that_are_no_numbers_are_refused(written):
    with pytest.raises(RefusedCurtains, match="write them in mm"):
        places_from_mm(written)


@pytest.mark.parametrize(("sensor_m", "gap_m"), [(0.0005, 0.0), (0.0015, 0.0015), (0.003, 0.0)])
def test_neither_the_sensors_window_nor_the_shadow_moves_the_travel(sensor_m, gap_m):
    kind = shutter(SPRUNG, SPRUNG, sensor_m=sensor_m, gap_m=gap_m, f_number=4.0)
    found = curtains_of(kind, [0.004] * 3)
    assert found.first_travel.value == pytest.approx(arrival(0.036, 2.0, 60.0), rel=5e-4)


def test_a_slower_second_curtain_is_a_positive_taper():
    # arrival times: 36 mm at 2.4 against 2.0 m/s differ by 3 ms: 2 ms at the first place, 5 ms at the last
    found = curtains_of(shutter(sim.Curtain(speed_m_s=2.4), sim.Curtain(speed_m_s=2.0)), [0.002] * 3)
    assert found.taper.value == pytest.approx(math.log2(5 / 2), abs=2e-3)
    assert found.unevenness.value == pytest.approx(math.log2(5 / 2), abs=2e-3)


def test_two_sensors_know_less_about_speed_and_say_so():
    two = curtains_of(shutter(SPRUNG, SPRUNG), [0.002] * 3, (0.0, 0.036))
    three = curtains_of(shutter(SPRUNG, SPRUNG), [0.002] * 3)
    assert two.first_travel.value == pytest.approx(three.first_travel.value, rel=1e-3)
    assert two.places[0].first_speed.u > 3 * three.places[0].first_speed.u
    for place, x in zip(two.places, (0.0, 0.036), strict=True):
        assert holds(place.first_speed, math.sqrt(2.0**2 + 2 * 60 * x))


# --- flash ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("delay", "covers"), [(0.025, "yes"), (0.010, "no"), (0.0144, "too close to call")])
def test_flash_covers_the_gate_when_the_first_curtain_is_across_before_the_second_starts(delay, covers):
    # 36 mm at 2.5 m/s: 14.4 ms; the fastest marking above that is 1/60, which is 1/64 s = 15.6 ms
    found = curtains_of(shutter(), [delay] * 3)
    assert holds(found.flash.shortest, 0.0144)
    assert found.flash.marked == "1/60"
    assert found.flash.covers == covers
    assert holds(found.flash.wholly_open, delay - 0.0144)


def test_a_travel_of_12_5_ms_gives_the_limit_of_the_fact_sheet():
    # 1.7 (memory, calc): 12.5 ms of travel gives 1/80 s as limit
    found = curtains_of(shutter(sim.Curtain(speed_m_s=2.88), sim.Curtain(speed_m_s=2.88)), [0.030] * 2)
    assert 1 / found.flash.shortest.value == pytest.approx(80, rel=2e-3)


def test_a_gate_longer_than_the_sensors_reach_takes_longer():
    # sensors from 3 to 33 mm in a gate of 36 mm
    places = (0.003, 0.018, 0.033)
    found = curtains_of(shutter(SPRUNG, SPRUNG), [0.03] * 3, places, gate_m=0.036)
    assert holds(found.first_travel, arrival(0.033, 2, 60) - arrival(0.003, 2, 60))
    assert holds(found.flash.shortest, arrival(0.036, 2, 60))
    assert {c.name for c in found.flash.shortest.budget} >= {"places of the sensors", "changes of speed"}


def test_a_gate_that_stands_wholly_open_has_no_slit():
    found = curtains_of(shutter(), [1 / 30] * 2)
    assert all(place.slit is None for place in found.places)
    assert "wholly open" in found.withheld["slit"]


# --- capping --------------------------------------------------------------------------------------


def test_a_second_curtain_that_catches_the_first_is_found():
    # delay 2 ms; 2.0 against 3.0 m/s: caught after 2 ms / (1/2 - 1/3 s/m) = 12 mm
    kind = shutter(sim.Curtain(speed_m_s=2.0), sim.Curtain(speed_m_s=3.0))
    result = with_curtains(
        recorded(kind, [0.002, 0.002, 0.030]), Sensors(places_m=THREE)
    )  # the slow firing shows that all sensors see their lamps
    assert result.curtains.capping == "found"
    assert [place for _, place in result.curtains.capped] == [0.018, 0.018]
    assert [f.capping for f in result.curtains.firings] == ["found", "found", "not found"]
    assert any("Capping" in w for w in result.warnings)
    # no time stands for a gate that is dark in part
    assert result.summary.n == 0


def test_hardly_any_light_where_the_curtains_arrive_is_capping_too():
    # 3 ms at the start, 3 - 36 (1/2.0 - 1/2.4) = 0 ms at the end; 0.3 ms at 32.4 mm
    kind = shutter(sim.Curtain(speed_m_s=2.0), sim.Curtain(speed_m_s=2.4), sensor_m=0.0003)
    found = curtains_of(kind, [0.003] * 2, (0.0, 0.018, 0.0324))
    assert found.capping == "found"
    assert found.capped[0][1] == 0.0324


def test_light_that_runs_out_evenly_is_capping_even_if_no_firing_proves_the_last_sensor():
    # 2.0 against 2.4 m/s: 2 ms at the start, 0.5 ms at 18 mm, none after 24 mm
    kind = shutter(sim.Curtain(speed_m_s=2.0), sim.Curtain(speed_m_s=2.4), sensor_m=0.0005)
    found = curtains_of(kind, [0.002] * 3)
    assert found.capping == "found"
    assert found.first_travel is None
    assert "no firing" in found.withheld["travel"]


def test_a_sensor_that_sees_nothing_may_be_blind():
    # healthy curtains, and the last sensor in the dark
    points = [[replace(shutter(), point_m=x).fire(0.004)] * 3 for x in THREE]
    made = sim.record_points(points, sim.LightGate(), np.random.default_rng(1))
    dark = made.samples[: round(0.1 * made.sample_rate_hz), 2]
    samples = made.samples.copy()
    samples[:, 2] = np.resize(dark, len(samples))
    file = io.BytesIO(sim.as_audio(replace(made, samples=samples)))
    result = with_curtains(analyse(open_recording(file, name="blind.wav")), Sensors(places_m=THREE))
    assert result.curtains.capping == "cannot tell"
    assert any("does not see its lamp" in w for w in result.warnings)


@pytest.mark.parametrize("worn", [sim.HEALTHY, sim.Faults(tired_spring=0.2), sim.Faults(scatter=0.03)])
def test_capping_is_not_found_in_shutters_that_do_not_cap(worn):
    rng = np.random.default_rng(4)
    kind = shutter(SPRUNG, SPRUNG)
    fired = [sim.fire_focal_plane(kind, worn, 1 / 500, i, rng) for i in range(4)]
    points = [[replace(f, shutter=replace(f.shutter, point_m=x)) for f in fired] for x in THREE]
    made = sim.record_points(points, sim.LightGate(), rng)
    result = analyse(open_recording(io.BytesIO(sim.as_audio(made)), name="a.wav"))
    found = with_curtains(result, Sensors(places_m=THREE)).curtains
    assert found.capping == "not found"
    assert found.capped == ()


# --- what can't be had ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"places_m": (0.0,)}, "Two or three places"),
        ({"places_m": (0.0, 0.01, 0.02, 0.03)}, "Two or three places"),
        ({"places_m": (0.036, 0.0)}, "must rise"),
        ({"places_m": (0.0, 0.0)}, "must rise"),
        ({"places_m": (-0.001, 0.01)}, "must rise"),
        ({"places_m": (0.0, math.nan)}, "must rise"),
        ({"places_m": (0.0, 18.0)}, "in mm"),
        ({"places_m": (0.0, 0.036), "gate_m": 0.024}, "reach to the last sensor"),
        ({"places_m": (0.0, 0.036), "sensor_m": 0.04}, "does not fit"),
        ({"places_m": (0.0, 0.036), "gap_m": 0.001}, "both"),
        ({"places_m": (0.0, 0.036), "gap_m": -0.001, "f_number": 2}, "before the film"),
        ({"places_m": (0.0, 0.036), "gap_m": 0.001, "f_number": 0}, "stop"),
    ],
)
def test_numbers_that_are_no_gate_are_refused_in_one_line(given, says):
    with pytest.raises(RefusedCurtains, match=says) as refused:
        Sensors(**given)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("fired_at", "given", "says"),
    [
        ((0.0, 0.036), THREE, "recording has 2 channels"),
        ((0.036, 0.018, 0.0), THREE, "side from which"),
        ((0.018, 0.01802, 0.01804), THREE, "first curtain at once"),
        ((0.0, 0.0, 0.036), THREE, "copy"),
    ],
)
def test_channels_that_do_not_fit_the_places_are_refused(fired_at, given, says):
    points = [[replace(shutter(), point_m=x).fire(0.004)] * 2 for x in fired_at]
    made = sim.record_points(points, sim.LightGate(), np.random.default_rng(1))
    if says == "copy":
        made.samples[:, 1] = made.samples[:, 0]
    result = analyse(open_recording(io.BytesIO(sim.as_audio(made)), name="a.wav"))
    with pytest.raises(RefusedCurtains, match=says):
        with_curtains(result, Sensors(places_m=given))


def test_a_sensor_whose_light_could_not_be_measured_is_refused_with_the_reason():
    result = recorded(shutter(), [0.004] * 2)
    unmeasured = replace(
        result,
        shots=tuple(shot for shot in result.shots if shot.channel != 1),
        unread=((1, result.shots[0].at_s, "the lamp flickers by about 24 %"),),
    )
    with pytest.raises(RefusedCurtains, match=r"\(18 mm\) could not be measured: the lamp flickers"):
        with_curtains(unmeasured, Sensors(places_m=THREE))


def test_a_sensor_with_a_lamp_on_mains_is_refused_and_not_called_capped():
    # a lamp on mains before the last sensor only, swelling by 40 %
    points = [[replace(shutter(), point_m=x).fire(0.060)] * 3 for x in THREE]
    rng = np.random.default_rng(1)
    made = sim.record_points(points, sim.LightGate(), rng)
    flickering = sim.record_points(points, sim.LightGate(lamp=sim.Lamp(ripple=0.4)), np.random.default_rng(1))
    made.samples[:, 2] = flickering.samples[:, 2]
    result = analyse(open_recording(io.BytesIO(sim.as_audio(made)), name="a.wav"))
    with pytest.raises(RefusedCurtains, match=r"channel 2 \(36 mm\) could not be measured: "):
        with_curtains(result, Sensors(places_m=THREE))


def test_a_lamp_switched_off_is_no_second_curtain():
    kind = shutter(second=sim.Curtain(speed_m_s=5000.0))
    result = recorded(kind, [0.030] * 2)
    with pytest.raises(RefusedCurtains, match="second curtain at once"):
        with_curtains(result, Sensors(places_m=THREE))


def test_a_dark_sensor_before_a_lit_one_is_refused():
    points = [[replace(shutter(), point_m=x).fire(0.004)] * 2 for x in THREE]
    made = sim.record_points(points, sim.LightGate(), np.random.default_rng(1))
    made.samples[:, 1] = np.resize(made.samples[:5000, 1], len(made.samples))
    result = analyse(open_recording(io.BytesIO(sim.as_audio(made)), name="a.wav"))
    with pytest.raises(RefusedCurtains, match=r"channel 1 \(18 mm\), though a later sensor"):
        with_curtains(result, Sensors(places_m=THREE))


def test_a_slit_as_narrow_as_the_sensors_window_gives_no_slit():
    # slit 2.5 mm, window 3 mm
    found = curtains_of(shutter(sensor_m=0.003), [0.001] * 3, sensor_m=0.003)
    assert all(place.slit is None for place in found.places)
    assert "window of 3 mm" in found.withheld["slit"]
    assert any("narrower window" in w for w in found.warnings)


def test_windows_wider_than_the_slit_are_found_out_by_edges_that_differ_from_place_to_place():
    # slit of 2 to 3 mm that grows as the curtains speed up, windows of 4 mm
    found = curtains_of(shutter(SPRUNG, SPRUNG, sensor_m=0.004), [0.001] * 3)
    assert found.first_travel is None
    assert "wider than the slit" in found.withheld["travel"]
    assert any("narrower window" in w for w in found.warnings)


def test_an_edge_of_less_than_a_sample_is_known_to_half_a_sample():
    found = curtains_of(shutter(sensor_m=0.0), [0.030] * 3)
    # 96 000 samples a second; two moments
    sampling = next(c.u for c in found.firings[0].first_travel.budget if c.name == "sampling")
    assert sampling == pytest.approx(0.5 / 96_000 * math.sqrt(2), rel=1e-6)
    assert holds(found.first_travel, 0.0144)


def test_without_the_window_the_method_says_how_wide_it_may_be():
    found = curtains_of(shutter(), [0.002] * 3)
    assert "Edges here are as wide as 1 mm" in found.method


def test_light_that_never_gets_full_gives_no_travel():
    # slit 0.75 mm; window 1 mm and shadow 1.5 mm: no moment at which the whole window is lit
    found = curtains_of(shutter(gap_m=0.0015, f_number=1.0), [0.0003] * 3)
    assert found.first_travel is None
    assert "narrower than the sensor" in found.withheld["travel"]
    assert all(place.slit is None for place in found.places)


def test_a_sensor_that_misses_one_firing_between_lit_ones_is_no_capping():
    shot = recorded(shutter(), [0.002], (0.0,)).shots[0]
    missed, whole = Passing((shot, None, shot)), Passing((shot, shot, shot))
    assert capping(missed, [missed, whole], THREE) == ("cannot tell", 1)
    assert capping(Passing((shot, None, None)), [missed, whole], THREE) == ("found", 1)
    assert capping(Passing((shot, shot, None), unread=(2,)), [whole], THREE) == ("cannot tell", 2)
    assert capping(whole, [whole], THREE) == ("not found", 3)


def test_clipped_light_gives_no_travel():
    gate = sim.LightGate(diode=sim.Photodiode(photocurrent_a=30e-6))
    result = recorded(shutter(), [0.004] * 3, gate=gate)
    found = with_curtains(result, Sensors(places_m=THREE)).curtains
    assert found.first_travel is None
    assert "clipped" in found.withheld["travel"]


def test_a_recording_without_a_firing_has_no_curtains():
    noise = np.random.default_rng(1).normal(0.1, 0.002, (96_000, 3))
    made = sim.Recording(samples=noise, sample_rate_hz=48_000, openings=(), releases_s=())
    result = analyse(open_recording(io.BytesIO(sim.as_audio(made)), name="a.wav"))
    assert with_curtains(result, Sensors(places_m=THREE)).curtains is None


# --- budgets, the summary, plain data -------------------------------------------------------------


def test_what_sensors_fired_together_share_cancels_in_the_taper():
    def time(value):
        return combine(value, [Component("noise", 0.01 * value), Component("clock", 0.05 * value)])

    found = taper(time(0.002), time(0.004))
    assert found.value == pytest.approx(1.0)
    # 1 % twice, in EV: 0.01 sqrt(2) / ln 2
    assert found.u == pytest.approx(0.01 * math.sqrt(2) / math.log(2))


@pytest.mark.parametrize(("scatter", "at_most"), [(3.0, 0.97), (1.0, 0.985), (0.0, 1.0)])
def test_the_mean_over_firings_holds_the_true_mean(scatter, at_most):
    """Each firing off by noise of 1 and by the shutter's own scatter; all by one clock of 1."""
    rng = np.random.default_rng(3)
    held = []
    for _ in range(800):
        clock = rng.normal()
        values = 100 + clock + rng.normal(0, math.hypot(1, scatter), 5)
        each = [combine(v, [Component("noise", 1.0), Component("clock", 1.0)]) for v in values]
        held.append(holds(mean_over_firings(each), 100.0, 0.95))
    # 800 draws leave 1.5 % to chance, two standard deviations
    assert 0.93 - 0.015 < np.mean(held) < at_most + 0.015


def test_the_summary_is_the_mean_over_the_places():
    kind = shutter(sim.Curtain(speed_m_s=2.4), sim.Curtain(speed_m_s=2.0))
    result = with_curtains(recorded(kind, [0.002] * 3), Sensors(places_m=THREE))
    # 2.0, 3.5 and 5.0 ms: their mean is 3.5
    assert result.summary.effective.value == pytest.approx(0.0035, rel=1e-3)
    assert any("mean over its places" in note for note in result.notes)


def test_more_firings_make_the_travel_no_less_certain_than_its_clock():
    found = curtains_of(shutter(), [0.002] * 8)
    clock = next(c.u for c in found.first_travel.budget if c.name == "clock")
    # 100 ppm as a rectangle: 14.4 ms * 1e-4 / sqrt(3)
    assert clock == pytest.approx(0.0144 * 1e-4 / math.sqrt(3), rel=0.01)
    assert found.first_travel.u >= clock


def test_curtains_are_strict_json_with_the_promised_keys():
    result = with_curtains(recorded(shutter(), [0.002] * 2), Sensors(places_m=THREE))
    found = json.loads(json.dumps(result.to_json(), allow_nan=False))["curtains"]
    assert set(found) >= {
        "first_travel_s", "first_travel_u_s", "second_travel_s", "second_travel_u_s",
        "taper_ev", "taper_u_ev", "capping", "flash_shortest_s", "flash_marked", "flash_covers",
        "places", "firings", "withheld",
    }  # fmt: skip
    assert [place["at_m"] for place in found["places"]] == list(THREE)


# --- one sensor moved -----------------------------------------------------------------------------


def moved(delays_at: dict[float, list[float]]):
    kind = shutter(sim.Curtain(speed_m_s=2.4), sim.Curtain(speed_m_s=2.0))
    readings = [(x, recorded(kind, delays, (x,), seed=i)) for i, (x, delays) in enumerate(delays_at.items())]
    return compare_places(readings)


def test_one_sensor_moved_gives_exposure_and_taper_and_says_what_it_cannot():
    found = moved({0.0: [0.002, 0.00202, 0.00198], 0.036: [0.00199, 0.00201, 0.002]})
    assert found.taper.value == pytest.approx(math.log2(5 / 2), abs=0.02)
    assert found.first_travel is None
    assert found.flash is None
    assert all("clock" in found.withheld[what] for what in ("travel", "slit", "flash"))
    assert any("less certain" in w for w in found.warnings)


def test_what_firings_differ_by_is_in_the_taper_of_a_moved_sensor():
    steady = moved({0.0: [0.002] * 3, 0.036: [0.002] * 3})
    scattered = moved({0.0: [0.0019, 0.002, 0.0021], 0.036: [0.002] * 3})
    # pooled over both places: logs of 1.9, 2.0, 2.1 ms and of three alike; 4 degrees of freedom
    logs = np.log([1.9, 2.0, 2.1])
    pooled = math.sqrt(float(np.sum((logs - logs.mean()) ** 2)) / 4)
    assert scattered.taper.u == pytest.approx(pooled * math.sqrt(2 / 3) / math.log(2), rel=0.02)
    assert scattered.taper.df == pytest.approx(4, rel=0.02)
    assert steady.taper.u < 0.1 * scattered.taper.u


@pytest.mark.parametrize(
    ("delays_at", "says"),
    [
        ({0.0: [0.002] * 2}, "at least two places"),
        ({0.036: [0.002] * 2, 0.0: [0.002] * 2}, "must rise"),
        ({0.0: [0.002], 0.036: [0.002] * 2}, "one firing only"),
    ],
)
def test_a_moved_sensor_needs_places_that_rise_and_firings_to_compare(delays_at, says):
    with pytest.raises(RefusedCurtains, match=says):
        moved(delays_at)


def test_a_place_without_any_firing_may_be_capped():
    noise = np.random.default_rng(1).normal(0.1, 0.002, (48_000, 1))
    made = sim.Recording(samples=noise, sample_rate_hz=48_000, openings=(), releases_s=())
    dark = analyse(open_recording(io.BytesIO(sim.as_audio(made)), name="dark.wav"))
    lit = recorded(shutter(), [0.002] * 2, (0.0,))
    with pytest.raises(RefusedCurtains, match=r"dark.wav at 36 mm: no firing found.*capping"):
        compare_places([(0.0, lit), (0.036, dark)])


def test_several_sensors_are_not_one_sensor_moved():
    both = recorded(shutter(), [0.002] * 2, (0.0, 0.018))
    with pytest.raises(RefusedCurtains, match="Give --sensors"):
        compare_places([(0.0, both), (0.036, both)])


def test_the_marked_speed_stays_with_the_result():
    result = replace(recorded(shutter(), [0.002] * 2), marked=MarkedSpeed.parse("1/500"))
    found = with_curtains(result, Sensors(places_m=THREE))
    # log2(2 ms / (1/512 s)) = 0.034
    assert found.summary.error.value == pytest.approx(0.034, abs=0.002)
