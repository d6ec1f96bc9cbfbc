"""A distance scale's readings count as signs without anybody saying so."""

from __future__ import annotations

from dataclasses import replace

import pytest
from scipy import stats

from book.cast import BENNO, BY, FOLDER, MONDAY
from pegwood.anatomy.construction import Construction
from pegwood.book import arriving
from pegwood.book.families import construction_of
from pegwood.book.gauging import WAYS, keep_gauging, typed_figures
from pegwood.book.measuring import accept_measurement, read_recording
from pegwood.book.models import Job
from pegwood.book.seen_signs import signs_from
from pegwood.causes.family_net import family_causes
from pegwood.causes.known import knowledge

pytestmark = pytest.mark.django_db
FAMILY = "rangefinder-35-cloth"
LENS = {"focal_mm": 50.0, "stop": 2.0, "film_format": "24x36"}  # depth of focus 0.06 mm


@pytest.fixture
def camera(db: None) -> Job:
    return arriving.take_in(BENNO, replace(FOLDER, family=FAMILY), by=BY, at=MONDAY)


def gauge(job: Job, way: str, rows, said):
    table = typed_figures(WAYS[way].columns, rows, f"{way}.csv")
    kept = keep_gauging(job, WAYS[way], [table], said=said, by=BY)
    return accept_measurement(read_recording(kept, by=BY), "as found", by=BY)


def scale(job: Job, *errors_mm: float):
    rows = [(mark, "", f"{off:g}") for mark, off in zip(("inf", "3", "1"), errors_mm, strict=True)]
    return gauge(job, "focus-scale", rows, LENS)


def read_of(job: Job):
    described = construction_of(FAMILY)
    assert isinstance(described, Construction)
    found = signs_from(job, family_causes(described, knowledge()))
    return {one.sign.rpartition(".")[2]: one for one in found.read}


@pytest.mark.parametrize(("off_mm", "soft"), [(0.0, 0.0), (0.06, 0.5), (-0.12, 1.0)])
def test_infinity_beyond_the_depth_of_focus_is_soft(camera, off_mm, soft):
    scale(camera, off_mm, off_mm, off_mm)
    read = read_of(camera)["film-plane"]
    # a quarter of the depth of focus is a reading's standard uncertainty, normal: closed form
    spread = stats.norm(off_mm / 0.06, 0.25)
    assert read.levels[1] == pytest.approx(1 - spread.cdf(1) + spread.cdf(-1), abs=1e-3)
    assert read.levels[1] == pytest.approx(soft, abs=1e-3)
    assert "depths of focus" in read.why


def test_a_scale_whose_infinity_nobody_read_says_nothing_of_it(camera):
    gauge(camera, "focus-scale", [("1", "", "0.2"), ("1.5", "", "0.2"), ("3", "", "0.2")], LENS)
    assert "film-plane" not in read_of(camera)


def test_a_register_answers_no_question_about_the_scale(camera):
    gauge(camera, "focus-flange", [("28.9", "", "", ""), ("28.91", "", "", "")], {"nominal_mm": 28.8})
    assert "film-plane" not in read_of(camera)
