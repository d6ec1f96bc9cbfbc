"""The other instruments' pages: readings typed one by one, what they say, whether they are taken."""

import pytest
from django.urls import reverse

from pegwood.book.models import Measurement
from pegwood.papers.make import make_paper

BY = "Tove Halm"
ROWS = [
    ("5", "5.5", "up"),
    ("9", "9.5", "up"),
    ("13", "13.5", "up"),
    ("9", "9.4", "down"),
    ("5", "5.6", "down"),
]
pytestmark = pytest.mark.usefixtures("halm")


def sent(rows=ROWS, **more):
    names = ("reference_ev", "shown_ev", "direction")
    typed = {
        f"line-{n}-{name}": cell for n, row in enumerate(rows) for name, cell in zip(names, row, strict=True)
    }
    return {"line-TOTAL_FORMS": len(rows) + 1, "line-INITIAL_FORMS": 0, **typed, **more}


def page(job):
    return reverse("gauge", args=[job.number, "meter"])


def read(client, job, rows=ROWS, **more):
    answer = client.post(page(job), sent(rows, **more))
    assert answer.status_code == 302, answer.content.decode()[:2000]
    return job.measurements.exclude(instrument="shutter").latest("pk"), answer["Location"]


def test_readings_are_typed_read_and_accepted(client, arrived):
    measurement, there = read(client, arrived, cell="selenium")
    assert there == reverse("gauging", args=[measurement.pk])
    shown = client.get(there).content.decode()
    assert "error in the middle of the range" in shown
    assert "is it so as found, or as left?" in shown
    answer = client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": "as found"})
    assert answer["Location"] == page(arrived)
    measurement.refresh_from_db()
    assert measurement.phase == "as found"
    card = client.get(reverse("job", args=[arrived.number])).content.decode()
    assert "Exposure meter" in card
    assert "+0.49" in card or "+0.5" in card


def test_what_the_figures_say_so_far_is_told_and_nothing_is_kept(client, arrived):
    answer = client.post(reverse("gauge_so_far", args=[arrived.number, "meter"]), sent())
    assert "error in the middle of the range" in answer.content.decode()
    assert not Measurement.objects.exists()


def test_so_far_a_figure_that_is_none_is_told_in_a_line(client, arrived):
    answer = client.post(reverse("gauge_so_far", args=[arrived.number, "meter"]), sent([("five", "5", "")]))
    assert "Reading 1: " in answer.content.decode()


def test_a_row_half_typed_is_no_error_yet(client, arrived):
    answer = client.post(reverse("gauge_so_far", args=[arrived.number, "meter"]), sent([("", "", "up")]))
    assert answer.status_code == 200


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"reference_u_ev": "much"}, "plain number"),
        ({"reference_u_ev": "-1"}, "At least 0"),
        ({"line-0-direction": "sideways"}, "Choose one"),
        ({"line-0-shown_ev": "9" * 60}, "Too long"),
    ],
)
def test_what_cannot_be_is_marked_and_what_was_typed_stays(client, arrived, more, says):
    answer = client.post(page(arrived), sent(**more))
    shown = answer.content.decode()
    assert answer.status_code == 422
    assert says in shown
    assert 'value="13.5"' in shown
    assert not Measurement.objects.exists()


def test_nothing_typed_is_refused_in_one_line(client, arrived):
    answer = client.post(page(arrived), sent([]))
    assert answer.status_code == 422
    assert "No reading is typed yet" in answer.content.decode()


def test_more_rows_keep_what_was_typed(client, arrived):
    shown = client.post(page(arrived), sent(do="more")).content.decode()
    assert 'value="13.5"' in shown
    assert shown.count("shown_ev") > 2 * (len(ROWS) + 3)


def test_what_was_told_the_last_time_stands_there_the_next(client, arrived):
    read(client, arrived, reference_u_ev="0.25")
    assert 'value="0.25"' in client.get(page(arrived)).content.decode()


def test_what_the_instrument_refuses_says_why_and_what_to_do(client, arrived):
    measurement, there = read(client, arrived, [("five", "5", "up")])
    shown = client.get(there).content.decode()
    assert measurement.progress == "refused"
    assert "Reading 1: " in shown
    assert "Correct it" in shown


def test_what_was_refused_is_corrected_where_it_was_typed(client, arrived):
    rows = [*ROWS[:2], ("", "", ""), ("nine", "9.4", "down"), ROWS[4]]
    wrong, there = read(client, arrived, rows, cell="selenium", reference_u_ev="0.2")
    assert wrong.reason.startswith("Reading 4: ")
    assert f"{page(arrived)}?correct={wrong.pk}" in client.get(there).content.decode()
    again = client.get(page(arrived), {"correct": wrong.pk})
    shown = again.content.decode()
    assert "Reading 4: reference: " in shown
    forms = again.context["page"].forms
    typed = [{name: form.initial.get(name, "") for name in form.fields} for form in forms.sheet][: len(rows)]
    assert [tuple(one.values()) for one in typed] == [
        *ROWS[:2],
        ("", "", ""),
        ("nine", "9.4", "down"),
        ROWS[4],
    ]
    assert (forms.form["cell"].value(), forms.form["reference_u_ev"].value()) == ("selenium", 0.2)
    assert f'name="correct" value="{wrong.pk}"' in shown
    # nothing waits for a word: what was refused says by itself what is wrong with it
    assert "say whether it is as found" not in client.get(page(arrived)).content.decode()


def test_once_it_is_corrected_what_was_refused_is_set_aside(client, arrived):
    wrong, _ = read(client, arrived, [*ROWS[:4], ("five", "5.6", "down")])
    more = client.post(page(arrived), sent(ROWS, do="more", correct=wrong.pk)).content.decode()
    assert f'name="correct" value="{wrong.pk}"' in more
    right, _ = read(client, arrived, ROWS, correct=wrong.pk)
    wrong.refresh_from_db()
    assert (right.progress, wrong.set_aside) == ("read", True)
    entry = arrived.diary.get(what="set a reading aside")
    assert (entry.text, entry.old["measurement"]) == ("corrected", wrong.pk)
    # nobody sets aside by this what was read
    read(client, arrived, [*ROWS, ("7", "7.5", "down")], correct=right.pk)
    right.refresh_from_db()
    assert not right.set_aside


def test_only_what_was_refused_there_is_corrected(client, arrived):
    right, _ = read(client, arrived)
    for asked in (right.pk, 0, 10**30, "x", "٣", "-1"):
        answer = client.get(page(arrived), {"correct": asked})
        assert answer.status_code == 200
        assert 'value="13.5"' not in answer.content.decode()


def test_it_is_set_aside_with_a_reason(client, arrived):
    measurement, _ = read(client, arrived)
    address = reverse("gauging_set_aside", args=[measurement.pk])
    assert client.post(address, {"reason": ""}).status_code == 422
    assert client.post(address, {"reason": "wrong lamp"})["Location"] == page(arrived)
    measurement.refresh_from_db()
    assert measurement.set_aside
    assert arrived.diary.filter(what="set a reading aside", text="wrong lamp").exists()


def test_the_chart_the_answer_and_the_file_can_be_had(client, arrived):
    measurement, _ = read(client, arrived)
    chart = client.get(reverse("gauging_chart", args=[measurement.pk, "error"]))
    assert chart.json()["doc"]["roots"]
    assert client.get(reverse("gauging_json", args=[measurement.pk])).json() == measurement.result
    file = client.get(reverse("gauging_file", args=[measurement.pk, 1]))
    assert b"".join(file.streaming_content).startswith(b"reference_ev")
    assert client.get(reverse("gauging_file", args=[measurement.pk, 2])).status_code == 404
    assert client.get(reverse("gauging_chart", args=[measurement.pk, "none"])).status_code == 404


def test_a_way_that_is_none_is_not_found(client, arrived):
    assert client.get(reverse("gauge", args=[arrived.number, "luck"])).status_code == 404


def test_a_certificate_is_made_of_what_was_gauged_alone(client, arrived):
    measurement, _ = read(client, arrived)
    client.post(reverse("gauging_accept", args=[measurement.pk]), {"phase": "as found"})
    paper = make_paper(arrived, "certificate", by=BY)
    (gauged,) = paper.content["content"]["gauged"]
    assert gauged["what"] == "exposure meter"
    told = float(gauged["rows"][0]["found"].split(" ")[0])
    assert told == pytest.approx(0.5, abs=0.03)  # the errors typed are 0.4 to 0.6, even about 0.5
    assert paper.content["content"]["speeds"] == []


def test_every_instrument_has_its_line(client, arrived):
    shown = client.get(reverse("gauges", args=[arrived.number])).content.decode()
    assert page(arrived) in shown
