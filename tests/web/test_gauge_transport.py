"""The pages of the take-up spool and of torque."""

import pytest
from django.urls import reverse
from jsonschema import Draft202012Validator

from pegwood.book.models import Measurement
from pegwood.instruments.schemas import schema
from pegwood.papers.make import make_paper

BY = "Tove Halm"
SPOOL = {"roll_name": "135-36"}
PULL = {"marked": "take-up clutch", "radius_mm": "10", "balance": "N"}
pytestmark = pytest.mark.usefixtures("halm")


def sent(way, figures, **more):
    name = {"take-up": "core_mm", "friction": "force_n"}[way]
    typed = {f"line-{n}-{name}": one for n, one in enumerate(figures)}
    told = SPOOL if way == "take-up" else PULL
    return {"line-TOTAL_FORMS": len(figures) + 1, "line-INITIAL_FORMS": 0, **typed, **told, **more}


def page(job, way):
    return reverse("gauge", args=[job.number, way])


def read(client, job, way, figures, **more):
    answer = client.post(page(job, way), sent(way, figures, **more))
    assert answer.status_code == 302, answer.content.decode()[:4000]
    return job.measurements.filter(instrument="transport").latest("pk"), answer["Location"]


def accept(client, measurement, phase="as found"):
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": phase})
    measurement.refresh_from_db()


def test_a_spool_is_told_by_its_core_and_drawn_frame_by_frame(client, arrived):
    measurement, there = read(
        client, arrived, "take-up", ["14.0", "14,1", "13.9"], drive_turns="1.1", counted="36"
    )
    Draft202012Validator(schema("measure.take-up")).validate({**measurement.result, "friction": None})
    shown = client.get(there).content.decode()
    for said in ("slips at the first frame", "full spool", "frames to expect", "36 frames: as expected"):
        assert said in shown
    item = client.get(reverse("gauging_chart", args=[measurement.pk, "turns"])).json()
    assert item["doc"]["roots"]
    # D^2 = d^2 + 4 h L / pi; 14 mm, 0.12 mm, 1547.9 mm: the root of 196 + 236.51, 20.797 mm
    assert 1e3 * measurement.result["full_m"] == pytest.approx(20.797, abs=2e-3)


def test_without_the_drive_the_slip_is_not_told(client, arrived):
    measurement, there = read(client, arrived, "take-up", ["14"])
    shown = client.get(there).content.decode()
    assert "slips at the first frame" not in shown
    assert "more to slip by the last" in shown
    assert client.get(reverse("gauging_chart", args=[measurement.pk, "turns"])).status_code == 200


def test_a_clutch_is_told_by_its_pulls(client, arrived):
    measurement, there = read(
        client, arrived, "friction", ["0.8", "90 g", "0,9 N"], core_mm="14", full_mm="21"
    )
    # (0.8 + 0.0980665 * 9 + 0.9) / 3 N at 10 mm
    assert measurement.result["torque_n_m"] == pytest.approx((0.8 + 0.882599 + 0.9) / 3 * 0.01, rel=1e-5)
    Draft202012Validator(
        {**schema("measure.take-up")["properties"]["friction"], "$defs": schema("measure.take-up")["$defs"]}
    ).validate({k: v for k, v in measurement.result.items() if k not in ("warnings", "notes")})
    shown = client.get(there).content.decode()
    assert "mN m" in shown
    assert "pulls on the film" in shown
    assert measurement.in_words == "torque take-up clutch"
    assert client.get(reverse("gauging_chart", args=[measurement.pk, "pulls"])).json()["doc"]["roots"]


def test_an_advance_is_held_against_its_limit_with_its_source(client, arrived):
    _, there = read(
        client, arrived, "friction", ["300", "310", "305"], marked="rewind", balance="g", radius_mm="40"
    )
    shown = client.get(there).content.decode()
    assert "outside" in shown  # 3 N at 40 mm is 120 mN m, above 100
    assert "GB/T 13985-1992" in shown
    assert "(seen)" in shown


def test_a_spool_and_several_torques_stand_on_the_card_beside_each_other(client, arrived):
    spool, _ = read(client, arrived, "take-up", ["14"])
    accept(client, spool)
    clutch, there = read(client, arrived, "friction", ["0.8", "0.9"])
    assert "stands on the card" not in client.get(there).content.decode()
    accept(client, clutch)
    rewind, _ = read(client, arrived, "friction", ["2", "2.1"], marked="rewind")
    accept(client, rewind)
    for one in (spool, clutch, rewind):
        one.refresh_from_db()
        assert not one.set_aside
    again, there = read(client, arrived, "friction", ["0.8", "0.85"])
    assert "One stands on the card as found" in client.get(there).content.decode()
    accept(client, again)
    clutch.refresh_from_db()
    assert clutch.set_aside
    gauged = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert [(one["what"], one["marked"]) for one in gauged] == [
        ("take-up spool", ""), ("torque", "rewind"), ("torque", "take-up clutch"),
    ]  # fmt: skip


def test_more_rows_mark_nothing_as_amiss(client, arrived):
    answer = client.post(page(arrived, "friction"), sent("friction", ["0.8"], radius_mm="", do="more"))
    shown = answer.content.decode()
    assert answer.status_code == 200
    assert 'value="0.8"' in shown
    assert "still empty" not in shown


def test_one_pull_alone_is_told_to_be_too_few(client, arrived):
    measurement, there = read(client, arrived, "friction", ["0.8"])
    assert "one pull alone" in client.get(there).content.decode()
    assert client.get(reverse("gauging_chart", args=[measurement.pk, "pulls"])).status_code == 200


@pytest.mark.parametrize(
    ("way", "figures", "more", "says"),
    [
        ("friction", ["0.8"], {"radius_mm": ""}, "still empty"),
        ("friction", ["0.8"], {"radius_mm": "0"}, "At least 1"),
        ("friction", ["0.8"], {"marked": "door"}, "Choose one"),
        ("friction", ["0.8"], {"marked": ""}, "engraved"),
        ("friction", ["0.8"], {"core_mm": "21", "full_mm": "14"}, "thicker"),
        ("take-up", ["14"], {"counted": "many"}, "whole number"),
        ("take-up", ["14"], {"thickness_mm": "13"}, "At most 0.5"),
        ("take-up", ["14"], {"roll_name": "999"}, "999"),
        ("take-up", [], {}, "No reading is typed yet"),
    ],
)
def test_what_cannot_be_is_marked_and_nothing_is_kept(client, arrived, way, figures, more, says):
    answer = client.post(page(arrived, way), sent(way, figures, **more))
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not Measurement.objects.exists()


@pytest.mark.parametrize(
    ("way", "figures", "more", "says"),
    [
        ("take-up", ["thin"], {}, "Reading 1: "),
        ("take-up", ["0.014"], {}, "in mm"),
        ("take-up", ["14", "7"], {}, "more than a tenth"),
        ("take-up", ["14"], {"length_m": "0.2"}, "no frame"),
        ("friction", ["hard", "1"], {}, "Reading 1: "),
        ("friction", ["-1", "1"], {}, "newtons"),
        ("friction", ["900", "880"], {}, "newtons"),
    ],
)
def test_what_the_instrument_refuses_is_one_line_and_names_no_option(
    client, arrived, way, figures, more, says
):
    measurement, _ = read(client, arrived, way, figures, **more)
    assert measurement.progress == "refused"
    assert says in measurement.reason
    assert "--" not in measurement.reason
