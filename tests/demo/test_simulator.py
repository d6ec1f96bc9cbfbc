"""
The simulator against closed forms. It makes the recordings whose truth the instruments are checked with, so
its own truth must come from elsewhere: plane geometry and elementary mechanics, worked out by hand beside
each check. Rows named "worth a test" are those of the project's facts on shutter timing, section 12 (mark
there: memory, calc).
"""

import math

import numpy as np
import pytest

from pegwood.demo import simulator as sim

STEADY = 1e9  # drag so great that the stroke runs at a steady speed from the start


def leaf(**changes):
    """Blades that open and close in 2 ms each, counted from first light, at a steady speed."""
    fields = {
        "opening_stroke_s": 2e-3,
        "closing_stroke_s": 2e-3,
        "drag": STEADY,
        "overlap": 0.0,
        "spare": 0.0,
        "blades": 1000,
    }
    return sim.LeafShutter(**{**fields, **changes})


def test_a_long_diode_behind_a_hard_slit_gives_the_trapezoid_of_row_3():
    # worth a test, row 3: total 10, edges 2 ms each: effective 8.000 ms, efficiency 0.800
    shutter = sim.FocalPlaneShutter(
        first=sim.Curtain(speed_m_s=1.0), second=sim.Curtain(speed_m_s=1.0), sensor_m=0.002
    )
    truth = sim.truth_of(shutter.fire(0.008))
    assert truth.effective_s == pytest.approx(8.000e-3, abs=1e-8)
    assert truth.total_s == pytest.approx(10e-3, abs=1e-7)
    assert truth.efficiency == pytest.approx(0.800, abs=1e-5)
    assert truth.opening_s == pytest.approx(2e-3, abs=1e-7)
    assert truth.closing_s == pytest.approx(2e-3, abs=1e-7)


def test_blades_whose_clear_radius_grows_evenly_give_the_square_law_of_row_4():
    # worth a test, row 4: effective 7.3333 ms, and the half-height width 7.1716 ms is a biased reading of it
    firing = leaf().fire(0.008)
    assert sim.truth_of(firing).effective_s == pytest.approx(7.3333e-3, abs=1e-7)
    times = np.linspace(0, 0.010, 1_000_001)
    above_half = times[firing.openness(times) >= 0.5]
    assert above_half[-1] - above_half[0] == pytest.approx(7.1716e-3, abs=1e-7)


@pytest.mark.parametrize(("f_number", "efficiency"), [(2.0, 0.7273), (8.0, 0.9143)])
def test_the_shadow_of_the_curtain_lowers_efficiency_as_row_6_says(f_number, efficiency):
    # worth a test, row 6: slit 2 mm, gap 1.5 mm: w / (w + gap / N)
    curtain = sim.Curtain(speed_m_s=2.0)
    shutter = sim.FocalPlaneShutter(first=curtain, second=curtain, gap_m=1.5e-3, f_number=f_number)
    truth = sim.truth_of(shutter.fire(0.001))
    assert truth.efficiency == pytest.approx(efficiency, abs=1e-4)


@pytest.mark.parametrize("point_m", [0.001, 0.018, 0.035])
@pytest.mark.parametrize("sensor_m", [0.0, 0.001])
def test_time_at_a_point_is_slit_width_over_curtain_speed(point_m, sensor_m):
    # two equal curtains at 2.5 m/s with a slit of 5 mm
    curtain = sim.Curtain(speed_m_s=2.5)
    shutter = sim.FocalPlaneShutter(
        first=curtain, second=curtain, point_m=point_m, sensor_m=sensor_m, gap_m=1.5e-3, f_number=8
    )
    assert sim.truth_of(shutter.fire(0.005 / 2.5)).effective_s == pytest.approx(2e-3, rel=1e-6)


def test_a_slower_second_curtain_lets_the_exposure_grow_along_the_travel():
    # arrival times: 18 mm at 2.4 against 2.0 m/s differ by 1.5 ms at the middle, by 3 ms at the far end
    first, second = sim.Curtain(speed_m_s=2.4), sim.Curtain(speed_m_s=2.0)
    times = [
        sim.truth_of(sim.FocalPlaneShutter(first=first, second=second, point_m=p).fire(0.002)).effective_s
        for p in (0.0, 0.018, 0.036)
    ]
    assert times == pytest.approx([2.0e-3, 3.5e-3, 5.0e-3], rel=1e-5)


def test_a_curtain_under_acceleration_arrives_when_mechanics_says():
    # x = 2 t + 100 t**2 reaches 0.036 m at t = 0.01140175... s (the positive root)
    assert sim.Curtain(speed_m_s=2.0, acceleration_m_s2=200.0).arrives(0.036) == pytest.approx(
        (-2 + math.sqrt(4 + 2 * 200 * 0.036)) / 200
    )


def test_curtains_that_cap_let_no_light_through_and_have_no_time():
    slow, fast = sim.Curtain(speed_m_s=2.0), sim.Curtain(speed_m_s=3.0)
    firing = sim.FocalPlaneShutter(first=slow, second=fast, point_m=0.030).fire(0.001)
    with pytest.raises(ValueError, match="No light passes"):
        sim.truth_of(firing)
    assert sim.record([firing], sim.LightGate(), np.random.default_rng(1)).truths() == ()


def test_half_the_pupil_is_clear_when_the_edge_stands_over_its_middle():
    # a chord through the centre halves a circle; one at half the radius leaves 1/3 - sqrt(3)/(4 pi) of it
    width = 1e-3
    edges = np.array([-1.0, -0.5e-3, -0.25e-3, 0.0, 0.5e-3])
    shares = sim.pupil_uncovered(edges, width)
    assert shares == pytest.approx([0, 0, 1 / 3 - math.sqrt(3) / (4 * math.pi), 0.5, 1])


@pytest.mark.parametrize(
    ("apothem", "area"),
    [
        (-0.1, 0.0),  # blades still overlap
        (0.5, 4 * 0.5**2),  # the square lies whole inside the circle
        (math.sqrt(0.5), 2.0),  # the inscribed square of a unit circle
        (
            math.cos(math.pi / 6),
            math.pi - 4 * (math.pi / 6 - math.sqrt(3) / 4),
        ),  # less four segments of 60 degrees
        (1.0, math.pi),  # the edges touch the circle from outside
        (1.7, math.pi),
    ],
)
def test_the_clear_area_of_four_blades_is_plane_geometry(apothem, area):
    assert sim.clear_area(np.array([apothem]), 1.0, 4)[0] == pytest.approx(area)


def test_a_sprung_blade_gains_speed_evenly_and_a_dragged_one_runs_steadily():
    share = np.linspace(0, 1, 11)
    assert sim.swing(share, 0.0) == pytest.approx(share**2)
    assert sim.swing(share, STEADY) == pytest.approx(share, abs=1e-8)


def test_closing_the_stop_lengthens_the_effective_time_towards_the_total_time():
    # steady round opening to a stop of a quarter of the radius: the ramps take a quarter of 2 ms, and
    # effective = total - (2/3)(t1 + t2) with t1 = t2 = 0.5 ms
    truth = sim.truth_of(leaf(stop_radius_m=0.002).fire(0.008))
    assert truth.effective_s == pytest.approx(0.010 - 2 / 3 * 0.001, abs=1e-7)
    assert truth.opening_s == pytest.approx(0.5e-3, abs=1e-7)


def test_a_leaf_shutter_can_be_set_to_an_effective_time_but_not_below_its_shortest():
    shutter = sim.LeafShutter()
    assert sim.truth_of(shutter.fire(shutter.dwell_for(0.040))).effective_s == pytest.approx(0.040, rel=1e-5)
    assert shutter.dwell_for(1e-6) == shutter.opening_stroke_s


def test_blades_that_bounce_let_light_through_twice():
    shutter = leaf(drag=0.0, overlap=0.15, restitution=0.6)
    calm = sim.truth_of(leaf(drag=0.0, overlap=0.15).fire(0.008))
    bounced = sim.truth_of(shutter.fire(0.008))
    # height of the first bounce: 0.36 of the stroke of 1.15 clear radii, 0.414 less the overlap of 0.15
    times = np.linspace(0.0101, shutter.fire(0.008).ends_s, 100_001)
    peak = shutter.fire(0.008).openness(times).max()
    assert peak == pytest.approx((0.36 * 1.15 - 0.15) ** 2, rel=1e-3)
    assert calm.rebound_s == 0
    assert bounced.rebound_s == pytest.approx(bounced.effective_s - calm.effective_s, rel=1e-4)
    assert bounced.total_s > calm.total_s


def test_gum_lengthens_the_slow_end_most_and_the_first_firing_most_of_all():
    slow, fast = (sim.slow_train_factor(t, gum=0.7, first_drag=0.5, firing=5) for t in (0.5, 0.002))
    assert slow > 1.8 > 1.1 > fast > 1
    by_firing = [sim.slow_train_factor(0.5, gum=0.7, first_drag=0.5, firing=k) for k in range(4)]
    assert by_firing == sorted(by_firing, reverse=True)
    assert by_firing[0] / by_firing[3] > 1.4


def test_a_tired_spring_takes_one_over_root_force_as_long():
    # three quarters of the force gone: every driven stroke and beat takes twice as long
    rng = np.random.default_rng(3)
    shutter = sim.LeafShutter()
    quiet = {"scatter": 0.0, "rebound": 0.0}
    healthy = sim.truth_of(sim.fire_leaf(shutter, sim.Faults(**quiet), 0.020, 0, rng))
    tired = sim.truth_of(sim.fire_leaf(shutter, sim.Faults(tired_spring=0.75, **quiet), 0.020, 0, rng))
    assert tired.opening_s == pytest.approx(2 * healthy.opening_s, rel=1e-3)
    assert tired.effective_s == pytest.approx(2 * healthy.effective_s, rel=1e-3)


def test_oil_slows_the_blades_and_an_uneven_second_curtain_changes_the_time_at_the_middle():
    rng = np.random.default_rng(4)
    shutter = sim.LeafShutter()
    clean = sim.truth_of(sim.fire_leaf(shutter, sim.HEALTHY, 0.004, 0, rng))
    oiled = sim.truth_of(sim.fire_leaf(shutter, sim.Faults(oil=6), 0.004, 0, rng))
    assert oiled.opening_s > 1.2 * clean.opening_s
    # at 18 mm, 2.5 m/s against 2.0 m/s: 1.8 ms later
    focal = sim.FocalPlaneShutter(first=sim.Curtain(speed_m_s=2.5), second=sim.Curtain(speed_m_s=2.5))
    faults = sim.Faults(second_curtain=0.8, scatter=0.0)
    truth = sim.truth_of(sim.fire_focal_plane(focal, faults, 0.002, 0, rng))
    assert truth.effective_s == pytest.approx(3.8e-3, rel=1e-5)


def test_scatter_is_the_spread_that_was_asked_for():
    rng = np.random.default_rng(5)
    shutter = sim.LeafShutter()
    dwells = [sim.fire_leaf(shutter, sim.Faults(scatter=0.05), 0.1, 9, rng).dwell_s for _ in range(2000)]
    # the standard error of a standard deviation from n normal draws is sd / sqrt(2 n): 1.6 %, four of them
    # allowed
    assert np.std(np.log(dwells)) == pytest.approx(0.05, rel=0.064)


def quiet_gate(**converter):
    return sim.LightGate(
        diode=sim.Photodiode(temperature_k=0.0, dark_a=0.0, offset_v=0.0),
        converter=sim.Converter(**{"noise_v": 0.0, "bits": 24, **converter}),
    )


def test_the_area_under_the_recorded_curve_is_the_effective_time():
    # a linear low-pass keeps the area; shot noise at 12 uA over 60 kHz adds some 3e-5 of full light per
    # sample
    gate = quiet_gate()
    recording = sim.record([sim.LeafShutter().fire(0.020)], gate, np.random.default_rng(6))
    full = gate.diode.photocurrent_a * gate.diode.load_ohm / gate.converter.range_v
    area = recording.samples.sum() / recording.sample_rate_hz / full
    assert area == pytest.approx(recording.truths()[0].effective_s, rel=2e-4)


def test_a_clock_that_runs_fast_takes_more_samples_of_the_same_second():
    firing = sim.LeafShutter().fire(0.2)
    true = sim.record([firing], quiet_gate(), np.random.default_rng(7))
    fast = sim.record([firing], quiet_gate(clock_ppm=5000), np.random.default_rng(7))
    assert (fast.samples > 0.1).sum() / (true.samples > 0.1).sum() == pytest.approx(1.005, abs=2e-4)


def test_noise_is_the_shot_and_thermal_noise_of_the_diode():
    # steady light, 10 uA into 100 kohm, 10 kHz single pole (15.71 kHz of noise width), 300 K:
    # shot 2 e I = 3.204e-24, thermal 4 k T / R = 1.657e-25 A2/Hz; sum x width = 5.293e-20 A2, so 2.3007e-10
    # A, 2.3007e-5 V
    diode = sim.Photodiode(photocurrent_a=1e-5, dark_a=0, bandwidth_hz=1e4, offset_v=0, temperature_k=300)
    assert float(diode.noise_v(np.array(1e-5))) == pytest.approx(2.3007e-5, rel=1e-3)
    gate = sim.LightGate(diode=diode, converter=sim.Converter(noise_v=0, bits=24))
    samples = sim.record([sim.LeafShutter().fire(2.0)], gate, np.random.default_rng(8)).samples
    plateau = samples[(samples > 0.499)][2000:-2000]
    assert plateau.std() * gate.converter.range_v == pytest.approx(2.3007e-5, rel=0.02)


def test_the_low_pass_is_a_single_pole():
    # a step behind a single pole has reached 1 - 1/e after 1/(2 pi f): 1.5915 ms for 100 Hz
    gate = sim.LightGate(
        diode=sim.Photodiode(bandwidth_hz=100, dark_a=0, offset_v=0),
        converter=sim.Converter(noise_v=0, bits=24),
    )
    shutter = sim.FocalPlaneShutter(sensor_m=0.0)
    recording = sim.record([shutter.fire(0.1)], gate, np.random.default_rng(9))
    risen = int(np.argmax(recording.samples > (1 - math.exp(-1)) * 0.6)) / recording.sample_rate_hz
    assert risen - recording.truths()[0].at_s == pytest.approx(1.5915e-3, abs=2e-5)


def test_the_converter_rounds_to_its_steps_and_clips_at_its_range():
    gate = sim.LightGate(converter=sim.Converter(bits=8, range_v=1.0))
    samples = sim.record([sim.LeafShutter().fire(0.01)], gate, np.random.default_rng(10)).samples
    assert samples.max() == 127 / 128  # 1.2 V into a range of 1 V
    assert np.array_equal(samples * 128, np.round(samples * 128))


def test_lamp_ripple_shows_in_the_recording_but_not_in_the_truth():
    firing = sim.LeafShutter().fire(0.5)
    calm = sim.record([firing], quiet_gate(), np.random.default_rng(11))
    lamp = sim.Lamp(ripple=0.05, mains_hz=50)
    rippled = sim.record(
        [firing], sim.LightGate(lamp=lamp, diode=quiet_gate().diode), np.random.default_rng(11)
    )
    assert rippled.truths() == calm.truths()
    bright = rippled.samples[int(0.2 * 96_000) : int(0.6 * 96_000)]  # released at 0.15 s, open for 0.5 s
    assert bright.max() / bright.min() == pytest.approx(1.05 / 0.95, rel=5e-3)


def test_the_same_seed_gives_the_same_samples_and_another_seed_others():
    def run(seed):
        rng = np.random.default_rng(seed)
        firings = [sim.fire_leaf(sim.LeafShutter(), sim.HEALTHY, 0.01, k, rng) for k in range(3)]
        return sim.record(firings, sim.LightGate(), rng)

    assert sim.as_audio(run(12), "FLAC") == sim.as_audio(run(12), "FLAC")
    assert not np.array_equal(run(12).samples[:1000], run(13).samples[:1000])


def test_several_diodes_see_the_same_firing_one_after_another():
    curtain = sim.Curtain(speed_m_s=2.4)
    points = [
        [sim.FocalPlaneShutter(first=curtain, second=curtain, point_m=p, sensor_m=1e-3).fire(0.002)]
        for p in (0.006, 0.030)
    ]
    recording = sim.record_points(points, sim.LightGate(), np.random.default_rng(14))
    assert recording.samples.shape[1] == 2
    early, late = recording.truths()
    assert late.at_s - early.at_s == pytest.approx(0.024 / 2.4, abs=1e-6)


def test_a_hand_holds_b_about_as_long_as_it_was_asked_to():
    rng = np.random.default_rng(15)
    held = [sim.held_by_hand(2.0, rng) for _ in range(200)]
    assert 1.8 < np.mean(held) < 2.2
    assert np.std(held) > 0.05
