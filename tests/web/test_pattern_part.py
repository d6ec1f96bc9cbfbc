"""What the pattern says, on the page of a job's shutter."""

import io

import numpy as np
import pytest
from django.urls import reverse

from instruments.patterns import DOUBLING, Shutter, fired
from pegwood.book import measuring
from pegwood.book.models import Measurement
from pegwood.instruments.shutter import SpeedReading
from pegwood.web.pattern import pattern_part

BY = "Tove Halm"
TEN = list(DOUBLING)[:10]


def results(slow_ev, seed=4):
    rng = np.random.default_rng(seed)
    errors = {m: slow_ev * (DOUBLING[m] > 0.05) + 0.04 * rng.standard_normal() for m in TEN}
    return fired(Shutter(errors), rng)


def readings(slow_ev):
    return [SpeedReading.from_result(one) for one in results(slow_ev)]


def accept(job, phase, slow_ev):
    for result in results(slow_ev):
        content = io.BytesIO(f"{phase} {result['marked']}".encode())
        kept = measuring.keep_recording(job, content, "r.wav", marked=result["marked"], by=BY)
        Measurement.objects.filter(pk=kept.pk).update(result=result, progress="read", curves=[])
        kept.refresh_from_db()
        measuring.accept_measurement(kept, phase, by=BY)


def test_nothing_accepted_is_no_part():
    assert pattern_part({}, "leaf", "en_GB") is None


def test_found_stands_above_left_and_the_latter_gives_the_order():
    part = pattern_part({"as found": readings(0.7), "as left": readings(0.0)}, "leaf", "en_GB")
    assert part.phases == ("found", "left")
    assert [row.id for row in part.rows][:2] == ["nothing-wrong", "slow-range-slow"]
    slow = part.rows[1]
    assert [(bar.phase, bar.chance) for bar in slow.bars] == [("found", "> 99 %"), ("left", "< 1 %")]
    assert slow.order
    assert not slow.is_open  # it is mended: the advice is kept, folded away
    assert part.rows[0].is_open


def test_a_chance_is_never_written_as_certain():
    part = pattern_part({"as found": readings(0.7)}, "leaf", "en_GB")
    assert {"0 %", "100 %"}.isdisjoint(bar.chance for row in part.rows for bar in row.bars)


def test_a_phase_that_cannot_tell_says_so_instead_of_a_chance():
    fast = [one for one in readings(0.0) if one.target_s < 0.02]
    part = pattern_part({"as found": readings(0.7), "as left": fast}, "leaf", "en_GB")
    slow = next(row for row in part.rows if row.id == "slow-range-slow")
    assert [(bar.phase, bar.told) for bar in slow.bars] == [("found", True), ("left", False)]
    assert slow.bars[1].chance == "–"


def test_figures_follow_the_country_and_carry_their_uncertainty():
    part = pattern_part({"as found": readings(0.7)}, "leaf", "nl_NL")
    figure = part.rows[0].bars[0].figure
    assert "," in figure
    assert " ± " in figure
    assert figure.endswith("EV")


def test_a_kind_that_is_not_known_gets_the_advice_for_any():
    part = pattern_part({"as found": readings(0.7)}, "", "en_GB")
    assert part.rows[0].order


def fetched(client, job):
    """The part, as the shutter's page fetches it."""
    address = reverse("shutter_pattern", args=[job.number])
    return client.get(address, headers={"HX-Request": "true"}).content.decode()


def test_the_part_shows_signs_order_and_caution(client, arrived):
    accept(arrived, "as found", 0.7)
    part = fetched(client, arrived)
    assert "<html" not in part
    assert part.index("The slow range alone is slow") < part.index("Clean the slow train")
    assert part.index("Clean the slow train") < part.index("Scribe where the train stands")


def test_the_shutters_page_fetches_it_and_leads_to_it_without_a_script(client, arrived):
    accept(arrived, "as found", 0.7)
    address = reverse("shutter_pattern", args=[arrived.number])
    page = client.get(reverse("shutter", args=[arrived.number])).content.decode()
    assert f'hx-get="{address}"' in page
    assert f'href="{address}"' in page
    assert "Clean the slow train" in client.get(address).content.decode()


def test_a_shutters_page_without_accepted_readings_has_no_such_section(client, arrived):
    page = client.get(reverse("shutter", args=[arrived.number])).content.decode()
    assert "What the pattern says" not in page
    assert "No speed measured by light is accepted yet" in fetched(client, arrived)


def test_one_speed_alone_says_what_to_measure_next(client, arrived):
    (result, *_) = results(0.5)
    content = io.BytesIO(b"one")
    kept = measuring.keep_recording(arrived, content, "r.wav", marked="1", by=BY)
    Measurement.objects.filter(pk=kept.pk).update(result=result, progress="read", curves=[])
    kept.refresh_from_db()
    measuring.accept_measurement(kept, "as found", by=BY)
    part = fetched(client, arrived)
    assert "next, if the dial has it" in part
    assert "What these readings cannot tell" in part


@pytest.mark.parametrize("odd", [{}, {"marked": "1", "summary": {}}, {"summary": None}])
def test_a_result_of_an_older_hand_breaks_no_page(client, arrived, odd):
    accept(arrived, "as found", 0.7)
    kept = arrived.measurements.filter(marked="1/8").get()
    assert measuring.accepted_speeds(arrived)["as found"]
    Measurement.objects.filter(pk=kept.pk).update(result=odd)
    assert len(measuring.accepted_speeds(arrived)["as found"]) == 9
