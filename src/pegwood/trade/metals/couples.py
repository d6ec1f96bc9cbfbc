"""
Two metals that touch: which one is eaten, and whether the place allows it.

Method: the difference of two anodic indices (volts below gold) against the largest difference accepted for
an environment; the rule is the table's own, "no bigger than". The indices are printed to 0.05 V and the
lists differ, so each is taken to lie anywhere (a rectangle) between its bounds widened by half of that step;
the two are joined as the GUM (JCGM 100:2008, 4.3.7 and 5.1.2) says, coverage factor 2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.materials import MATERIALS, Material
from pegwood.trade.metals._tables import (
    ANODIC_INDEX,
    ENVIRONMENTS,
    RULES,
    SEAWATER,
    AnodicIndex,
    Environment,
    Rule,
    Seawater,
)
from pegwood.trade.names import find
from pegwood.trade.reference import Reference

#: The step the indices are printed in, [V].
STEP_V = 0.05
COVERAGE = 2.0
#: Differences of printed figures are printed figures: what floats add to them is taken off.
DIGITS = 6

CoupleVerdict = Literal["within", "too close to call", "outside"]
Agreement = Literal["agrees", "disagrees", "cannot tell"]


@dataclass(frozen=True, kw_only=True)
class Judged:
    """
    A couple in one environment.

    Attributes
    ----------
    environment : Environment
        Where, with the limit, [V].
    verdict : str
        ``"within"``: no bigger than the limit; ``"too close to call"``: over it by less than the indices are
        uncertain by; ``"outside"``.
    little_to_spare : bool
        Within, but by less than the indices are uncertain by.
    uncertainty_v : float
        Of the difference towards the limit, expanded, [V].
    """

    environment: Environment
    verdict: CoupleVerdict
    little_to_spare: bool
    uncertainty_v: float


@dataclass(frozen=True, kw_only=True)
class OtherSeries:
    """Whether another list puts the two in the same order; of that list only the order is used."""

    name: str
    agreement: Agreement
    grounds: Grounds


@dataclass(frozen=True, kw_only=True)
class Couple:
    """
    Two metals that touch.

    Attributes
    ----------
    a, b : Material
        As asked for.
    counts_a, counts_b : Material
        The metal whose index counts: itself, or the metal under an insulating film that is scratched.
    films : tuple of AnodicIndex
        The insulating films among the two: no couple while they are whole.
    anode, cathode : Material or None
        Which is eaten and which is spared, of those that count; None where the two indices are the same.
    anode_sure : bool
        Whether the difference is bigger than its own uncertainty.
    difference_v, uncertainty_v : float
        Of the indices; expanded uncertainty (k = 2) to the side where it is larger, [V].
    judged : tuple of Judged
        For every environment, the harshest first.
    asked : Judged
        The environment that was asked about.
    area_ratio : float or None
        A_cathode / A_anode.
    beneath : tuple of (Material, tuple of Material)
        A finish and the metals it may lie on that are baser than it: small anodes in its pores.
    sacrificed : tuple of Material
        Finishes that are baser than what they usually lie on: they are eaten first and shield it.
    others : tuple of OtherSeries
        Cross-checks of the order.
    """

    a: Material
    b: Material
    counts_a: Material
    counts_b: Material
    index_a: AnodicIndex
    index_b: AnodicIndex
    films: tuple[AnodicIndex, ...]
    anode: Material | None
    cathode: Material | None
    anode_sure: bool
    difference_v: float
    uncertainty_v: float
    judged: tuple[Judged, ...]
    asked: Judged
    area_ratio: float | None
    beneath: tuple[tuple[Material, tuple[Material, ...]], ...]
    sacrificed: tuple[Material, ...]
    others: tuple[OtherSeries, ...]
    measures: tuple[Rule, ...]
    grounds: Grounds


def couple(
    reference: Reference, a: str, b: str, environment: str = "normal", area_ratio: float | None = None
) -> Couple:
    """
    Judge two metals or finishes that touch.

    Parameters
    ----------
    a, b : str
        Names of metals, finishes or coatings.
    environment : str
        "harsh", "normal", "controlled", or an everyday name for one ("salt", "cupboard", "dry cabinet").
    area_ratio : float, optional
        Wetted area of the nobler metal over that of the baser one, A_cathode / A_anode.

    Raises
    ------
    UnknownWord
        If a name stands in no table.
    ValueError
        If one of the two is no metal, a film hides an unknown metal, or the ratio is not above zero.
    """
    if area_ratio is not None and not (math.isfinite(area_ratio) and area_ratio > 0):
        raise ValueError(
            f"The area ratio is {area_ratio:g}. Expected the nobler metal's area over the baser one's, "
            "above zero, such as 0.1."
        )
    named_a, named_b = (find(reference.rows(MATERIALS), word, "material") for word in (a, b))
    row_a, row_b = index_of(reference, named_a), index_of(reference, named_b)
    counts_a, counts_b = _counting(reference, row_a), _counting(reference, row_b)
    difference = round(counts_a.volts - counts_b.volts, DIGITS)
    base_first = (counts_a, counts_b) if difference > 0 else (counts_b, counts_a)
    down, up = _uncertainty(*base_first)
    metals = reference.rows(MATERIALS)
    pair = metals[counts_a.material], metals[counts_b.material]
    base, noble = (pair if difference > 0 else pair[::-1]) if difference else (None, None)
    place = find(reference.rows(ENVIRONMENTS), environment, "environment")
    judged = tuple(
        _judge(one, abs(difference), down, up)
        for one in sorted(reference.rows(ENVIRONMENTS).values(), key=lambda one: one.limit_v)
    )
    asked = next(one for one in judged if one.environment.key == place.key)
    beneath, sacrificed = _basis(reference, (counts_a, counts_b))
    return Couple(
        a=named_a,
        b=named_b,
        counts_a=pair[0],
        counts_b=pair[1],
        index_a=counts_a,
        index_b=counts_b,
        films=tuple(row for row in (row_a, row_b) if row.insulates),
        anode=base,
        cathode=noble,
        anode_sure=abs(difference) > down and not base_first[0].passive,
        difference_v=abs(difference),
        uncertainty_v=max(down, up),
        judged=judged,
        asked=asked,
        area_ratio=area_ratio,
        beneath=beneath,
        sacrificed=sacrificed,
        others=_others(reference, base, noble),
        measures=_measures(reference, asked, area_ratio),
        grounds=joined(counts_a.grounds, counts_b.grounds, place.grounds),
    )


def index_of(reference: Reference, material: Material) -> AnodicIndex:
    """
    The anodic index of a metal or finish.

    Raises
    ------
    ValueError
        If the material is no metal.
    """
    if row := reference.rows(ANODIC_INDEX).get(material.key):
        return row
    raise ValueError(
        f"{material.name}: that is {material.kind}, no metal, and makes no couple. "
        "Ask for two metals or finishes."
    )


def _counting(reference: Reference, row: AnodicIndex) -> AnodicIndex:
    """The row whose index counts: of an insulating film, the metal under it."""
    if not row.insulates:
        return row
    if not row.under:
        raise ValueError(
            f"{row.material}: {row.reason}, and then there is no couple. Ask for the metal under it: "
            "that is what counts where the film is scratched."
        )
    return reference.rows(ANODIC_INDEX)[row.under]


def _uncertainty(base: AnodicIndex, noble: AnodicIndex) -> tuple[float, float]:
    """
    Expanded uncertainty of the difference of two indices towards a smaller and a larger one, [V].

    The bounds are not the same on both sides: that stainless steel may be nobler than its index does not make
    its couple with aluminium any milder.
    """
    smaller = (base.below_v(STEP_V), noble.above_v(STEP_V))
    larger = (base.above_v(STEP_V), noble.below_v(STEP_V))
    down, up = (COVERAGE * math.hypot(*side) / math.sqrt(3) for side in (smaller, larger))
    return down, up


def _judge(environment: Environment, difference: float, down: float, up: float) -> Judged:
    over = round(difference - environment.limit_v, DIGITS)
    verdict: CoupleVerdict = "within" if over <= 0 else "too close to call" if over <= down else "outside"
    return Judged(
        environment=environment,
        verdict=verdict,
        little_to_spare=verdict == "within" and -over < up,
        uncertainty_v=up if over <= 0 else down,
    )


def _basis(
    reference: Reference, rows: tuple[AnodicIndex, ...]
) -> tuple[tuple[tuple[Material, tuple[Material, ...]], ...], tuple[Material, ...]]:
    """What lies under the finishes: baser metals in their pores, nobler ones that they shield."""
    metals, indices = reference.rows(MATERIALS), reference.rows(ANODIC_INDEX)
    beneath, sacrificed = [], []
    for row in dict.fromkeys(rows):
        if baser := tuple(metals[key] for key in row.over if indices[key].volts > row.volts):
            beneath.append((metals[row.material], baser))
        elif row.over:
            sacrificed.append(metals[row.material])
    return tuple(beneath), tuple(sacrificed)


def _others(reference: Reference, base: Material | None, noble: Material | None) -> tuple[OtherSeries, ...]:
    if base is None or noble is None:
        return ()
    rows = reference.rows(SEAWATER)
    first, second = rows.get(base.key), rows.get(noble.key)
    if first is None or second is None:
        return ()
    grounds = joined(first.grounds, second.grounds)
    return (
        OtherSeries(
            name="list of sea-water potentials (ASTM G82)",
            agreement=_by_potential(first, second),
            grounds=grounds,
        ),
        OtherSeries(name="list in MIL-STD-889B", agreement=_by_place(first, second), grounds=grounds),
    )


def _by_potential(base: Seawater, noble: Seawater) -> Agreement:
    if base.potential_v is None or noble.potential_v is None:
        return "cannot tell"
    apart = noble.potential_v - base.potential_v
    if abs(apart) <= math.hypot(base.plus_minus_v, noble.plus_minus_v):
        return "cannot tell"
    return "agrees" if apart > 0 else "disagrees"


def _by_place(base: Seawater, noble: Seawater) -> Agreement:
    if not base.place or not noble.place or base.place == noble.place:
        return "cannot tell"
    return "agrees" if base.place < noble.place else "disagrees"


def _measures(reference: Reference, asked: Judged, area_ratio: float | None) -> tuple[Rule, ...]:
    """What can be done, the surest first; nothing where nothing need be."""
    wanted = set()
    if asked.verdict != "within" or asked.little_to_spare:
        wanted.add("over")
        if area_ratio is None or area_ratio > 1:
            wanted.add("small-anode")
    if asked.environment.key == "harsh":
        wanted.add("salt")
    return tuple(rule for rule in reference.rows(RULES).values() if rule.when in wanted)


def in_order(reference: Reference) -> tuple[AnodicIndex, ...]:
    """All metals with an index, the noblest first."""
    rows = (row for row in reference.rows(ANODIC_INDEX).values() if not row.insulates)
    return tuple(sorted(rows, key=lambda row: row.volts))
