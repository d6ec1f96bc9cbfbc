"""What will be printed, word by word, before any ink."""

from __future__ import annotations

import json
import string
from dataclasses import replace
from typing import Any

import pytest

from papers.samples import (
    BARE,
    BILL,
    CARE,
    CERTIFICATE,
    CONDITION,
    HOSTILE,
    LETTERS,
    PRICE,
    RECEIPT,
    RICH,
    SHOP,
    WORKSHOP_LIMIT,
    euro,
    hostile,
    reading,
)
from pegwood.book.models.bench import GRADES
from pegwood.papers.content import PaperContent, Receipt, Speed, to_json
from pegwood.papers.view import fingerprint, view
from pegwood.papers.words import ENGLISH, words


def texts(value: Any) -> list[str]:
    """Every text in a view, the fixed words left out."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [text for key, entry in value.items() if key != "w" for text in texts(entry)]
    return [text for entry in value for text in texts(entry)] if isinstance(value, list) else []


def said(content: PaperContent) -> str:
    return "\n".join(texts(view(content)))


@pytest.mark.parametrize("content", [*RICH.values(), *BARE.values()], ids=lambda content: content.kind)
def test_every_view_is_plain_json(content: PaperContent) -> None:
    assert json.loads(json.dumps(view(content), allow_nan=False)) == view(content)


@pytest.mark.parametrize("content", [*RICH.values(), *BARE.values()], ids=lambda content: content.kind)
def test_no_word_is_left_with_its_blanks_unfilled(content: PaperContent) -> None:
    assert not [text for text in texts(view(content)) if "{" in text or "}" in text]


@pytest.mark.parametrize("content", hostile("\n".join(HOSTILE)).values(), ids=lambda content: content.kind)
def test_text_of_people_reaches_the_template_unchanged(content: PaperContent) -> None:
    together = said(content)
    for line in HOSTILE:
        for part in line.split("\n"):
            assert part in together


def test_a_sign_without_letter_is_named_at_the_end_of_the_sheet() -> None:
    shown = view(hostile(LETTERS)["receipt"])
    assert "U+5C71" in shown["missing"]
    assert "U+1F44D" in shown["missing"]
    assert view(RECEIPT)["missing"] == ""


def test_two_contents_bear_two_fingerprints() -> None:
    assert fingerprint(RECEIPT) == fingerprint(RECEIPT)
    assert fingerprint(RECEIPT) != fingerprint(replace(RECEIPT, story="another"))
    assert view(RECEIPT)["fingerprint"] == fingerprint(RECEIPT)
    assert len(fingerprint(RECEIPT)) == 12
    assert to_json(RECEIPT)


# --- words ----------------------------------------------------------------------------------------------


def test_every_language_says_everything() -> None:
    assert words("en_GB") is ENGLISH
    assert words("nl-NL").keys() == ENGLISH.keys()
    assert all(isinstance(word, str) for word in ENGLISH.values())
    for word in ENGLISH.values():
        list(string.Formatter().parse(word))  # a lone brace would raise


def test_grades_mean_what_they_mean_in_the_book() -> None:
    assert {grade: ENGLISH[f"grade.{grade}"] for grade in GRADES} == GRADES


# --- receipt, report, care ------------------------------------------------------------------------------


def test_a_receipt_says_what_was_handed_in_and_what_happens_next() -> None:
    shown = view(RECEIPT)
    assert shown["accessories"] == ["leather case, strap torn", "lens cap", "yellow filter, 32 mm, in a tin"]
    assert shown["promised"] == "3 April 2026"
    assert len(shown["next"]) == 4
    assert view(replace(RECEIPT, next_steps=("We write to you.",)))["next"] == ["We write to you."]
    assert "312" in view(replace(RECEIPT, comeback_of="312"))["comeback"]


def test_a_bare_receipt_says_so_and_promises_nothing() -> None:
    shown = view(BARE["receipt"])
    assert shown["accessories"] == ["nothing but the camera"]
    assert shown["promised"] == shown["comeback"] == ""
    assert shown["camera"] == shown["photos"] == []


def test_dates_are_written_as_the_country_writes_them() -> None:
    dutch = replace(RECEIPT.head, workshop=replace(SHOP, locale="nl_NL"))
    assert view(replace(RECEIPT, head=dutch))["promised"] == "3 april 2026"


def test_a_report_counts_and_explains_its_grades() -> None:
    shown = view(CONDITION)
    assert shown["counts"] == "6 findings, 3 to mend, 2 can stay"
    # look.md: dot, triangle and ring mean the three verdicts and nothing else
    assert not any("shape" in finding for finding in shown["findings"])
    assert shown["findings"][1]["grade_means"] == "heavy"
    assert shown["findings"][5]["grade"] is None
    assert shown["looked_over"] == "Looked over by Joos Verwey, 3 March 2026"
    assert view(replace(CONDITION, findings=CONDITION.findings[5:]))["counts"] == "1 finding"


def test_a_guarantee_runs_to_a_day_or_from_a_day_or_is_not_given() -> None:
    assert (view(CARE)["until"], view(CARE)["given"]) == ("until", "2 October 2026")
    months = view(replace(CARE, guarantee_until=None, guarantee_months=6))
    assert (months["until"], months["given"]) == ("", "6 months from the day the camera is fetched")
    assert view(BARE["care"])["given"] == ""


# --- sums -----------------------------------------------------------------------------------------------


def test_a_price_shows_its_total_and_the_sum_beyond_which_it_asks_again() -> None:
    shown = view(PRICE)
    assert (shown["total"], shown["tag_sum"], shown["up_to"]) == ("€145.00", "€145.00", "€180.00")
    assert "up to €180.00 without asking again" in shown["slip"]
    assert view(replace(PRICE, up_to=None))["up_to"] == "€145.00"
    assert shown["taxes_included"][0] == {"text": "of which VAT 21 % on €119.83", "amount": "€25.17"}
    assert [group["name"] for group in shown["groups"]] == ["Labour", "Parts", "Other"]


def test_lines_of_one_kind_stand_together_in_the_order_they_were_written() -> None:
    mixed = replace(PRICE, lines=PRICE.lines[::-1])
    groups = view(mixed)["groups"]
    assert [group["name"] for group in groups] == ["Labour", "Parts", "Other"]
    assert [line["what"][:8] for line in groups[0]["lines"]] == ["Bellows:", "Shutter:"]


def test_a_tax_on_top_stands_between_the_lines_and_the_total() -> None:
    on_top = replace(PRICE.taxes[0], included=False, base=euro(14500), amount=euro(3045))
    shown = view(replace(PRICE, taxes=(on_top,), total=euro(17545), up_to=None))
    assert shown["subtotal"] == "€145.00"
    assert shown["taxes_added"] == [{"text": "VAT 21 % on €145.00", "amount": "€30.45"}]
    assert shown["total"] == "€175.45"


@pytest.mark.parametrize(
    ("paid", "owed_word", "owed", "full"),
    [
        (None, "Still to pay", "€145.00", False),
        (5000, "Still to pay", "€95.00", False),
        (14500, "Still to pay", "€0.00", True),
        (15000, "Paid too much; we owe you", "€5.00", False),
    ],
)
def test_a_bill_says_what_is_still_to_pay(paid: int | None, owed_word: str, owed: str, full: bool) -> None:
    shown = view(replace(BILL, paid=None if paid is None else euro(paid)))
    assert (shown["owed_word"], shown["owed"], shown["paid_full"]) == (owed_word, owed, full)
    assert bool(shown["pay_to"]) == bool(shown["due"]) == (paid is None or paid < 14500)


def test_a_bill_repeats_what_was_agreed() -> None:
    assert view(BILL)["agreed"] == "up to €180.00, on 6 March 2026, by telephone"
    assert view(BILL)["tag_note"] == "agreed up to €180.00"


# --- certificate ----------------------------------------------------------------------------------------


def test_a_reading_stands_with_its_uncertainty_verdict_and_firings() -> None:
    rows = view(CERTIFICATE)["speeds"]
    left = rows[6]["readings"][1]
    assert (rows[6]["marked"], rows[6]["target"]) == ("1/100", "7.813 ms")
    assert left["time"] == "8.20"
    assert left["time_u"] == "± 0.15 ms"
    assert (left["error"], left["error_u"]) == ("+0.07", "± 0.03")
    assert (left["shape"], left["verdict"], left["n"], left["spread"]) == ("dot", "within", "5", "0.06")
    assert rows[2]["readings"][0]["side"] == "left"


def test_each_verdict_has_its_own_shape() -> None:
    unjudged = Speed(marked="1/500", target_s=1 / 500, left=reading(0.1, 0.02, 1 / 500, None))
    shown = view(replace(CERTIFICATE, speeds=(*CERTIFICATE.speeds, unjudged)))
    assert [(verdict["shape"], verdict["word"]) for verdict in shown["verdicts"]] == [
        ("dot", "within"),
        ("triangle", "outside"),
        ("ring", "too close to call"),
        ("dash", "no limit given"),
    ]


def test_each_limit_is_named_with_whose_it_is_and_what_stands_behind_it() -> None:
    lines = view(CERTIFICATE)["limits"]
    assert len(lines) == 2
    assert lines[0].startswith(
        "±\u00a00.33 EV for 1, 1/2, 1/5, 1/10, 1/25, 1/50, 1/100: the workshop's own limit"
    )
    assert "common practice, no written source" in lines[0]
    assert lines[1].startswith("±\u00a00.5 EV for 1/250")
    (bare,) = view(BARE["certificate"])["limits"]
    assert bare == "No limit is given for any speed; the readings stand without a verdict."


@pytest.mark.parametrize(
    ("low", "high", "words_of_it"),
    [
        (-0.3333, 0.3333, "±\u00a00.33 EV"),
        (-0.322, 0.263, "−0.32 … +0.26 EV"),
        (None, 0.5, "not above +0.5 EV"),
        (-0.5, None, "not below −0.5 EV"),
    ],
)
def test_a_limit_may_be_lopsided_or_open(low: float | None, high: float | None, words_of_it: str) -> None:
    limit = replace(WORKSHOP_LIMIT, low_ev=low, high_ev=high)
    base = replace(reading(0.0, 0.02, 0.5, None), limit=limit, verdict="within")
    shown = view(replace(CERTIFICATE, speeds=(Speed(marked="1/2", target_s=0.5, left=base),)))
    assert shown["limits"][0].startswith(words_of_it)
    (row,) = shown["chart"]["rows"]
    assert row["band"] == [
        -shown["chart"]["reach"] if low is None else low,
        shown["chart"]["reach"] if high is None else high,
    ]


def test_the_chart_holds_every_reading_and_an_arrow_for_what_lies_beyond_it() -> None:
    stuck = Speed(marked="1", target_s=1.0, found=reading(3.4, 0.05, 1.0, WORKSHOP_LIMIT))
    hasty = Speed(marked="1/2", target_s=0.5, found=reading(-3.4, 0.05, 0.5, WORKSHOP_LIMIT))
    chart = view(replace(CERTIFICATE, speeds=(stuck, hasty)))["chart"]
    assert chart["reach"] == 2.0
    slow, fast = (row["found"] for row in chart["rows"])
    assert (slow["beyond"], slow["figure"], slow["at"]) == ("right", "+3.40", 2.0)
    assert (fast["beyond"], fast["figure"], fast["at"]) == ("left", "−3.40", -2.0)
    for row in view(CERTIFICATE)["chart"]["rows"]:
        for mark in (row["found"], row["left"]):
            assert mark is None or -2 <= mark["low"] <= mark["at"] <= mark["high"] <= 2
            assert mark is None or mark["beyond"] == ""


def test_the_budget_names_where_each_component_weighs_least_and_most() -> None:
    budget = {line["name"]: line for line in view(CERTIFICATE)["budget"]}
    assert next(iter(budget)) == "repeatability"
    assert budget["repeatability"]["most"] == "3.7\u00a0% at 1/250"
    assert budget["clock"]["least"] == budget["clock"]["most"] == "0.0020\u00a0%"


def test_gear_past_its_check_is_called_so() -> None:
    gate, recorder, lamp = view(CERTIFICATE)["gear"]
    assert gate == {
        "what": "Light gate, silicon diode, DC coupled",
        "serial": "serial no. LG-02",
        "notes": "checked 12 January 2026; due again 12 January 2027",
    }
    assert "the check was due 20 January 2026, before this measurement" in recorder["notes"]
    assert lamp["notes"] == "direct current; no check is on record"


def test_a_certificate_tells_what_was_not_measured_and_why() -> None:
    (refused,) = view(CERTIFICATE)["refused"]
    assert refused["line"].startswith("1/5, as found: the shutter did not open")


def test_nothing_is_passed_or_failed_against_the_standard() -> None:
    # ISO 516:2019 calls its tolerances target values and no inspection standard (seen: sample of its scope)
    assert "Nothing here is passed or failed against it" in ENGLISH["method.standard"]
    everything = " ".join(ENGLISH.values()).lower()
    assert "iso 516 limit" not in everything
    assert "conforms to iso" not in everything


def test_a_paper_knows_its_own_kind() -> None:
    assert isinstance(RICH["receipt"], Receipt)
    assert {kind: view(content)["title"] for kind, content in RICH.items()}["care"] == "Care and guarantee"


def test_a_component_that_weighs_on_nothing_is_not_given_eight_noughts() -> None:
    speed = CERTIFICATE.speeds[0]
    assert speed.left is not None
    (quiet,) = (share for share in speed.left.budget if share.name == "clock")
    still = replace(speed.left, budget=(replace(quiet, u_s=1e-10),))
    shown = view(replace(CERTIFICATE, speeds=(replace(speed, found=None, left=still),)))
    assert shown["budget"][0]["most"] == "< 0.0010\u00a0%"


def test_how_a_component_came_about_is_told_only_if_it_is_so_for_every_reading() -> None:
    first, second = CERTIFICATE.speeds[:2]
    assert second.left is not None
    other = replace(second.left, budget=tuple(replace(s, how=f"{s.how}, at 1/2") for s in second.left.budget))
    shown = view(
        replace(CERTIFICATE, speeds=(replace(first, found=None), replace(second, found=None, left=other)))
    )
    assert {line["how"] for line in shown["budget"]} == {""}


def test_a_spread_too_small_to_show_is_not_called_nothing() -> None:
    speed = CERTIFICATE.speeds[0]
    assert speed.left is not None
    for spread, shown in ((0.003, "< 0.01"), (0.0, "0.00"), (0.012, "0.01"), (None, "")):
        steady = replace(speed, found=None, left=replace(speed.left, spread_ev=spread))
        assert view(replace(CERTIFICATE, speeds=(steady,)))["speeds"][0]["readings"][0]["spread"] == shown


def test_the_instruments_own_words_on_each_method_are_repeated_once() -> None:
    def said(**changes: str) -> list[str]:
        return view(replace(CERTIFICATE, **changes))["method"]

    assert said(method="Light gate, sensor DC-coupled") == ["Light gate, sensor DC-coupled."]
    assert said() == ["Light gate.", "The sensor is coupled DC."]
    assert said(method="Light gate, DC.\nSound.") == ["Light gate, DC.", "Sound."]
    assert said(method="", coupling="") == []
