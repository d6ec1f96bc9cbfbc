"""
Flash contacts beside the light: when they close, for how long, whether they bounce, what that is good for.

Light curves and contact lines are made from closed forms whose moments are known (`lightcurves`, `contacts`).
The figures of the settings are those of the house's fact sheet, section 2, with its marks.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from pegwood.demo.simulator import Converter, LeafShutter, LightGate, record
from pegwood.instruments.recordings import RefusedRecording
from pegwood.instruments.shutter import analyse, contact_verdict, default_contact_rows, rows_for
from pegwood.instruments.shutter.contacts import CAUTION, SETTINGS, ContactRow
from pegwood.instruments.shutter.limits import KINDS
from pegwood.instruments.uncertainty import Measured

from .contacts import ContactLine
from .lightcurves import EDGES, Bench, Firing, as_recording

RATE = 96_000
FIRING = Firing(at=0.3, opening=0.002, plateau=0.008, closing=0.002)
FULL = FIRING.at + FIRING.opening


def with_contact(line: ContactLine, *firings: Firing, rate: int = RATE, sigma: float = 0.003, **bench):
    """A light channel and a contact channel as one recording."""
    light = Bench(firings or (FIRING,), rate=rate, sigma=sigma, **bench).samples()
    return as_recording(
        np.column_stack([light, line.samples(len(light), rate, np.random.default_rng(7))]), rate
    )


def the_contact(line: ContactLine, *firings: Firing, **bench):
    (contact,) = analyse(with_contact(line, *firings, **bench), contact=1, kind="leaf").contacts
    return contact


def holds(measured: Measured, truth: float) -> bool:
    low, high = measured.coverage_interval()
    return low <= truth <= high


# --- what a setting asks --------------------------------------------------------------------------


def lead(ms: float, u_ms: float = 1e-6) -> Measured:
    return Measured(ms * 1e-3, u_ms * 1e-3)


@pytest.mark.parametrize(
    ("ms", "said"),  # house's fact sheet 12, line 7: 13-19 ms before 80 % open (seen)
    [(16.0, "within"), (12.9, "outside"), (19.1, "outside"), (13.01, "within"), (18.99, "within")],
)
def test_m_of_a_leaf_shutter(ms, said):
    assert contact_verdict(rows_for("M", "leaf"), {"80 % open": lead(ms)}) == said


@pytest.mark.parametrize(
    ("ms", "said"),  # house's fact sheet 12, line 8: 15-20 ms before exposure (seen)
    [(14.9, "outside"), (15.0, "within"), (20.0, "within"), (20.1, "outside")],
)
@pytest.mark.parametrize("kind", KINDS)
def test_fp(ms, said, kind):
    exactly = Measured(ms * 1e-3, 0.0)
    assert contact_verdict(rows_for("FP", kind), {"first light": exactly}) == said


@pytest.mark.parametrize(("ms", "said"), [(6.9, "outside"), (11, "within"), (15.1, "outside")])
def test_m_of_a_focal_plane_shutter(ms, said):
    # 7 to 15 ms before the slit's centre crosses the picture's (house's fact sheet 2, seen)
    assert contact_verdict(rows_for("M", "focal-plane"), {"middle of the exposure": lead(ms)}) == said


@pytest.mark.parametrize(
    ("full", "begins", "said"),
    [
        (-0.3, 6.0, "within"),
        (0.3, 6.0, "outside"),
        (-0.3, 0.4, "outside"),  # closing begins while the flash still shines
        (-0.3, -1.0, "outside"),
    ],
)
def test_electronic_flash_needs_full_opening_and_time_before_closing(full, begins, said):
    leads = {"fully open": lead(full), "begins to close": lead(begins)}
    assert contact_verdict(rows_for("electronic", "leaf"), leads) == said


def test_what_straddles_a_limit_is_too_close_to_call():
    assert contact_verdict(rows_for("M", "leaf"), {"80 % open": lead(13.05, 0.1)}) == "too close to call"


def test_a_moment_that_was_not_seen_can_not_be_told():
    assert contact_verdict(rows_for("M", "leaf"), {"80 % open": None}) == "cannot tell"


def test_one_sensor_can_speak_against_a_focal_plane_shutters_sync_but_not_for_it():
    rows = rows_for("electronic", "focal-plane")
    good = {"fully open": lead(-1.0), "begins to close": lead(5.0)}
    assert contact_verdict(rows, good) == "cannot tell"
    assert contact_verdict(rows, {**good, "fully open": lead(1.0)}) == "outside"


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("setting", SETTINGS)
def test_every_setting_of_every_kind_has_figures_with_their_source(setting, kind):
    rows = rows_for(setting, kind)
    assert rows
    assert all(row.source and row.mark in ("seen", "practice") and row.note for row in rows)
    assert all(setting in row.in_words(kind) for row in rows)


def test_the_figures_read_in_a_text_are_marked_seen_and_the_workshops_own_practice():
    marks = {(row.setting, row.kind, row.moment): row.mark for row in default_contact_rows()}
    assert marks["M", "leaf", "80 % open"] == marks["FP", "any", "first light"] == "seen"
    assert marks["electronic", "leaf", "begins to close"] == "practice"


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"setting": "Q"}, "setting"),
        ({"kind": "mirror"}, "kind of shutter"),
        ({"moment": "noon"}, "moment"),
        ({"low_ms": 20.0}, "in order"),
        ({"low_ms": None, "high_ms": None}, "one of them"),
        ({"source": " "}, "whose figure"),
        ({"mark": ""}, "whose figure"),
        ({"colour": "red"}, "unknown"),
    ],
)
def test_a_row_that_can_not_be_is_refused_with_the_field(change, complaint):
    row = {
        "setting": "M", "kind": "leaf", "moment": "80 % open", "low_ms": 13.0, "high_ms": 19.0,
        "source": "the workshop", "mark": "practice",
    }  # fmt: skip
    with pytest.raises(ValueError, match=complaint):
        ContactRow.from_mapping(row | change)


@pytest.mark.parametrize(("setting", "kind"), [("X", "leaf"), ("M", "mirror")])
def test_an_unknown_setting_or_kind_is_refused_with_what_would_do(setting, kind):
    with pytest.raises(ValueError, match="expected one of"):
        rows_for(setting, kind)


# --- when it closes -------------------------------------------------------------------------------


@pytest.mark.parametrize("before", [0.016, 0.0004, -0.0006])
@pytest.mark.parametrize("levels", [(0.0, 0.6), (0.7, 0.1), (-0.2, 0.2)], ids=["up", "down", "across zero"])
@pytest.mark.parametrize("tau", [0.0, 50e-6, 400e-6], ids=["logic", "soft", "softer"])
def test_the_delay_is_the_true_one_whatever_the_line(before, levels, tau):
    closes = FULL - before
    opened, closed = levels
    line = ContactLine((closes, closes + 0.012), tau, opened, closed, sigma=0.003)
    contact = the_contact(line)
    assert holds(contact.delay, before)
    assert abs(contact.at_s - closes) < 20e-6
    assert holds(contact.closed, 0.012)
    assert contact.bounces == 0


def test_positive_is_a_contact_that_closes_before_the_blades_are_fully_open():
    early, late = (the_contact(ContactLine((FULL - d, FULL + 0.005))).delay.value for d in (0.001, -0.001))
    assert late < 0 < early


def test_a_softened_contact_is_not_late():
    """Half height is 0.69 time constants late (elementary); the delay must not be."""
    line = ContactLine((FULL - 0.010, FULL + 0.010), tau=500e-6)
    assert abs(the_contact(line).at_s - (FULL - 0.010)) < 0.1 * 0.69 * 500e-6


@pytest.mark.parametrize("tau", [0.0, 40e-6])
def test_bounces_are_counted_and_their_length_added_up(tau):
    at = FULL - 0.005
    changes = (at, at + 0.0004, at + 0.0007, at + 0.0012, at + 0.0014, at + 0.012)
    contact = the_contact(ContactLine(changes, tau))
    assert contact.bounces == 2
    assert holds(contact.bounce, 0.0005)
    assert holds(contact.closed, 0.012)


def test_noise_alone_makes_no_bounce():
    line = ContactLine((FULL - 0.005, FULL + 0.006), tau=300e-6, sigma=0.06)
    assert the_contact(line).bounces == 0


def test_a_click_on_the_wire_is_no_closing():
    light = Bench((FIRING,), rate=RATE, sigma=0.003).samples()
    line = ContactLine((FULL - 0.001, FULL + 0.006)).samples(len(light), RATE, np.random.default_rng(7))
    click = round((FULL - 0.040) * RATE)
    line[click] += 0.6
    line[click + 500 : click + 508] += 0.6
    (contact,) = analyse(as_recording(np.column_stack([light, line]), RATE), contact=1).contacts
    assert holds(contact.delay, 0.001)
    assert contact.bounces == 0
    assert any("more than once" in w for w in contact.warnings)


def test_hum_on_the_wire_does_not_move_the_contact():
    light = Bench((FIRING,), rate=RATE, sigma=0.003).samples()
    line = ContactLine((FULL - 0.001, FULL + 0.006), tau=30e-6)
    wire = line.samples(len(light), RATE, np.random.default_rng(7))
    wire += 0.03 * np.sin(2 * math.pi * 50 * np.arange(len(wire)) / RATE + 1)
    (contact,) = analyse(as_recording(np.column_stack([light, wire]), RATE), contact=1).contacts
    assert holds(contact.delay, 0.001)
    assert abs(contact.at_s - (FULL - 0.001)) < 20e-6
    assert contact.bounces == 0


def test_every_figure_carries_its_budget():
    contact = the_contact(ContactLine((FULL - 0.005, FULL + 0.006), tau=100e-6))
    assert {"fit of the edge", "contact: softened edge", "clock"} <= {c.name for c in contact.delay.budget}
    assert contact.closed.budget
    assert contact.bounce.budget


def test_sync_for_electronic_flash_is_told_from_the_recording():
    good = the_contact(ContactLine((FULL + 0.0005, FULL + 0.006)))
    early = the_contact(ContactLine((FULL - 0.0008, FULL + 0.006)))
    late = the_contact(ContactLine((FULL + 0.0076, FULL + 0.02)))
    assert [c.verdicts["electronic"] for c in (good, early, late)] == ["within", "outside", "outside"]


@pytest.mark.parametrize(("before_80", "said"), [(0.016, "within"), (0.0122, "outside"), (0.0198, "outside")])
def test_m_is_told_from_the_recording(before_80, said):
    # straight ramp: 80 % of the light at 80 % of the opening time
    line = ContactLine((FIRING.at + 0.8 * FIRING.opening - before_80, FULL))
    assert the_contact(line).verdicts["M"] == said


@pytest.mark.parametrize("edge", EDGES)
def test_the_moment_of_80_percent_is_the_curves_own(edge):
    shape = EDGES[edge][0]
    x = np.linspace(0, 1, 100_001)
    eighty = float(x[np.argmax(shape(x) >= 0.8)]) * FIRING.opening
    contact = the_contact(ContactLine((FIRING.at - 0.015, FULL)), replace(FIRING, edge=edge))
    assert abs(contact.leads["80 % open"].value - (0.015 + eighty)) < 4 * contact.leads["80 % open"].u + 5e-6


def test_fp_is_told_from_the_recording():
    assert the_contact(ContactLine((FIRING.at - 0.0175, FULL))).verdicts["FP"] == "within"
    assert the_contact(ContactLine((FIRING.at - 0.0140, FULL))).verdicts["FP"] == "outside"


def test_each_firing_has_its_own_contact():
    firings = [replace(FIRING, at=0.3 + 0.5 * i) for i in range(3)]
    delays = (0.001, 0.002, -0.001)
    changes = [
        t
        for f, d in zip(firings, delays, strict=True)
        for t in (f.at + f.opening - d, f.at + f.opening + 0.006)
    ]
    contacts = analyse(with_contact(ContactLine(tuple(changes)), *firings), contact=1).contacts
    assert all(holds(c.delay, d) for c, d in zip(contacts, delays, strict=True))


# --- what is not there ----------------------------------------------------------------------------


def test_the_contact_is_no_light():
    result = analyse(with_contact(ContactLine((FULL - 0.001, FULL + 0.006))), contact=1)
    assert {shot.channel for shot in result.shots} == {0}
    assert result.summary.n == 1


def test_the_contact_may_be_in_the_first_channel():
    light = Bench((FIRING,), rate=RATE, sigma=0.003).samples()
    line = ContactLine((FULL - 0.001, FULL + 0.006)).samples(len(light), RATE, np.random.default_rng(7))
    result = analyse(as_recording(np.column_stack([line, light]), RATE), contact=0)
    assert [shot.channel for shot in result.shots] == [1]
    assert holds(result.contacts[0].delay, 0.001)


def test_a_contact_that_never_closes_is_said():
    result = analyse(with_contact(ContactLine(())), contact=1)
    assert result.contacts == ()
    assert any("did not close" in w for w in result.warnings)


def test_the_lights_crosstalk_is_no_contact():
    light = Bench((FIRING,), rate=RATE, sigma=0.003).samples()
    result = analyse(as_recording(np.column_stack([light, 0.01 * light]), RATE), contact=1)
    assert result.contacts == ()


def test_one_missed_contact_of_three_is_said():
    firings = [replace(FIRING, at=0.3 + 0.5 * i) for i in range(3)]
    changes = [t for f in firings[:2] for t in (f.at + 0.001, f.at + 0.008)]
    result = analyse(with_contact(ContactLine(tuple(changes)), *firings), contact=1)
    assert len(result.contacts) == 2
    assert any("At 1.300 s the contact" in w for w in result.warnings)


def test_a_contact_that_stays_closed_has_no_duration():
    contact = the_contact(ContactLine((FULL - 0.001,)))
    assert contact.closed is None
    assert any("still closed" in w for w in contact.warnings)


@pytest.mark.parametrize("pole_hz", [5.0, 20.0, 60.0])
def test_an_ac_coupled_contact_keeps_its_closing_and_loses_its_duration(pole_hz):
    contact = the_contact(ContactLine((FULL - 0.004, FULL + 0.020), pole_hz=pole_hz))
    assert holds(contact.delay, 0.004)
    assert contact.closed is None
    assert contact.bounces is None
    assert any("AC-coupled" in w for w in contact.warnings)


def test_without_full_opening_there_is_no_delay():
    pointed = replace(FIRING, plateau=0.0)
    contact = the_contact(ContactLine((FIRING.at, FIRING.at + 0.004)), pointed)
    assert contact.delay is None
    assert contact.verdicts["electronic"] == "cannot tell"


def test_the_contact_needs_a_channel_of_its_own():
    light = Bench((FIRING,), rate=RATE).samples()
    with pytest.raises(RefusedRecording, match="a channel each"):
        analyse(as_recording(light, RATE), contact=0)
    with pytest.raises(RefusedRecording, match="0 to 1"):
        analyse(as_recording(np.column_stack([light, light]), RATE), contact=2)


def test_without_a_kind_it_is_told_by_which_the_contact_is_judged():
    result = analyse(with_contact(ContactLine((FULL - 0.001, FULL + 0.006))), contact=1)
    assert any("leaf shutter" in w for w in result.warnings)


def test_the_contacts_stand_in_the_json():
    result = analyse(with_contact(ContactLine((FULL - 0.001, FULL + 0.006))), contact=1, kind="leaf")
    (one,) = result.to_json()["contacts"]
    assert {"at_s", "delay_s", "delay_u_s", "closed_s", "closed_u_s", "bounces", "verdict", "source"} <= set(
        one
    )
    assert set(one["verdict"]) == set(SETTINGS)
    assert all(s["source"] and s["mark"] for s in one["source"])
    assert "contacts" not in analyse(with_contact(ContactLine(()))).to_json()


def test_the_caution_names_the_charge_and_what_to_do_instead():
    assert all(word in CAUTION for word in ("charged", "Never", "divider", "maker's sheet comes first"))


# --- whether the stated uncertainty is true -------------------------------------------------------


def drawn(rng: np.random.Generator) -> tuple[Firing, ContactLine, float, int]:
    """A firing and its contact line, both drawn at random; the bounces' length and number."""
    opening, closing = rng.uniform(0.5e-3, 3e-3, 2)
    plateau = rng.uniform(0.004, 0.02)
    firing = Firing(0.3 + rng.uniform(0, 0.01), opening, plateau, closing, str(rng.choice(list(EDGES))))
    tau = float(rng.choice([0.0, 20e-6, 100e-6, 500e-6]))
    at = firing.at + opening - rng.uniform(-0.001, 0.02)
    changes, open_for, n = [at], 0.0, int(rng.choice([0, 0, 1, 3]))
    for _ in range(n):
        touch = rng.uniform(1.5e-4, 4e-4) + 1.5 * tau
        gap = rng.uniform(1.5e-4, 5e-4) + 2.5 * tau
        changes += [changes[-1] + touch, changes[-1] + touch + gap]
        open_for += gap
    changes.append(max(changes[-1] + 0.003 + 4 * tau, at + rng.uniform(0.004, 0.03)))
    levels = (0.0, 0.6) if rng.integers(2) else (0.5, 0.02)
    line = ContactLine(tuple(changes), tau, *levels, sigma=float(rng.choice([0.0005, 0.005, 0.03])))
    return firing, line, open_for, n


def not_quite(line: ContactLine, rate: float, rng: np.random.Generator) -> ContactLine:
    """
    The line with edges that are neither exponential nor at once, as far as the budget allows for.

    Every change seems moved by a normal amount of 0.03 time constants, or 0.2 samples where it looks a step.
    """
    u = 0.03 * line.tau if line.tau * rate > 1.2 else 0.2 / rate
    return replace(line, changes=tuple(np.sort(line.changes + u * rng.standard_normal(len(line.changes)))))


@pytest.mark.slow
def test_intervals_hold_the_truth_and_no_bounce_is_miscounted():
    """All shapes share one doubt about where a shoulder ends: delays hold the truth somewhat too often."""
    rng = np.random.default_rng(44)
    held: dict[str, list[bool]] = {"delay": [], "closed": [], "bounce": []}
    missed, miscounted, n_firings = 0, 0, 400
    for _ in range(n_firings):
        firing, line, open_for, n = drawn(rng)
        rate = int(rng.choice([44_100, 48_000, 96_000, 192_000]))
        bench = {"sigma": float(rng.choice([0.003, 0.01, 0.03])), "seed": int(rng.integers(1 << 30))}
        recording = with_contact(not_quite(line, rate, rng), firing, rate=rate, seconds=0.8, **bench)
        result = analyse(recording, contact=1, kind="leaf")
        missed += not result.contacts
        if not result.contacts:
            continue
        (contact,) = result.contacts
        full, changes = firing.at + firing.opening, line.changes
        if contact.delay is not None:  # a ramp to a short plateau in noise may pass for none
            held["delay"].append(holds(contact.delay, full - changes[0]))
        held["closed"].append(holds(contact.closed, changes[-1] - changes[0]))
        miscounted += contact.bounces != n
        if n:
            held["bounce"].append(holds(contact.bounce, open_for))
    assert missed <= 0.01 * n_firings
    assert miscounted <= 0.005 * n_firings
    assert len(held["delay"]) > 0.98 * n_firings
    for figures in held.values():
        chance = 2 * math.sqrt(0.95 * 0.05 / len(figures))
        assert 0.93 - chance <= np.mean(figures) <= 0.97 + chance


def simulated(rng: np.random.Generator) -> tuple[bool | None, bool]:
    """Whether delay and lead on first light hold the truth, for a simulated shutter of straight blades."""
    stroke = rng.uniform(0.8e-3, 4e-3)
    shutter = LeafShutter(
        blades=int(rng.choice([4, 5, 6, 8])),
        opening_stroke_s=stroke,
        closing_stroke_s=stroke * rng.uniform(0.8, 1.2),
        drag=float(rng.choice([0.0, 0.5, 3.0])),
    )
    gate = LightGate(converter=Converter(noise_v=float(rng.choice([2e-4, 4e-3, 2e-2]))))
    made = record([shutter.fire(shutter.opening_stroke_s + rng.uniform(0.002, 0.01))], gate, rng)
    (truth,) = made.truths(40_001)
    full = truth.at_s + truth.opening_s
    closes = full - rng.uniform(-0.001, 0.02)
    line = ContactLine((closes, full + 0.006), tau=float(rng.choice([0.0, 100e-6])), sigma=0.003)
    beside = line.samples(len(made.samples), made.sample_rate_hz, rng)
    recording = as_recording(np.column_stack([made.samples, beside]), made.sample_rate_hz)
    (contact,) = analyse(recording, contact=1, kind="leaf").contacts
    delay = None if contact.delay is None else holds(contact.delay, full - closes)
    return delay, holds(contact.leads["first light"], truth.at_s - closes)


@pytest.mark.slow
def test_intervals_hold_the_simulated_shutters_full_opening():
    rng = np.random.default_rng(45)
    held = [simulated(rng) for _ in range(300)]
    delays = [delay for delay, _ in held if delay is not None]
    chance = 2 * math.sqrt(0.95 * 0.05 / 300)
    assert len(delays) > 0.97 * 300
    assert np.mean(delays) >= 0.93 - chance
    assert np.mean([first for _, first in held]) >= 0.93 - chance
