"""The look: its colours can be read, its manners are kept, its parts say what they take."""

import re
from pathlib import Path

import pytest

import pegwood.web

WEB = Path(pegwood.web.__file__).parent
CSS = (WEB / "static/bench/bench.css").read_text("utf-8")
TEMPLATES = sorted((WEB / "templates").rglob("*.html"))
STYLES = sorted((WEB / "static/bench").glob("*.css"))


def tokens(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6})", block))


LIGHT = tokens(CSS.split("@media (prefers-color-scheme: dark)")[0])
DARK = {**LIGHT, **tokens(CSS.split("@media (prefers-color-scheme: dark)")[1].split("\n}")[0])}


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it (from memory of its glossary)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    dark, light = sorted([luminance(one), luminance(other)])
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_reckoned_as_the_standard_reckons_it():
    # Known pairs, from memory: black on white 21:1; #767676 is the lightest grey that reaches 4.5:1 on white.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


TEXT_ON = [
    ("ink", "paper"),
    ("ink", "sheet"),
    ("ink", "manila"),
    ("ink", "brass-soft"),
    ("ink", "oxide-soft"),
    ("ink-2", "paper"),
    ("ink-2", "sheet"),
    ("ink-2", "manila"),
    ("ink-2", "brass-soft"),
    ("brass", "paper"),
    ("brass", "sheet"),
    ("sheet", "brass"),
    ("verdigris", "verdigris-soft"),
    ("oxide", "oxide-soft"),
    ("slate", "slate-soft"),
]


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(("text", "ground"), TEXT_ON)
def test_text_can_be_read_on_its_ground(scheme, text, ground):
    assert contrast(scheme[text], scheme[ground]) >= 4.5  # WCAG 2.2, 1.4.3, level AA


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "sheet"])
def test_the_edge_of_a_field_can_be_seen(scheme, ground):
    assert contrast(scheme["edge"], scheme[ground]) >= 3  # WCAG 2.2, 1.4.11
    assert contrast(scheme["brass"], scheme[ground]) >= 3


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_no_sheet_of_styles_casts_a_shadow_or_runs_one_colour_into_another(path):
    assert re.findall(r"(?:box|text|drop)-shadow\s*[:(]|gradient\(", path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_only_verdicts_and_cautions_wear_the_colours_of_verdicts(path):
    may = (
        "v.in",
        "v.out",
        "v.near",
        "caution",
        ":root",
        "band",
        "chart",
        "legend",
        "curve",
        "hollow",
        "solid",
    )
    for rule in re.findall(r"([^{}]+)\{([^{}]*)\}", path.read_text("utf-8")):
        selector, body = rule[0].strip(), rule[1]
        if re.search(r"var\(--(?:verdigris|oxide|slate)", body):
            assert any(name in selector for name in may), selector


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_nothing_on_screen_is_set_smaller_than_it_can_be_read(path):
    if path.name == "print.css":
        return
    sizes = [
        float(size) for size in re.findall(r"font(?:-size)?:[^;{}]*?\b([\d.]+)px", path.read_text("utf-8"))
    ]
    assert min([*sizes, 17]) >= 13


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_every_template_says_what_context_it_takes(path):
    assert "{% comment %}" in path.read_text("utf-8")[:200]


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_nothing_runs_that_is_written_into_a_page(path):
    text = re.sub(r"\{% comment %\}.*?\{% endcomment %\}", "", path.read_text("utf-8"), flags=re.DOTALL)
    assert re.findall(r"<script(?![^>]*\bsrc=)[^>]*>", text) == []
    assert re.findall(r"\son[a-z]+\s*=", re.sub(r"\{%.*?%\}", "", text)) == []
    assert "javascript:" not in text
