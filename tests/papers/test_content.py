"""What stands on a paper, as data: it survives JSON, and what cannot stand on a paper cannot be built."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import FrozenInstanceError, fields, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from papers.samples import (
    BARE,
    BILL,
    CERTIFICATE,
    HOSTILE,
    LETTERS,
    PRICE,
    RECEIPT,
    RICH,
    euro,
    hostile,
    reading,
)
from pegwood.papers._typed import LONGEST_TEXT
from pegwood.papers.content import (
    KINDS,
    Agreed,
    BadContent,
    Care,
    Caution,
    Finding,
    Head,
    Limit,
    Line,
    PaperContent,
    Photo,
    Speed,
    Tag,
    Workshop,
    from_json,
    photos_of,
    to_json,
)
from pegwood.pricing.money import Money

EVERY = [*RICH.values(), *BARE.values(), *hostile("\n".join(HOSTILE)).values(), *hostile(LETTERS).values()]


@pytest.mark.parametrize("content", EVERY, ids=lambda content: content.kind)
def test_content_comes_back_from_json_as_it_went(content: PaperContent) -> None:
    assert from_json(to_json(content)) == content
    assert to_json(from_json(to_json(content))) == to_json(content)


@pytest.mark.parametrize("content", RICH.values(), ids=lambda content: content.kind)
def test_json_laid_out_by_a_database_gives_the_same_content(content: PaperContent) -> None:
    turned = json.dumps(json.loads(to_json(content)), indent=3, sort_keys=False, ensure_ascii=True)
    assert from_json(turned) == content


@given(st.text(max_size=200))
def test_any_story_comes_back_or_is_refused_in_one_line(story: str) -> None:
    said = ""
    try:
        content = replace(RECEIPT, story=story)
    except BadContent as refusal:
        said = str(refusal)
    else:
        assert from_json(to_json(content)) == content
    assert "\n" not in said


def test_a_whole_number_and_its_float_give_one_json() -> None:
    assert Limit(low_ev=-1, high_ev=1, whose="w", source="s", mark="practice") == Limit(
        low_ev=-1.0, high_ev=1.0, whose="w", source="s", mark="practice"
    )
    speed = Speed(marked="1", target_s=1)
    assert json.dumps(speed.target_s) == "1.0"


def test_there_are_the_seven_papers() -> None:
    assert list(KINDS) == [
        *("receipt", "condition", "certificate", "price", "bill", "care", "trays", "record"),
    ]
    assert set(RICH) == set(BARE) == set(KINDS)


def test_content_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        RECEIPT.story = "another"  # type: ignore[misc]


def test_it_names_every_picture_once_and_the_mark() -> None:
    named = photos_of(RICH["condition"])
    assert len(named) == len(set(named)) == 6
    assert named[0] == RICH["condition"].head.workshop.mark
    assert photos_of(BARE["bill"]) == ()


# --- refused when built ---------------------------------------------------------------------------------

HEAD: dict[str, Any] = {field.name: getattr(RECEIPT.head, field.name) for field in fields(RECEIPT.head)}
PILOT_LIMIT = Limit(low_ev=-0.3, high_ev=0.3, whose="the workshop's", source="usual", mark="practice")


@pytest.mark.parametrize(
    ("build", "names"),
    [
        (lambda: Workshop(name="  "), "Workshop.name"),
        (lambda: Workshop(name="x" * 121), "at most 120"),
        (lambda: Workshop(name="W", locale="xx_NOWHERE"), "Workshop.locale"),
        (lambda: Workshop(name="W", mark="../../etc/passwd"), "SHA-256"),
        (lambda: Tag(number="", what="", who=""), "Tag.number"),
        (lambda: Photo(file="A" * 64), "SHA-256"),
        (lambda: Photo(file="a" * 64, caption=3), "Photo.caption"),  # type: ignore[arg-type]
        (lambda: Caution(subject="", text=" "), "Caution.text"),
        (lambda: replace(RECEIPT, story="half \ud83d"), "character pair"),
        (lambda: replace(RECEIPT, story="null \0"), "NUL"),
        (lambda: replace(RECEIPT, story="x" * (LONGEST_TEXT + 1)), "characters"),
        (lambda: replace(RECEIPT, story=None), "Receipt.story"),
        (lambda: replace(RECEIPT, accessories=["a"]), "Expected a tuple"),
        (lambda: replace(RECEIPT, accessories=("a", 5)), "entry 2"),
        (lambda: replace(RECEIPT, accessories=("a",) * 401), "401 entries"),
        (lambda: replace(RECEIPT, head=None), "Receipt.head"),
        (lambda: replace(RECEIPT, promised_on="3 April"), "2026-03-04"),
        (lambda: replace(RECEIPT, promised_on="2026-02-30"), "2026-02-30"),
        (lambda: Head(**{**HEAD, "made_at": "2026-03-04T14:05:00"}), "Head.made_at"),
        (lambda: Head(**{**HEAD, "made_at": "yesterday"}), "Head.made_at"),
        (lambda: Finding(part=" ", condition="c"), "Finding.part"),
        (lambda: Finding(part="p", condition="c", grade=6), "Expected 0"),
        (lambda: Finding(part="p", condition="c", grade=True), "whole number"),
        (lambda: Finding(part="p", condition="c", outlook="perhaps"), "Expected one of"),  # type: ignore[arg-type]
        (lambda: Line(kind="gift", what="x", amount=euro(1)), "Line.kind"),  # type: ignore[arg-type]
        (lambda: Line(kind="part", what="x", amount=1.5), "Expected Money"),  # type: ignore[arg-type]
        (lambda: Line(kind="part", what="x", amount=euro(1), quantity="1,5"), "plain number"),
        (lambda: Line(kind="part", what="x", amount=euro(1), quantity="1e9"), "plain number"),
        (lambda: Line(kind="part", what="x", amount=euro(3), quantity="2", each=euro(1)), "0.02"),
        (lambda: replace(PRICE, lines=()), "at least one line"),
        (lambda: replace(PRICE, total=euro(14501)), "145.00 EUR, the sum of the lines"),
        (lambda: replace(PRICE, total=Money(14500, "GBP")), "one currency"),
        (lambda: replace(PRICE, up_to=euro(14499)), "below the total"),
        (lambda: replace(PRICE, up_to=Money(20000, "GBP")), "one currency"),
        (lambda: replace(BILL, agreed=Agreed(up_to=euro(14499))), "Ask the owner again"),
        (lambda: replace(BILL, paid=Money(1, "GBP")), "one currency"),
        (lambda: replace(BILL, head=replace(BILL.head, number="")), "Head.number"),
        (lambda: replace(CERTIFICATE, speeds=(), refused=()), "no reading at all"),
        (lambda: replace(CERTIFICATE, speeds=CERTIFICATE.speeds[:1] * 2), "twice"),
        (lambda: replace(CERTIFICATE, target="roughly"), "Certificate.target"),
        (lambda: Limit(low_ev=0.3, high_ev=-0.3, whose="w", source="s", mark="practice"), "lower one first"),
        (lambda: Limit(low_ev=None, high_ev=None, whose="w", source="s", mark="practice"), "one side"),
        (lambda: Limit(low_ev=-1, high_ev=1, whose="w", source="", mark="practice"), "Limit.source"),
        (lambda: Limit(low_ev=-1, high_ev=1, whose="w", source="s", mark="sure"), "Limit.mark"),  # type: ignore[arg-type]
        (lambda: Limit(low_ev=float("nan"), high_ev=1, whose="w", source="s", mark="seen"), "finite"),
        (lambda: Speed(marked="1/60", target_s=0), "target_s"),
        (lambda: Speed(marked="1/60" * 6, target_s=1 / 60), "at most 20"),
        (lambda: replace(reading(0.1, 0.02, 0.5, None), effective_u_s=0.0), "effective_u_s"),
        (lambda: replace(reading(0.1, 0.02, 0.5, None), effective_s=float("inf")), "finite"),
        (lambda: replace(reading(0.1, 0.02, 0.5, None), n=0), "Reading.n"),
        (lambda: replace(reading(0.1, 0.02, 0.5, None), efficiency=1.2), "efficiency"),
        (lambda: replace(reading(0.1, 0.02, 0.5, None), coverage_factor=0.5), "coverage_factor"),
        (lambda: Care(**{**vars(BARE["care"]), "guarantee_months": 0}), "guarantee_months"),
    ],
)
def test_what_cannot_stand_on_a_paper_is_refused_in_one_line(build: Any, names: str) -> None:
    with pytest.raises(BadContent) as refusal:
        build()
    assert names in str(refusal.value)
    assert "\n" not in str(refusal.value)
    assert len(str(refusal.value)) < 300


def test_an_error_of_the_wrong_sign_is_refused() -> None:
    slow = reading(0.4, 0.02, 0.5, None)
    with pytest.raises(BadContent, match=r"about \+0\.400 EV"):
        Speed(marked="1/2", target_s=0.5, left=replace(slow, error_ev=-0.4))


@pytest.mark.parametrize(
    ("error_ev", "verdicts"),
    [
        (0.0, {"within"}),
        (0.27, {"too close to call"}),
        (0.31, {"too close to call"}),
        (-0.31, {"too close to call"}),
        (0.5, {"outside"}),
        (-0.5, {"outside"}),
    ],
)
def test_a_verdict_that_does_not_follow_from_its_figures_is_refused(
    error_ev: float, verdicts: set[str]
) -> None:
    # JCGM 106:2012, 8.3 with a guard band of the expanded uncertainty, as the house keeps it (from memory)
    base = reading(error_ev, 0.02, 0.5, PILOT_LIMIT)
    for verdict in ("within", "outside", "too close to call", "no limit given"):
        said = replace(base, verdict=verdict)
        if verdict in verdicts:
            Speed(marked="1/2", target_s=0.5, left=said)
        else:
            with pytest.raises(BadContent, match="but the error lies between"):
                Speed(marked="1/2", target_s=0.5, left=said)


def test_a_verdict_without_a_limit_is_refused() -> None:
    with pytest.raises(BadContent, match="without a limit"):
        Speed(marked="1/2", target_s=0.5, left=replace(reading(0, 0.02, 0.5, None), verdict="within"))


def test_an_open_side_lets_everything_through_on_that_side() -> None:
    only_high = replace(PILOT_LIMIT, low_ev=None)
    assert Speed(marked="1/2", target_s=0.5, left=reading(-2.0, 0.02, 0.5, PILOT_LIMIT)).limit == PILOT_LIMIT
    Speed(
        marked="1/2",
        target_s=0.5,
        left=replace(reading(-2.0, 0.02, 0.5, None), verdict="within", limit=only_high),
    )


# --- refused when read ----------------------------------------------------------------------------------


def _read(change: Any) -> PaperContent:
    data = json.loads(to_json(RECEIPT))
    change(data)
    return from_json(json.dumps(data))


@pytest.mark.parametrize(
    ("change", "names"),
    [
        (lambda data: data.update(format=2), "newer Pegwood"),
        (lambda data: data.update(kind="letter"), "Unknown kind"),
        (lambda data: data.update(kind=["bill"]), "Unknown kind"),
        (lambda data: data.pop("kind"), "format, kind and content"),
        (lambda data: data.update(extra=1), "format, kind and content"),
        (lambda data: data["content"].pop("story"), "'story' is missing"),
        (lambda data: data["content"].update(colour="red"), "unknown field"),
        (lambda data: data["content"].update(photos={}), "Expected a list"),
        (lambda data: data["content"].update(head="x"), "Expected an object"),
        (lambda data: data["content"]["head"]["tag"].update(number=417), "Tag.number"),
    ],
)
def test_json_that_is_no_papers_content_is_refused_in_one_line(change: Any, names: str) -> None:
    with pytest.raises(BadContent) as refusal:
        _read(change)
    assert names in str(refusal.value)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "1", "[" * 100_000])
def test_text_that_is_no_json_object_is_refused(text: str) -> None:
    with pytest.raises(BadContent):
        from_json(text)


@pytest.mark.parametrize(
    "amount", [1.5, {"minor": 1}, {"minor": 1.5, "currency": "EUR"}, {"minor": 1, "currency": "?"}]
)
def test_json_with_an_amount_that_is_none_is_refused(amount: object) -> None:
    data = json.loads(to_json(PRICE))
    data["content"]["total"] = amount
    with pytest.raises(BadContent, match="total"):
        from_json(json.dumps(data))


def test_what_it_was_made_with_may_stand_beside_the_content() -> None:
    data = {**json.loads(to_json(RECEIPT)), "made_with": {"typst": "0"}}
    assert from_json(json.dumps(data)) == RECEIPT


def test_reading_a_papers_content_needs_neither_typesetter_nor_book() -> None:
    program = (
        "import sys\n"
        "import pegwood.papers, pegwood.papers.view, pegwood.papers.figures\n"
        "heavy = {'typst', 'django', 'PIL', 'numpy'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True)
