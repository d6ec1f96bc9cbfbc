"""How far a chance may lie from what a count shows."""

from __future__ import annotations

from scipy.special import betaincinv

#: How often a stated interval shall hold.
LEVEL = 0.9
Interval = tuple[float, float]


def beta_interval(one: float, other: float, level: float = LEVEL) -> Interval:
    """
    The middle `level` of the Beta(one, other) distribution; an end of the scale where one of them is nought.

    Raises
    ------
    ValueError
        If one of them is below nought, or both are nought.
    """
    if one < 0 or other < 0 or one + other <= 0:
        raise ValueError(
            f"Beta({one:g}, {other:g}) is no distribution. Expected two counts, not both nought."
        )
    if not (one and other):
        return (0.0, 0.0) if not one else (1.0, 1.0)
    tail = (1 - level) / 2
    return float(betaincinv(one, other, tail)), float(betaincinv(one, other, 1 - tail))


def exact_interval(count: int, of: int, level: float = LEVEL) -> Interval:
    """
    The interval of Clopper and Pearson for a chance that came true `count` times `of` so many.

    It holds at least as often as it says (Clopper and Pearson 1934, memory).
    """
    if not 0 <= count <= of:
        raise ValueError(f"{count} of {of} cannot be.")
    tail = (1 - level) / 2
    low = float(betaincinv(count, of - count + 1, tail)) if count else 0.0
    high = float(betaincinv(count + 1, of - count, 1 - tail)) if count < of else 1.0
    return low, high
