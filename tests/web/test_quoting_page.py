"""What a job may cost, on its page, beside the lines of its price and on its card."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from pegwood.book import agreeing, arriving, looking, moving
from pegwood.book.arriving import CameraDetails
from pegwood.book.billing.offers import latest
from pegwood.book.looking import FindingDetails
from pegwood.book.models import CameraWorth, Job, PartCost
from pegwood.book.quoting.lines import offer_lines
from pegwood.book.quoting.quoted import reckoned_with
from pegwood.book.weighing.about import the_causes
from pegwood.book.weighing.ruling import rule
from pegwood.book.weighing.telling import tell_one
from pegwood.book.workshop import change_settings, workshop
from pegwood.pricing.money import Money
from pegwood.web.quoting.lately import quoted
from web.conftest import BY

pytestmark = pytest.mark.usefixtures("halm")


@pytest.fixture
def job(ilse) -> Job:
    """A box camera with a fault that was found: its only mend takes one part."""
    job = arriving.take_in(ilse, CameraDetails(family="box", maker="Vorrin", model="Satchel"), by=BY)
    tell_one(job, "unused-long", True, by=BY)
    looking.note_finding(job, FindingDetails(part="case", condition="scuffed"), by=BY)
    rule(job, torn(job), True, by=BY)
    return moving.look_over(job, by=BY)


def torn(job: Job) -> str:
    faults = the_causes(job).faults.values()
    return next(one.id for one in faults if len(one.mends) == 1 and len(one.mends[0].parts) == 1)


def page(client: Client, name: str, job: Job, query: str = "") -> str:
    answer = client.get(reverse(name, args=[job.number]) + query)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_page_tells_three_figures_and_leads_to_the_lines_of_an_offer(client: Client, job):
    shown = page(client, "quoting", job)
    price = quoted(job)[1].price
    for one in (price.usual, price.not_more_than, price.worst):
        assert one.money.format("en_GB") in shown
    assert "Next: tell the owner" in shown
    assert escape(the_causes(job).faults[torn(job)].name) in shown, "what it covers is named"
    assert "something else is there" in shown
    lines = client.get(reverse("price", args=[job.number]) + "?from=not_more_than").context["page"].sheet
    basis, found = quoted(job)
    assert lines.initial[0]["what"] == offer_lines(basis, found, "not_more_than")[0].what
    assert lines.initial[0]["amount"] == price.not_more_than.money.figure("en_GB")


def test_all_there_may_be_costs_more(client: Client, job):
    likely, whole = page(client, "quoting", job), page(client, "quoting", job, "?covers=all")
    assert "It covers every fault there may be" in whole
    assert quoted(job, 0.0)[1].price.not_more_than.money.format("en_GB") in whole
    assert "something else is there" not in whole
    assert likely != whole


def test_its_chart_marks_what_the_page_tells(client: Client, job):
    price = quoted(job)[1].price
    drawn = str(client.get(reverse("quoting_chart", args=[job.number])).json())
    for one in (price.usual, price.not_more_than, price.worst):
        assert one.money.format("en_GB") in drawn


def test_where_nothing_is_known_the_page_says_what_to_do(client: Client, ilse):
    job = arriving.take_in(ilse, CameraDetails(family="box"), by=BY)
    for name in ("quoting", "quoting_glance"):
        shown = page(client, name, job)
        assert "Nothing is told or seen of this camera yet" in shown
        assert reverse("causes", args=[job.number]) in shown
    assert client.get(reverse("quoting_chart", args=[job.number])).status_code == 422
    assert client.post(reverse("quoting_cost", args=[job.number]), {}).status_code == 422
    assert client.post(reverse("quoting_worth", args=[job.number]), {}).status_code == 422


def test_without_a_rate_there_is_no_way_to_it(client: Client, job):
    change_settings({"hourly_rate": 0}, by=BY)
    shown = page(client, "quoting", job)
    assert "No hourly rate is set" in shown
    assert "Set the hourly rate" in shown
    assert reverse("quoting", args=[job.number]) not in page(client, "price", job)


def test_what_a_part_costs_is_typed_and_the_price_is_reckoned_with_it(client: Client, job):
    address, part = (
        reverse("quoting_cost", args=[job.number]),
        the_causes(job).faults[torn(job)].mends[0].parts[0],
    )
    assert "no price is known" in page(client, "quoting", job)
    before = quoted(job)[1].price.mean
    typed = {"cost-part": part, "cost-likely": "80.00", "cost-wait_likely": "9", "cost-source": "a guess"}
    wrong = client.post(address, {**typed, "cost-likely": "eighty"})
    assert wrong.status_code == 422
    assert "a guess" in wrong.content.decode(), "what was typed stays"
    assert client.post(address, {**typed, "cost-part": "no-such-part"}).status_code == 422
    for amiss in ({"cost-low": "90.00"}, {"cost-high": "0"}, {"cost-wait_likely": "", "cost-wait_high": "9"}):
        assert client.post(address, {**typed, **amiss}).status_code == 422
    assert not PartCost.objects.exists()
    assert client.post(address, typed).status_code == 302
    shown = page(client, "quoting", job)
    assert "€80.00" in shown
    assert "a guess" in shown
    assert "must be waited for" in shown
    assert quoted(job)[1].price.mean - before == pytest.approx(8000)


def test_what_it_is_worth_is_typed_and_the_ways_are_set_beside_each_other(client: Client, job):
    address = reverse("quoting_worth", args=[job.number])
    typed = {"worth-mended": "60.00", "worth-unmended": "10.00", "worth-as_found": "25"}
    wrong = (
        {"worth-mended": ""},
        {"worth-mended": "-5"},
        {"worth-cleaned": "30"},
        {"worth-clean_low": "5"},
        {"worth-for_parts": "9"},
    )
    for amiss in wrong:
        answer = client.post(address, {**typed, **amiss})
        assert answer.status_code == 422
        assert 'value="25"' in answer.content.decode(), "what was typed stays"
    assert not CameraWorth.objects.exists()
    stays = f"worth-stays-{torn(job)}"
    assert client.post(address, {**typed, stays: "12.50"}).status_code == 302
    assert CameraWorth.objects.get().stays == {torn(job): 1250}
    shown = page(client, "quoting", job)
    assert "Sell as found" in shown
    assert 'value="12.50"' in shown


def test_an_offer_keeps_what_was_reckoned_when_it_was_told(client: Client, job):
    line = {
        "line-TOTAL_FORMS": "1", "line-INITIAL_FORMS": "0", "line-0-what": "mend it", "line-0-kind": "labour",
        "line-0-amount": "145.00", "do": "tell",
    }  # fmt: skip
    usual = quoted(job)[1].price.usual.money.minor
    assert client.post(reverse("price", args=[job.number]), line).status_code == 302
    assert latest(job).reckoned["usual_minor"] == usual


def agreed(job: Job) -> Job:
    """Told at what it usually comes to, with what was reckoned, and agreed to."""
    basis, found = quoted(job)
    lines = offer_lines(basis, found, "not_more_than")
    told = agreeing.tell_price(job, lines, by=BY, reckoned=reckoned_with(basis, found))
    return agreeing.record_yes(told, how="by letter", by=BY)


def test_a_card_rings_before_the_agreed_sum_is_passed_and_one_press_tells_the_new_price(client: Client, job):
    job = agreed(job)
    assert reverse("quoting_on_card", args=[job.number]) in page(client, "job", job)
    calm = page(client, "quoting_on_card", job)
    assert "will pass" not in calm
    others = sorted(
        the_causes(job).faults.values(), key=lambda one: -max(m.minutes.likely for m in one.mends)
    )
    for fault in others[:4]:
        rule(job, fault.id, True, by=BY)
    rung = page(client, "quoting_on_card", job)
    assert "It will pass what was agreed" in rung
    assert "Found meanwhile" in rung
    form = rung[rung.index("<form") : rung.index("</form>")]
    sent = {name: form.split(f'name="{name}" value="')[1].split('"')[0] for name in ("expected", "why")}
    price = quoted(job)[1].price
    assert client.post(reverse("price_again", args=[job.number]), sent).status_code == 302
    job.refresh_from_db()
    assert job.price == price.not_more_than.money
    assert job.agreed_up_to is None, "a new price needs a new yes"
    assert page(client, "quoting_on_card", job).strip() == "", "nothing is agreed, so nothing is watched"


def test_all_there_may_be_rings_no_alarm_of_what_the_price_never_covered(client: Client, job):
    job = agreed(job)
    whole = page(client, "quoting", job, "?covers=all")
    assert "It will pass what was agreed" not in whole


def test_a_setting_that_changes_is_seen_at_once(client: Client, job):
    first = page(client, "quoting", job)
    change_settings({"risk_margin": 77}, by=BY)
    assert "77 %" not in first
    assert "77 %" in page(client, "quoting", job)


def test_what_a_price_is_reckoned_with_is_typed(client: Client):
    address = reverse("price_settings")
    form = client.get(address).context["form"]
    typed = {name: form[name].value() for name in form.fields}
    assert client.post(address, {**typed, "minimum_charge": "35.50", "price_step": "5"}).status_code == 302
    now = workshop()
    assert (now.minimum_charge, now.price_step) == (3550, 500)
    for amiss in ({"job_minutes_low": "90"}, {"price_step": ""}, {"price_step": "0"}, {"part_markup": "-1"}):
        assert client.post(address, {**typed, **amiss}).status_code == 422
    assert workshop() == now
    assert Money(3550, "EUR").figure("en_GB") in client.get(address).content.decode()
