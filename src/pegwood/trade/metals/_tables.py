"""The rows that speak of metals."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Literal

from pegwood.trade.grounds import Grounded
from pegwood.trade.reference import Named, Row, Table
from pegwood.trade.spread import Spread


@dataclass(frozen=True, kw_only=True)
class AnodicIndex(Row):
    """
    How base a metal or finish is.

    Attributes
    ----------
    material : str
        Key in the table of materials.
    index_v : float or None
        Volts below gold; the bigger corrodes first.
    low_v, high_v : float or None
        Least and most that alloys and lists give, [V].
    group : str
        What the list prints the figure for.
    insulates : bool
        Whether it is a film that lets no current through while whole; it has no index then.
    under : str
        The metal under such a film, where it can be only one.
    over : tuple of str
        What a metal finish usually lies on.
    reason : str
        Why there is no index.
    passive : bool
        Whether its own oxide makes it nobler than the figure while whole: it need not be what suffers.
    note : str
        What to know of the figure.
    """

    material: str
    index_v: float | None = None
    low_v: float | None = None
    high_v: float | None = None
    group: str = ""
    insulates: bool = False
    under: str = ""
    over: tuple[str, ...] = ()
    reason: str = ""
    passive: bool = False
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if (self.index_v is None) != self.insulates:
            raise ValueError("expected an index, or 'insulates = true' and a reason; not both, not neither.")
        if self.insulates and not self.reason:
            raise ValueError("a material without an index needs the reason why.")
        if self.insulates:
            return
        low, high = self.bounds
        if not 0 <= low <= self.volts <= high:
            raise ValueError(f"expected 0 <= low_v <= index_v <= high_v, found {low}, {self.volts}, {high}.")

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.material,)

    @property
    def volts(self) -> float:
        """The index, [V]; ValueError for a film that has none."""
        if self.index_v is None:
            raise ValueError(f"{self.material} has no index: {self.reason}.")
        return self.index_v

    @property
    def bounds(self) -> tuple[float, float]:
        """Least and most, [V]."""
        return (
            self.volts if self.low_v is None else self.low_v,
            self.volts if self.high_v is None else self.high_v,
        )

    def below_v(self, step_v: float) -> float:
        """How far the true index may lie under the printed one, half a printed step included, [V]."""
        return self.volts - self.bounds[0] + step_v / 2

    def above_v(self, step_v: float) -> float:
        """How far the true index may lie over the printed one, half a printed step included, [V]."""
        return self.bounds[1] - self.volts + step_v / 2


@dataclass(frozen=True, kw_only=True)
class Environment(Named):
    """Where the metals are, and the largest difference of indices accepted there without protection, [V]."""

    limit_v: float
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Seawater(Row):
    """
    A metal's standing in two other series; only their order is used.

    Attributes
    ----------
    potential_v, plus_minus_v : float
        In sea water against the saturated calomel electrode, and its variability, [V].
    active_v : float or None
        The potential where a passive film is lost, [V].
    place : int
        In the galvanic series of MIL-STD-889B; 1 is the basest; 0 where it is not listed.
    read_as : str
        The alloy that was read in the list.
    """

    material: str
    potential_v: float | None = None
    plus_minus_v: float = 0.04
    active_v: float | None = None
    place: int = 0
    read_as: str = ""

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.material,)


@dataclass(frozen=True, kw_only=True)
class Rule(Row):
    """What holds for couples, or a measure against one; told when `when` is so."""

    key: str
    says: str
    when: Literal["rule", "over", "small-anode", "salt"]

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.key,)


Method = Literal["dry-brush", "swab", "soak", "ultrasonic-bath"]
Chance = Literal["usually works", "often works", "may work", "seldom works"]
Reversible = Literal["yes", "film only", "partly", "no"]


@dataclass(frozen=True, kw_only=True)
class Treatment(Grounded):
    """
    One way to take a product off.

    Attributes
    ----------
    does : str
        What it does.
    treat_with : tuple of str
        Keys of agents, one after another: the first works, the next rinse; none where the brush is dry.
    method : str
        How.
    minutes : Spread
        Handwork at the bench, [min].
    waiting_h : Spread
        Soaking, drying or setting with nobody at it, [h].
    chance : str
        In words; no figure is known.
    caution : str
        What to mind.
    """

    does: str
    treat_with: tuple[str, ...]
    method: Method
    minutes: Spread
    waiting_h: Spread
    chance: Chance
    caution: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.treat_with and self.method != "dry-brush":
            raise ValueError("a wet treatment needs an agent in 'treat_with'.")

    @property
    def bench_s(self) -> Spread:
        """Handwork, [s]."""
        return self.minutes.times(60)

    @property
    def waiting_s(self) -> Spread:
        """Waiting, [s]."""
        return self.waiting_h.times(3600)


_UNDONE = {
    "yes": "Can be undone",
    "film only": "The film can be undone",
    "partly": "Can be undone in part",
    "no": "Cannot be undone",
}


@dataclass(frozen=True, kw_only=True)
class Corrosion(Named):
    """
    A product of corrosion, or a decay.

    Attributes
    ----------
    bases : tuple of str
        Keys of the materials it comes on.
    look, tell : str
        What is seen; how it is told from what looks alike.
    reversible : str
        Whether it can be undone, in a word.
    undone : str
        What exactly can be undone.
    next : str
        What to do next.
    hazard : str
        What may hurt.
    from_couple : bool
        Whether a couple brings it.
    treatments : tuple of Treatment
        The gentlest first.
    """

    bases: tuple[str, ...]
    look: str
    tell: str
    reversible: Reversible
    undone: str
    next: str
    hazard: str = ""
    from_couple: bool = False
    treatments: tuple[Treatment, ...] = ()

    @property
    def can_be_undone(self) -> str:
        """Whether it can be undone and what stays, as a sentence."""
        return f"{_UNDONE[self.reversible]}: {self.undone}."


@dataclass(frozen=True, kw_only=True)
class RustGrade(Named):
    """A grade from 0 to 5 with the picture of ISO 4628-3 and its European scale, area in % of the surface."""

    grade: int
    ri: int
    re: int
    up_to_percent: float
    look: str


@dataclass(frozen=True, kw_only=True)
class RustBand(Row):
    """A grade of a scale by area: it holds up to and with `up_to_percent` of the surface."""

    scale: Literal["ASTM D610", "ISO 10289"]
    grade: int
    up_to_percent: float

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return ((self.scale, str(self.grade)),)


ANODIC_INDEX = Table("anodic-index", AnodicIndex)
ENVIRONMENTS = Table("environments", Environment)
SEAWATER = Table("seawater-potentials", Seawater)
RULES = Table("couple-rules", Rule)
CORROSION = Table("corrosion", Corrosion)
RUST_GRADES = Table("rust-grades", RustGrade)
RUST_BANDS = Table("rust-bands", RustBand)
