"""A rangefinder's readings, and a clutch's torque, count as signs without anybody saying so."""

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
from pegwood.causes.family_net import FamilyCauses, family_causes
from pegwood.causes.known import knowledge

pytestmark = pytest.mark.django_db
FINDER = {"base_mm": 40.0, "magnification": 0.7, "focal_mm": 50.0, "stop": 2.0}
FAMILY = "rangefinder-35-cloth"


def causes() -> FamilyCauses:
    described = construction_of(FAMILY)
    assert isinstance(described, Construction)
    return family_causes(described, knowledge())


@pytest.fixture
def camera(db: None) -> Job:
    return arriving.take_in(BENNO, replace(FOLDER, family=FAMILY), by=BY, at=MONDAY)


def gauge(job: Job, way: str, rows, said, marked: str = ""):
    table = typed_figures(WAYS[way].columns, rows, f"{way}.csv")
    kept = keep_gauging(job, WAYS[way], [table], said=said, marked=marked, by=BY)
    return accept_measurement(read_recording(kept, by=BY), "as found", by=BY)


def finder(job: Job, offset: float, gain: float, **said):
    """Readings of a finder whose error is known, with a hand's scatter of 3 mdpt to and fro."""
    rows = []
    for true in (0.02, 0.1, 1 / 3, 2 / 3, 1.0):
        for slip in (0.003, -0.003):
            rows.append((f"{1 / true:.5f}", f"{1 / (offset + gain * true + slip):.5f}", ""))
    return gauge(job, "rangefinder", rows, FINDER | said)


def read_of(job: Job) -> dict[str, tuple[float, ...]]:
    return {one.sign.rpartition(".")[2]: one.levels for one in signs_from(job, causes()).read}


def test_a_finder_right_at_infinity_and_off_up_close_is_that_sign_and_no_other(camera):
    measurement = finder(camera, 0.0, 1.06)
    read = read_of(camera)
    gain = measurement.result
    spread = stats.t(gain["gain_df"], gain["gain"], gain["gain_u"])
    off = 1 - (spread.cdf(1.025) - spread.cdf(0.975))
    assert read["near-off"] == pytest.approx((1 - off, off))
    assert off > 0.99
    assert read["infinity-off"][0] > 0.99
    assert "height" not in read, "nobody read it"


def test_a_finder_off_by_as_much_everywhere_is_off_at_infinity(camera):
    finder(camera, 0.06, 1.0, vertical_arcmin=[9.0, 9.5, 8.5])
    read = read_of(camera)
    assert read["infinity-off"][1] > 0.99
    assert read["near-off"][0] > 0.95
    assert read["height"][1] > 0.99  # 9 arcmin against 0.0012 rad, 4.1 arcmin
    (why,) = [one.why for one in signs_from(camera, causes()).read if one.sign.endswith("height")]
    assert "rangefinder vertical error +0.15" in why
    assert "°" in why


def test_a_clutch_that_hardly_pulls_is_weak_and_its_rewind_says_nothing(camera):
    gauge(camera, "friction", [("0.2",), ("0.21",), ("0.19",)], {"radius_mm": 10.0}, "take-up clutch")
    gauge(camera, "friction", [("2",), ("2.1",), ("2.05",)], {"radius_mm": 40.0}, "rewind")
    read = read_of(camera)
    assert read["spool-weak"][1] > 0.99  # 2 mN m
    assert read["spool-fast"][0] > 0.99
    (why,) = [one.why for one in signs_from(camera, causes()).read if one.sign.endswith("spool-weak")]
    # 0.01 N of scatter over root 3, half a division of 0.01 N over root 3, 0.2 mm over root 3 at 0.2 N
    assert why == "read as accepted: transport torque take-up clutch +2 ± 0.085 mN m"


def test_a_clutch_that_hardly_slips_is_fast(camera):
    gauge(camera, "friction", [("6",), ("6.2",), ("5.9",)], {"radius_mm": 10.0}, "take-up clutch")
    read = read_of(camera)
    assert read["spool-fast"][1] > 0.99
    assert read["spool-weak"][0] > 0.99
