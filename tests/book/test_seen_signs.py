"""What was seen and read on a job counts as signs, without anybody entering it twice."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest
from scipy import stats

from book.cast import BENNO, BY, FOLDER, ILSE, MONDAY, REFLEX
from book.test_measuring import TRAPEZOIDS, recording
from instruments.irises import Taking, late_blade, photographed
from instruments.strips import Camera, at_spacing, picture
from pegwood.book import arriving, benchwork, looking
from pegwood.book.families import construction_of
from pegwood.book.gauging import WAYS, Sent, keep_gauging, typed_figures
from pegwood.book.looking import FindingDetails
from pegwood.book.measuring import accept_measurement, keep_recording, read_recording
from pegwood.book.models import Job, Measurement
from pegwood.book.seen_signs import readings_of, signs_from
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.known import knowledge
from pegwood.causes.words.telling import FaultHint, SignHint

pytestmark = pytest.mark.django_db
OIL = FindingDetails(part="shutter blades", condition="oil film", grade=3)
FIXED_LENS = "rangefinder-35-cloth"
LATER = MONDAY + timedelta(days=1)


@cache
def causes(family: str = FOLDER.family) -> FamilyCauses:
    return family_causes(construction_of(family), knowledge())


def accepted(job: Job, marked: str, phase: str = "as found") -> Measurement:
    kept = keep_recording(job, recording(*TRAPEZOIDS), "firings.wav", marked=marked, by=BY)
    return accept_measurement(read_recording(kept, by=BY), phase, by=BY)


def test_a_finding_answers_a_question_that_nobody_asked(arrived):
    finding = looking.note_finding(arrived, OIL, by=BY)
    (hint,) = signs_from(arrived, causes()).hints
    assert isinstance(hint, SignHint)
    assert (hint.sign, hint.finding.number) == ("shutter.blades-look", finding.pk)
    assert hint.levels.index(max(hint.levels)) == 2


def test_a_finding_that_was_struck_out_says_nothing(arrived):
    finding = looking.note_finding(arrived, OIL, by=BY)
    looking.strike_out(finding, "a reflection", by=BY)
    assert signs_from(arrived, causes()).hints == ()


def test_an_amended_finding_says_what_it_says_now(arrived):
    finding = looking.note_finding(arrived, OIL, by=BY)
    looking.amend_finding(finding, replace(OIL, condition="no oil"), by=BY)
    (hint,) = signs_from(arrived, causes()).hints
    assert hint.levels[0] == 1


def test_how_a_part_is_after_work_on_it_is_not_what_was_wrong_with_it(arrived):
    looking.note_finding(arrived, OIL, by=BY, at=MONDAY)
    benchwork.log_work(arrived, "bathed in naphtha", part="Shutter blades", by=BY, at=LATER)
    clean = replace(OIL, condition="no oil", grade=0)
    looking.note_finding(arrived, clean, by=BY, at=LATER + timedelta(hours=1))
    (found,) = signs_from(arrived, causes()).hints
    assert found.levels.index(max(found.levels)) == 2
    (left,) = signs_from(arrived, causes(), phase="as left").hints
    assert left.levels.index(max(left.levels)) == 0


def test_work_on_another_part_leaves_a_finding_alone(arrived):
    benchwork.log_work(arrived, "straightened", part="bed", by=BY, at=MONDAY)
    looking.note_finding(arrived, OIL, by=BY, at=LATER)
    assert len(signs_from(arrived, causes()).hints) == 1


def test_an_accepted_reading_answers_with_its_own_uncertainty(arrived):
    # 8.5 ms by ISO 516 against 1/16 s: far too short for a slow speed
    measurement = accepted(arrived, "1/15")
    (read,) = [one for one in signs_from(arrived, causes()).read if one.sign.endswith("slow-speeds")]
    error, u = measurement.summary["error_ev"], measurement.summary["error_u_ev"]
    assert error == pytest.approx(math.log2(0.0085 * 16), abs=3 * u)
    df = measurement.summary["error_df"] or math.inf
    spread = stats.norm(error, u) if math.isinf(df) else stats.t(df, error, u)
    beyond = 1 - (spread.cdf(1) - spread.cdf(-1))
    assert read.levels[2] == pytest.approx(0.2 * beyond + 0.8)
    assert read.levels[0] < read.levels[1] < read.levels[2]
    assert read.why.startswith("read as accepted: 1/15 s -2.8")


def test_only_what_was_accepted_in_that_phase_counts(arrived):
    read_recording(keep_recording(arrived, recording(*TRAPEZOIDS), "a.wav", marked="1/15", by=BY), by=BY)
    assert signs_from(arrived, causes()).read == ()
    accepted(arrived, "1/8", "as left")
    assert signs_from(arrived, causes()).read == ()
    assert len(signs_from(arrived, causes(), phase="as left").read) == 1


def test_an_even_gate_is_read_from_several_places(db):
    job = arriving.take_in(BENNO, REFLEX, by=BY, at=MONDAY)
    measurement = accepted(job, "1/1000")
    uneven = {"unevenness_ev": 0.6, "unevenness_u_ev": 0.05, "unevenness_df": None}
    Measurement.objects.filter(pk=measurement.pk).update(result={**measurement.result, "curtains": uneven})
    (found,) = [one for one in signs_from(job, causes(REFLEX.family)).read if one.sign.endswith("fast-even")]
    assert found.levels == pytest.approx((0, 1, 0), abs=1e-6)


def test_what_was_heard_is_no_reading_of_light(arrived):
    measurement = accepted(arrived, "1/15")
    Measurement.objects.filter(pk=measurement.pk).update(result={**measurement.result, "sound": {"any": 1}})
    assert list(readings_of(arrived, "as found")) == []


def test_a_kind_of_camera_that_nobody_described_says_nothing(db):
    job = arriving.take_in(ILSE, replace(FOLDER, family="other"), by=BY, at=MONDAY)
    looking.note_finding(job, OIL, by=BY)
    assert signs_from(job, causes()) == signs_from(job, causes(), phase="as left")
    assert signs_from(job, causes()).hints == ()


def test_a_vague_word_speaks_for_a_fault_with_its_odds(arrived):
    looking.note_finding(arrived, FindingDetails(part="slow train", condition="sluggish"), by=BY)
    (hint,) = signs_from(arrived, causes()).hints
    assert isinstance(hint, FaultHint)
    assert hint.odds > 1


def test_a_meter_that_reads_low_is_a_sign_without_anybody_saying_so(db):
    job = arriving.take_in(BENNO, REFLEX, by=BY, at=MONDAY)
    rows = [(str(ev), str(ev - 1), way) for way in ("up", "down") for ev in (5, 8, 11, 14)]
    table = typed_figures(WAYS["meter"].columns, rows, "meter.csv")
    kept = keep_gauging(job, WAYS["meter"], [table], said={}, by=BY)
    accept_measurement(read_recording(kept, by=BY), "as found", by=BY)
    read = {one.sign: one for one in signs_from(job, causes(REFLEX.family)).read}
    low, high = (
        next(one for sign, one in read.items() if sign.endswith(end)) for end in ("reads-low", "reads-high")
    )
    assert low.levels[1] > 0.95
    assert high.levels[1] < 0.01
    assert "meter offset -0.99 ±" in low.why


def test_a_blade_out_of_line_at_a_small_stop_is_a_sign_and_at_a_wide_one_is_none(db):
    """The blade was drawn 6 pixels too far in, 3 % of the opening; at f/4 that says nothing of f/16."""
    job = arriving.take_in(ILSE, replace(FOLDER, family=FIXED_LENS), by=BY, at=MONDAY)
    opening = late_blade(7, 110.0, 2, 6.0)
    how = Taking(noise=0.004)
    for mark, counts in (("4", False), ("f/11", True)):
        file = photographed(opening, (300, 300), (150.4, 149.7), how, np.random.default_rng(5))
        kept = keep_gauging(
            job, WAYS["iris-photo"], [Sent(file, f"{mark[-1]}.jpg")], said={}, marked=mark, by=BY
        )
        accept_measurement(read_recording(kept, by=BY), "as found", by=BY)
        read = [one for one in signs_from(job, causes(FIXED_LENS)).read if one.sign.endswith("hole-read")]
        assert bool(read) == counts
    assert read[0].levels[1] > 0.95
    assert "iris out of line f/11 +" in read[0].why


def strip_of(job: Job, way: str, spacings: list[float], fog: object = None) -> dict[str, float]:
    """Levels of the last answer by sign, of a strip drawn small."""
    drawn = picture(at_spacing(spacings, seed=3, fog=fog), Camera(size=(860, 300), samples=2))
    kept = keep_gauging(job, WAYS[way], [Sent(drawn, "strip.jpg")], said={}, by=BY)
    accept_measurement(read_recording(kept, by=BY), "as found", by=BY)
    read = signs_from(job, causes(REFLEX.family)).read
    return {one.sign.rpartition(".")[2]: one.levels[-1] / max(one.levels) for one in read}


def test_fog_along_an_edge_speaks_for_that_seal_alone(db):
    job = arriving.take_in(BENNO, REFLEX, by=BY, at=MONDAY)
    # along the scan's lower edge: the camera's top, as the lens turns the picture over
    told = strip_of(job, "leaks", [38.0, 38.0], lambda _x, y: 0.3 * np.exp(-(17.49 - y) / 4.0))
    assert told["strip-fog-top"] == 1
    assert all(told[f"strip-fog-{one}"] < 0.2 for one in ("base", "hinge", "latch"))


def test_a_strip_without_fog_speaks_against_every_seal(db):
    job = arriving.take_in(BENNO, REFLEX, by=BY, at=MONDAY)
    told = strip_of(job, "leaks", [38.0, 38.0])
    assert all(told[f"strip-fog-{one}"] < 0.5 for one in ("top", "base", "hinge", "latch"))


def test_frames_that_follow_too_close_are_a_sign(db):
    job = arriving.take_in(BENNO, REFLEX, by=BY, at=MONDAY)
    assert strip_of(job, "transport-strip", [37.0, 37.0])["strip-short"] == 1
    job = arriving.take_in(ILSE, REFLEX, by=BY, at=MONDAY)
    assert strip_of(job, "transport-strip", [38.0, 38.0])["strip-short"] < 0.01


def test_a_meter_right_in_bright_light_and_wrong_in_dim_is_a_sign_of_unlike_cells(db):
    job = arriving.take_in(BENNO, REFLEX, by=BY, at=MONDAY)  # its cells sit beside the prism
    # 0.1 EV less shown for each EV of light: 0.9 EV from end to end, well past half an EV over eight
    rows = [(str(ev), f"{14 - 0.9 * (14 - ev):.2f}", way) for way in ("up", "down") for ev in (5, 8, 11, 14)]
    table = typed_figures(WAYS["meter"].columns, rows, "meter.csv")
    kept = keep_gauging(job, WAYS["meter"], [table], said={}, by=BY)
    accept_measurement(read_recording(kept, by=BY), "as found", by=BY)
    read = {one.sign.rpartition(".")[2]: one for one in signs_from(job, causes(REFLEX.family)).read}
    assert read["two-levels"].levels[1] > 0.95
