"""What a workshop reckons a job with: its rates, what parts cost, and what is taken for granted."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction

from pegwood.anatomy.parts import Minutes
from pegwood.pricing.money import Money
from pegwood.pricing.spread import USUAL_SHAPE, Shape, spread
from pegwood.trade.grounds import Ground

#: Of the spread of a step's minutes, how much is the hand and the camera and so common to all steps of a job.
HAND = 0.3
HAND_GROUND = Ground(
    "Pegwood's own start: three tenths of what minutes spread by is the hand and the camera, "
    "as where minutes are learned",
    "practice",
)
#: Putting a part back takes so many times what taking it off does.
BACK = 1.0
BACK_GROUND = Ground("common practice: putting together takes as long as taking apart", "practice")


@dataclass(frozen=True, kw_only=True)
class Terms:
    """
    A workshop's terms. Every amount is of one currency and without tax.

    Attributes
    ----------
    per_hour : Money
        Work.
    bench_per_hour : Money, optional
        Overheads of the bench for each hour of work: rent, light, tools. Nothing where none is given.
    minimum : Money, optional
        What every job costs at least.
    consumables : Money, optional
        For each job; and `per_mend` for each mend tried.
    per_mend : Money, optional
    every_job : Minutes, optional
        What every job takes besides: looking over, proving, papers.
    tax : Fraction
        Share that is added, [1]: 21/100.
    own_per_hour : Money, optional
        What an hour costs the bench itself; as much as it charges, overheads with it, where none is given:
        then a loss is what the hour would have earned elsewhere.
    part_costs : float
        Of what a part is charged at, how much it costs the bench itself, [1]; 1 where nothing is on top.
    round_to : int
        Figures are told in steps of so many minor units.
    back : float
        Putting a part back takes so many times what taking it off does.
    shape : str
        How low, likely and high are read, see `pegwood.pricing.spread.SHAPES`.
    hand : float
        Of the spread of minutes, how much is common to all steps of one job, [1]; 0: each by itself.

    Raises
    ------
    ValueError
        If a figure cannot be, or two are of different currencies.
    """

    per_hour: Money
    bench_per_hour: Money | None = None
    minimum: Money | None = None
    consumables: Money | None = None
    per_mend: Money | None = None
    every_job: Minutes | None = None
    tax: Fraction = Fraction(0)
    own_per_hour: Money | None = None
    part_costs: float = 1.0
    round_to: int = 1
    back: float = BACK
    shape: Shape = USUAL_SHAPE
    hand: float = HAND

    def __post_init__(self) -> None:
        for name in ("per_hour", "bench_per_hour", "minimum", "consumables", "per_mend", "own_per_hour"):
            amount = getattr(self, name)
            if amount is None:
                continue
            _same(amount, self.currency, name)
            if amount.minor < 0:
                raise ValueError(f"{name} is {amount.decimal}. Expected 0 or more.")
        if not isinstance(self.tax, Fraction) or not 0 <= self.tax <= 1:
            raise ValueError(f"the tax is {self.tax!r}. Expected a Fraction from 0 to 1, such as 21/100.")
        if isinstance(self.round_to, bool) or not isinstance(self.round_to, int) or self.round_to < 1:
            raise ValueError(f"round_to is {self.round_to!r}. Expected a whole number of minor units.")
        if not 0 <= self.part_costs <= 1:
            raise ValueError(f"part_costs is {self.part_costs:g}. Expected 0 to 1.")
        if not (math.isfinite(self.back) and 0 <= self.back <= 10):
            raise ValueError(f"back is {self.back:g}. Expected 0 to 10.")
        if not 0 <= self.hand < 1:
            raise ValueError(f"hand is {self.hand:g}. Expected 0 up to below 1.")
        spread(1, 2, 3, self.shape)  # refuses a shape that is none

    @property
    def currency(self) -> str:
        """Of all its amounts."""
        return self.per_hour.currency

    def minor(self, amount: Money | None) -> int:
        """An amount in minor units; nothing for none."""
        return amount.minor if amount else 0

    @property
    def per_minute(self) -> float:
        """What a minute is charged at, overheads with it, in minor units."""
        return (self.per_hour.minor + self.minor(self.bench_per_hour)) / 60

    @property
    def own_per_minute(self) -> float:
        """What a minute costs the bench itself, in minor units."""
        return self.per_minute if self.own_per_hour is None else self.own_per_hour.minor / 60


@dataclass(frozen=True, kw_only=True)
class PartPrice:
    """
    What a part costs, and how long it takes to come.

    Attributes
    ----------
    low, likely, high : Money
        All equal where it is known.
    wait_days : (float, float, float), optional
        Low, likely and high, [day]; None where it lies on the shelf.

    Raises
    ------
    ValueError
        If they are not in order or of different currencies.
    """

    low: Money
    likely: Money
    high: Money
    wait_days: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        for amount in (self.likely, self.high):
            _same(amount, self.low.currency, "what a part costs")
        spread(self.low.minor, self.likely.minor, self.high.minor, "pert")
        if self.wait_days is not None:
            spread(*self.wait_days, "pert")

    @classmethod
    def known(cls, cost: Money, wait_days: tuple[float, float, float] | None = None) -> PartPrice:
        """A price that is known."""
        return cls(low=cost, likely=cost, high=cost, wait_days=wait_days)


@dataclass(frozen=True, kw_only=True)
class Done:
    """
    What of a job is done already and will be on the bill.

    Attributes
    ----------
    minutes : float
        By the bench clock, [min].
    parts : Money, optional
        Parts fitted.
    off : frozenset of str
        Parts that are off, by id: nobody has to take them off.
    back : frozenset of str, optional
        Those of them that still have to go back; all if None.
    """

    minutes: float = 0.0
    parts: Money | None = None
    off: frozenset[str] = field(default_factory=frozenset)
    back: frozenset[str] | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.minutes) and self.minutes >= 0):
            raise ValueError(f"{self.minutes:g} minutes done cannot be. Expected 0 or more.")
        if self.back is not None and not self.back <= self.off:
            raise ValueError(f"{min(self.back - self.off)!r} goes back and is not off. Expected one that is.")

    @property
    def goes_back(self) -> frozenset[str]:
        """Parts that still have to go back, by id."""
        return self.off if self.back is None else self.back


def _same(amount: Money, currency: str, what: str) -> None:
    if amount.currency != currency:
        raise ValueError(f"{what} is in {amount.currency}, the rest in {currency}. Expected one currency.")
