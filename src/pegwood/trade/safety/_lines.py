"""Figures of a substance as lines and as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pegwood.trade.answers import Statement
from pegwood.trade.grounds import Ground, joined, sourced
from pegwood.trade.numbers import celsius, per_cent
from pegwood.trade.safety.figures import QUANTITIES, Careful, Figures, Group, careful
from pegwood.trade.safety.vapour import SHARES, Vapour, breathed, vapour

ROOM_C = 20.0
GAS = Ground("the ideal gas law at 20 degrees C and one atmosphere", "seen")
KEPT = Ground("common bench practice: stay below a quarter of the lower limit, better a tenth", "practice")

_IARC = {
    "1": "causes cancer",
    "2A": "probably causes cancer",
    "2B": "possibly causes cancer",
    "3": "not classifiable, which is not the same as harmless",
    "4": "probably causes none",
}
_LIMITS = (
    ("twa", "over a working day"),
    ("stel", "for 15 minutes"),
    ("ceiling", "never to be passed"),
)


def millilitres(volume_m3: float) -> str:
    """A volume as people read it."""
    return f"{volume_m3 * 1e6:.2g} ml"


def chosen(figures: Figures | None, quantity: str) -> Careful | None:
    """The careful figure of a quantity, or None."""
    return careful(getattr(figures, quantity), quantity) if figures else None


def fire_lines(figures: Figures) -> tuple[Statement, ...]:
    """Flash point, explosive limits, autoignition, boiling point and what stands over the liquid."""
    lines = [
        _temperature(figures, "flash_k", "flash point"),
        _explosive(figures),
        _over(vapour(figures)),
        _temperature(figures, "autoignition_k", "lights by itself at"),
        _temperature(figures, "boiling_k", "boils at"),
    ]
    return tuple(line for line in lines if line)


def air_lines(figures: Figures) -> tuple[Statement, ...]:
    """How much may evaporate, exposure limits, cancer."""
    lines = [_to_breathe(figures), _amount(vapour(figures))]
    skin = chosen(figures, "skin")
    for name, when in _LIMITS:
        for unit, told in (("ppm", _ppm), ("kg_m3", _mg_m3)):
            if limit := chosen(figures, f"{name}_{unit}"):
                lines.append(
                    Statement(
                        label=f"limit {when}",
                        says=f"{told(limit.value)}{_noted(limit)}.",
                        grounds=limit.grounds,
                    )
                )
    if skin:
        lines.append(
            Statement(
                label="skin", says=f"It also goes in through the skin{_noted(skin)}.", grounds=skin.grounds
            )
        )
    lines += [cancer_line(group) for group in figures.carcinogen]
    return tuple(line for line in lines if line)


def cancer_line(group: Group) -> Statement:
    """What IARC says, in words."""
    return Statement(
        label="cancer",
        says=f"IARC group {group.value}, {_IARC[group.value]}: {group.about}.",
        grounds=group.grounds,
    )


def _temperature(figures: Figures, quantity: str, label: str) -> Statement | None:
    figure = chosen(figures, quantity)
    if figure is None:
        return None
    lowest, highest = figure.spread
    spread = ""
    if celsius(lowest) != celsius(highest):
        spread = f"; data sets give {celsius(lowest)} to {celsius(highest)}"
    return Statement(
        label=label, says=f"{celsius(figure.value)}{_noted(figure)}{spread}.", grounds=figure.grounds
    )


def _explosive(figures: Figures) -> Statement | None:
    lower, upper = chosen(figures, "lower_fraction"), chosen(figures, "upper_fraction")
    if lower is None:
        return None
    grounds = joined(lower.grounds, upper.grounds if upper else ())
    to = f" to {per_cent(upper.value, 3)}" if upper else " upwards, the upper limit is not known"
    least, most = lower.spread
    spread = (
        f"; data sets put the lower limit at {per_cent(least, 3)} to {per_cent(most, 3)}"
        if least != most
        else ""
    )
    return Statement(
        label="explosive in air",
        says=f"from {per_cent(lower.value, 3)}{to} of vapour{_noted(lower)}{spread}.",
        grounds=grounds,
    )


def _over(one: Vapour | None) -> Statement | None:
    if one is None or one.saturated_fraction is None or one.over is None:
        return None
    says = {
        "inside": "inside the explosive range: the air in a half-full jar or tin explodes.",
        "above": "richer than the explosive range; a little further off, or as the jar empties, it "
        "passes through it.",
        "below": "below the explosive range, until it is warmed, sprayed or soaked into a rag.",
    }[one.over]
    return Statement(
        label="over the liquid at 20 °C",
        says=f"{per_cent(one.saturated_fraction, 3)} of vapour, {says}",
        grounds=(*one.grounds, GAS),
    )


def _amount(one: Vapour | None) -> Statement | None:
    if one is None or one.to_lower_limit is None or one.over == "below":
        return None
    quarter, tenth = (millilitres(share * one.to_lower_limit) for share in SHARES)
    return Statement(
        label="in 1 m³ of still air",
        says=(
            f"{quarter} evaporated make a quarter of the explosive limit: stay below, for fire. "
            f"{tenth}, a tenth, is better."
        ),
        grounds=(*one.grounds, GAS, KEPT),
    )


def _to_breathe(figures: Figures) -> Statement | None:
    if (one := breathed(figures)) is None:
        return None
    when = dict(_LIMITS)[one.limit]
    return Statement(
        label="to breathe",
        says=f"{millilitres(one.liquid)} evaporated into 1 m³ of still air reach the limit {when}.",
        grounds=joined(one.grounds, (GAS,)),
    )


def _noted(figure: Careful) -> str:
    """What narrows the figure, and that only a model gives it where that is so."""
    model = "by a model only" if "model" in figure.figure.source else ""
    notes = ", ".join(note for note in (figure.figure.note, model) if note)
    return f" ({notes})" if notes else ""


def _ppm(value: float) -> str:
    return f"{value:g} ppm"


def _mg_m3(value: float) -> str:
    return f"{float(f'{value * 1e6:.3g}'):g} mg/m³"


def as_data(figures: Figures | None) -> Mapping[str, Any]:
    """Every quantity with the careful figure, the spread of the data sets and its sources, in SI."""
    if figures is None:
        return {}
    told: dict[str, Any] = {}
    for quantity in QUANTITIES:
        if figure := chosen(figures, quantity):
            lowest, highest = figure.spread
            told[quantity] = sourced(figure.grounds, value=figure.value, lowest=lowest, highest=highest)
    if figures.carcinogen:
        told["carcinogen"] = [
            sourced(one.grounds, group=one.value, about=one.about) for one in figures.carcinogen
        ]
    one = vapour(figures)
    if one and one.to_lower_limit is not None:
        told["ventilation"] = sourced(
            (*one.grounds, GAS, KEPT),
            quarter_of_lower_limit_m3_m3=one.to_lower_limit * SHARES[0],
            tenth_of_lower_limit_m3_m3=one.to_lower_limit * SHARES[1],
        )
    if air := breathed(figures):
        told["to_breathe"] = sourced(
            joined(air.grounds, (GAS,)), limit=air.limit, liquid_to_limit_m3_m3=air.liquid
        )
    if one and one.saturated_fraction is not None:
        told["over_the_liquid"] = sourced(
            (*one.grounds, GAS), saturated_fraction=one.saturated_fraction, explosive_range=one.over
        )
    return told
