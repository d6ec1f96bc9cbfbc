"""How fast turning to and fro closes in, from readings before and after a round."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pegwood.instruments.rangefinder.lever import rounds_needed
from pegwood.instruments.uncertainty import Component, Measured, combine

__all__ = ["Converging", "MeasuredRounds", "measured_rounds"]

Converging = Literal["closes in", "does not close in", "too close to call"]


@dataclass(frozen=True)
class MeasuredRounds:
    """
    What two rounds of readings tell.

    Parameters
    ----------
    factor : Measured or None
        Share of the gain error that the last round left, [-].
    factor_95 : (float, float) or None
        Its 95 % interval, which need not be even about it, [-].
    converging : str
        Whether it closes in.
    rounds_left, rounds_left_at_most : int or None
        By the factor, and by the worst end of its interval.
    overshoot : float or None
        How far past right to turn the gain, as a share of the near error, so that setting infinity again
        brings it right at once, [-].
    why_not : str or None
        Why there is no factor.
    """

    factor: Measured | None
    factor_95: tuple[float, float] | None
    converging: Converging
    rounds_left: int | None
    rounds_left_at_most: int | None
    overshoot: float | None
    why_not: str | None = None


def measured_rounds(
    gain_before: Measured, gain_after: Measured, span_dpt: float, within_dpt: float
) -> MeasuredRounds:
    """
    The convergence factor, measured: what a round left of the gain error.

    An infinity screw moves all readings alike and leaves the gain; so after a whole round the gain error is
    the convergence factor times what it was before.

    Parameters
    ----------
    gain_before, gain_after : Measured
        Gains read before and after one whole round, [-].
    span_dpt : float
        From the far to the near distance, [dpt].
    within_dpt : float
        Error at the near end at which to stop, [dpt].

    Returns
    -------
    rounds : MeasuredRounds

    Notes
    -----
    Interval of a ratio by Fieller's theorem (E. C. Fieller, 1954; memory), with Welch-Satterthwaite's degrees
    of freedom: it is refused where the error before is lost in its own scatter.
    """
    before, after = gain_before.value - 1, gain_after.value - 1
    ratio = after / before if before else math.inf
    if not math.isfinite(ratio):
        return _cannot("the gain was right before the round: nothing is left to close in on")
    factor = combine(
        ratio,
        [
            Component("gain after", gain_after.u / abs(before), gain_after.df, "A", "readings after it"),
            Component("gain before", abs(ratio) * gain_before.u / abs(before), gain_before.df, "A",
                      "readings before it"),
        ],
    )  # fmt: skip
    t = factor.coverage_factor()
    square = before**2 - (t * gain_before.u) ** 2
    if square <= 0:
        return _cannot(
            "the gain error before the round is lost in the scatter of its readings; "
            "read more often at the far and the near end"
        )
    root = (after * before) ** 2 - square * (after**2 - (t * gain_after.u) ** 2)
    half = math.sqrt(max(root, 0.0)) / square
    middle = after * before / square
    low, high = middle - half, middle + half
    worst = max(abs(low), abs(high))
    best = 0.0 if low <= 0 <= high else min(abs(low), abs(high))
    converging: Converging = (
        "closes in" if worst < 1 else "does not close in" if best >= 1 else "too close to call"
    )
    error = after * span_dpt
    return MeasuredRounds(
        factor,
        (low, high),
        converging,
        rounds_needed(error, ratio, within_dpt),
        rounds_needed(error, worst, within_dpt),
        ratio / (1 - ratio) if ratio < 1 else None,
    )


def _cannot(why: str) -> MeasuredRounds:
    return MeasuredRounds(None, None, "too close to call", None, None, None, why)
