"""The price of work that is settled step by step: by exact convolution, without draws and without a seed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.anatomy.parts import Minutes
from pegwood.pricing.quote.figures import NOT_MORE_THAN, USUAL, WORST, Figure, figure_of
from pegwood.pricing.quote.terms import Terms
from pegwood.pricing.spread import spread_of, total
from pegwood.pricing.spread.sums import GRID


@dataclass(frozen=True, kw_only=True)
class Settled:
    """
    The price of settled work.

    Attributes
    ----------
    usual, not_more_than, worst : Figure
        Nothing is drawn, so their `u` is 0.
    off : float
        By how much each may be off at most before rounding, in minor units: the grid of the convolution.
    mean_minutes : float
        [min]; exact.
    """

    usual: Figure
    not_more_than: Figure
    worst: Figure
    off: float
    mean_minutes: float


def settled(
    steps: Iterable[Minutes], terms: Terms, *, parts_minor: int = 0, mends: int = 0, grid: float = GRID
) -> Settled:
    """
    The price of steps that are all done, each once, each taking its own time.

    Parameters
    ----------
    steps : iterable of Minutes
        The way in and back and the mends; what every job takes comes from the terms.
    terms : Terms
        With `hand` 0: steps that share it are not independent, and their sum is no convolution.
    parts_minor : int
        What the parts come to, in minor units.
    mends : int
        How many of the steps are mends, for what each of these uses up.
    grid : float
        Of the convolution, [min].

    Raises
    ------
    ValueError
        If the terms have a hand, or the grid cannot be.
    """
    if terms.hand:
        raise ValueError(
            f"steps that share {terms.hand:.0%} of their spread are not independent. "
            "Draw them, or take terms with a hand of 0."
        )
    always = [terms.every_job] if terms.every_job else []
    minutes = total([spread_of(one, terms.shape) for one in (*always, *steps)], grid)
    besides = parts_minor + terms.minor(terms.consumables) + mends * terms.minor(terms.per_mend)
    tax = float(1 + terms.tax)

    def at(p: float) -> Figure:
        net = float(minutes.quantile(p)) * terms.per_minute + besides
        return figure_of(max(net, terms.minor(terms.minimum)) * tax, p, terms.currency, terms.round_to)

    return Settled(
        usual=at(USUAL),
        not_more_than=at(NOT_MORE_THAN),
        worst=at(WORST),
        off=minutes.off * terms.per_minute * tax,
        mean_minutes=minutes.mean,
    )
