"""The pages of a lens's glass: in side light, before and after cleaning, veiling glare."""

import numpy as np
import pytest
from django.urls import reverse

from instruments.glasses import Scene, some_spots, taken, true_share
from instruments.irises import Taking, stored
from pegwood.book.workshop import change_settings
from pegwood.papers.make import make_paper
from web.gauges_sent import accept, chart, picture, read, read_at_once
from web.pictures_sent import photograph

BY = "Tove Halm"
pytestmark = pytest.mark.usefixtures("halm")
SPOTS = some_spots(np.random.default_rng(3), 9)


@pytest.fixture(autouse=True)
def at_once(monkeypatch):
    read_at_once(monkeypatch)


def glass(spots, seed):
    return picture(taken(Scene(spots), np.random.default_rng(seed)), f"glass{seed}.jpg")


def patch(glare, seed, shape=(300, 400)):
    """A black patch amid white of which that share of the white's light falls into it."""
    light = np.full(shape, 0.7)
    light[110:190, 150:250] = 0.7 * glare
    return picture(
        stored(light, Taking(blur=1.0, noise=0.003), np.random.default_rng(seed)), f"patch{seed}.jpg"
    )


def test_what_cleaning_changed_stands_on_page_card_and_certificate(client, arrived):
    """Truth is the area the spots were drawn with."""
    measurement, there = read(
        client, arrived, "glass-cleaned", [glass(SPOTS, 1), glass(SPOTS[:3], 2)], kind="fungus"
    )
    for side, spots in (("before", SPOTS), ("after", SPOTS[:3])):
        low, high = measurement.result[side]["share_95_percent"]
        assert low < true_share(spots) < high
    shown = client.get(there).content.decode()
    assert "marks gone, of the glass" in shown
    assert "before: grade" in shown
    assert "Grades 0 to 5 by fungus" in shown
    assert "radioactive" in shown
    chart(client, measurement, "shares")
    accept(client, measurement, "as left")
    assert "Glass" in client.get(reverse("job", args=[arrived.number])).content.decode()
    (row,) = make_paper(arrived, "certificate", by=BY).content["content"]["gauged"]
    assert (row["what"], row["marked"]) == ("glass", "cleaned")


def test_one_photograph_is_graded(client, arrived):
    measurement, there = read(client, arrived, "glass-side", [glass(SPOTS, 1)], kind="marks")
    low, high = measurement.result["before"]["share_95_percent"]
    assert low < true_share(SPOTS) < high
    assert "grade" in client.get(there).content.decode()
    chart(client, measurement, "shares")


def test_glass_is_judged_only_where_the_workshop_has_a_limit(client, arrived):
    measurement, there = read(client, arrived, "glass-side", [glass(SPOTS, 1)], kind="marks")
    assert measurement.result["share_limit"] is None
    assert measurement.result["share_verdict"] == "no limit given"
    assert "no limit given" not in client.get(there).content.decode()
    accept(client, measurement)
    change_settings({"gauge_limits": {"glass.share_percent": true_share(SPOTS) / 2}}, by=BY)
    measurement, there = read(client, arrived, "glass-side", [glass(SPOTS, 1)], kind="marks")
    assert measurement.result["share_verdict"] == "outside"
    shown = client.get(there).content.decode()
    assert "outside" in shown
    assert "the workshop&#x27;s own (practice)" in shown


def test_glare_is_held_against_the_workshops_own(client, arrived):
    """Truth: 4 % of the white's light in the patch."""
    change_settings({"gauge_limits": {"glass.glare_percent": 2.0}}, by=BY)
    measurement, _ = read(client, arrived, "glass-glare", [patch(0.04, 1)])
    assert measurement.result["veiling_glare_verdict"] == "outside"
    assert measurement.result["veiling_glare_limit"]["high_percent"] == 2.0


def test_haze_without_a_card_says_what_is_missing(client, arrived):
    _, there = read(client, arrived, "glass-side", [glass(SPOTS, 1)], kind="haze")
    shown = client.get(there).content.decode()
    assert "No grade of haze" in shown
    assert "--white" not in shown


def test_glare_is_read_with_and_without_the_cameras_own(client, arrived):
    """Truth: 4 % of the white's light in the patch, 1 % of it the camera's."""
    alone, _ = read(client, arrived, "glass-glare", [patch(0.04, 1)])
    assert alone.result["veiling_glare_percent"] == pytest.approx(4, abs=0.8)
    assert alone.result["camera_percent"] is None
    both, there = read(client, arrived, "glass-glare", [patch(0.04, 1), patch(0.01, 2)])
    low, high = both.result["veiling_glare_95_percent"]
    assert low < 3 < high
    shown = client.get(there).content.decode()
    assert "veiling glare" in shown
    chart(client, both, "glare")
    assert "with the camera's own" in shown or "with the camera&#x27;s own" in shown


def test_glass_and_glare_do_not_push_each_other_aside(client, arrived):
    sent = (
        ("glass-side", [glass(SPOTS, 1)]),
        ("glass-cleaned", [glass(SPOTS, 1), glass(SPOTS[:3], 2)]),
        ("glass-glare", [patch(0.04, 1)]),
    )
    taken_in = [read(client, arrived, way, pictures, kind="marks")[0] for way, pictures in sent]
    for one in taken_in:
        accept(client, one)
    for one in taken_in:
        one.refresh_from_db()
        assert (one.phase, one.set_aside) == ("as found", False)


@pytest.mark.parametrize(
    ("way", "pictures", "told", "says"),
    [
        ("glass-side", 1, {"glass": "here"}, "no place in a picture"),
        ("glass-side", 1, {"glass": "1, 2, 3"}, "can't be graded"),
        ("glass-glare", 1, {}, "black patch"),
        ("glass-cleaned", 2, {}, "rim"),
    ],
)
def test_a_picture_of_something_else_or_a_place_that_is_none(client, arrived, way, pictures, told, says):
    sent = [photograph(f"{n}.jpg", grey=90 + n, size=(320, 240)) for n in range(pictures)]
    measurement, there = read(client, arrived, way, sent, **told)
    assert measurement.progress == "refused"
    assert says in measurement.reason
    assert "--" not in measurement.reason
    assert "Take it again" in client.get(there).content.decode()


def test_before_without_after_and_a_kind_that_is_none_are_marked(client, arrived):
    address = reverse("gauge", args=[arrived.number, "glass-cleaned"])
    answer = client.post(address, {"kind": "sorrow", "picture-0": glass(SPOTS, 1)})
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert "Choose the photograph" in shown
    assert not arrived.measurements.exists()
