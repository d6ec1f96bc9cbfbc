"""The rows that speak of glues, joins and coverings."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Literal

from pegwood.trade.grounds import Grounded
from pegwood.trade.reference import Named, Row, Table
from pegwood.trade.spread import Spread

Removable = Literal["yes", "with work", "partly", "no"]
Holds = Literal["well", "fairly", "poorly", "never"]
NearOptics = Literal["fine", "with care", "never"]


@dataclass(frozen=True, kw_only=True)
class Minutes(Grounded, Spread):
    """A time with its own source, [min]."""

    def __post_init__(self) -> None:
        Grounded.__post_init__(self)
        Spread.__post_init__(self)

    @property
    def seconds(self) -> Spread:
        return Spread(low=self.low, likely=self.likely, high=self.high).times(60)


@dataclass(frozen=True, kw_only=True)
class Warmth(Grounded):
    """
    How temperature changes a glue's times.

    Attributes
    ----------
    halving_k : float
        By how much warmer the times are halved, [K].
    at_c : float
        The temperature that the table's times hold at, [C].
    low_c, high_c : float
        Where the rule holds, [C].
    """

    halving_k: float
    at_c: float
    low_c: float
    high_c: float

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.halving_k <= 0 or not self.low_c <= self.at_c <= self.high_c:
            raise ValueError("expected halving_k above zero and low_c <= at_c <= high_c.")


@dataclass(frozen=True, kw_only=True)
class Glue(Named):
    """
    A glue, or what stands in for one.

    Attributes
    ----------
    use : str
        What it is for.
    set, full : Minutes
        Until it may be let go of; until it may be loaded, [min].
    lifts : tuple of str
        Keys of agents that soften it.
    lifted_by : str
        The same in words, with heat and steam.
    carries : tuple of str
        Keys of agents it brings along as its own solvent.
    removable : str
        Whether it comes off again.
    near_optics, why : str
        Whether it may be used near glass, and why (not).
    warmth : Warmth or None
        How temperature changes the times; None where no figure is known.
    caution : str
        What may hurt.
    """

    use: str
    set: Minutes
    full: Minutes
    lifts: tuple[str, ...]
    lifted_by: str
    removable: Removable
    near_optics: NearOptics
    why: str
    carries: tuple[str, ...] = ()
    warmth: Warmth | None = None
    caution: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if any(first > later for first, later in zip(self.set, self.full, strict=True)):
            raise ValueError("it cannot bear its load before it has set.")


@dataclass(frozen=True, kw_only=True)
class Fit:
    """How a glue holds at a join, and why."""

    glue: str
    holds: Holds
    why: str


@dataclass(frozen=True, kw_only=True)
class Join(Row):
    """
    What holds two materials together.

    Attributes
    ----------
    a, b : tuple of str
        Keys of materials on either side, or "any metal" for a kind of material.
    what : str
        The join in words.
    fits : tuple of Fit
        The best first.
    how : str
        How it is done.
    """

    key: str
    what: str
    a: tuple[str, ...]
    b: tuple[str, ...]
    fits: tuple[Fit, ...]
    how: str = ""

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.key,)


@dataclass(frozen=True, kw_only=True)
class NotAbove(Grounded):
    """The temperature that a covering must not reach, [C], and why."""

    t_c: float
    why: str


@dataclass(frozen=True, kw_only=True)
class Covering(Row):
    """
    How a covering comes off and goes back.

    Attributes
    ----------
    material : str
        Key in the table of materials.
    off, back : tuple of str
        Steps.
    lifts : tuple of str
        Keys of agents that lift its glue, the gentlest first.
    pull : str
        Angle and direction of the pull.
    torn : str
        What to do before or when it tears.
    minutes_off, minutes_back : Spread
        Handwork, [min].
    not_above : NotAbove or None
        The temperature it must not reach.
    caution : str
        What may hurt hands or camera.
    """

    material: str
    off: tuple[str, ...]
    back: tuple[str, ...]
    lifts: tuple[str, ...]
    pull: str
    torn: str
    minutes_off: Spread
    minutes_back: Spread
    not_above: NotAbove | None = None
    caution: str = ""

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.material,)


GLUES = Table("glues", Glue)
JOINS = Table("joins", Join)
COVERINGS = Table("coverings", Covering)
