"""Lubricants by class, and the places of a camera with what goes there."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from pegwood.trade.grounds import Ground, Grounded, Grounds, joined
from pegwood.trade.lubricants.grades import NLGI
from pegwood.trade.lubricants.viscosity import MM2, Walther, from_index
from pegwood.trade.names import find
from pegwood.trade.numbers import ZERO_C_K, celsius
from pegwood.trade.reference import Named, Reference, Table
from pegwood.trade.said import Said

D341 = Ground("ASTM D341, the line of Walther through two points", "seen")
D2270 = Ground("ASTM D2270, viscosity index; held against table 1 of the standard", "seen")


@dataclass(frozen=True, kw_only=True)
class Ranged(Grounded):
    """
    A figure with how far off it may be.

    Attributes
    ----------
    value, lowest, highest : float
        In the unit of the field it stands under; without a range, the value alone.
    """

    value: float
    lowest: float | None = None
    highest: float | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.ends[0] <= self.value <= self.ends[1]:
            raise ValueError(f"{self.value:g} does not lie between {self.ends[0]:g} and {self.ends[1]:g}.")

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest."""
        return (
            self.value if self.lowest is None else self.lowest,
            self.value if self.highest is None else self.highest,
        )


@dataclass(frozen=True, kw_only=True)
class Point(Grounded):
    """A kinematic viscosity [mm2/s] at a temperature [degrees C]."""

    mm2_s: float
    at_c: float

    @property
    def si(self) -> tuple[float, float]:
        """[m2/s] and [K]."""
        return self.mm2_s * MM2, self.at_c + ZERO_C_K


@dataclass(frozen=True, kw_only=True)
class Viscosities:
    """
    A viscosity with the range that the class leaves open.

    Attributes
    ----------
    value, lowest, highest : float
        [m2/s]
    """

    value: float
    lowest: float
    highest: float


class BelowPourPoint(ValueError):
    """So cold that the oil no longer flows: no figure."""


@dataclass(frozen=True, kw_only=True)
class Lubricant(Named):
    """
    A class of oil, grease or dry lubricant.

    Attributes
    ----------
    kind : str
        ``"oil"``, ``"grease"`` or ``"dry"``; of a grease the viscosity is that of its base oil.
    nlgi : str
        The grade of a grease, or nothing.
    mm2_s_at_40_c, index : Ranged, optional
        Kinematic viscosity at 40 degrees C [mm2/s] and viscosity index: one point and an index.
    points : tuple of Point
        Or two points.
    pour_c : Ranged, optional
        Pour point, [degrees C]; its highest end counts.
    notes : tuple of Said
        What else to know.
    """

    kind: Literal["oil", "grease", "dry"]
    nlgi: str = ""
    mm2_s_at_40_c: Ranged | None = None
    index: Ranged | None = None
    points: tuple[Point, ...] = ()
    pour_c: Ranged | None = None
    notes: tuple[Said, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        if (self.mm2_s_at_40_c is None) != (self.index is None):
            raise ValueError("a viscosity at 40 °C and an index go together.")
        if self.nlgi and self.nlgi not in NLGI:
            raise ValueError(f"the grade NLGI is {self.nlgi!r}. Expected one of: {', '.join(NLGI)}.")
        if len(self.points) not in (0, 2) or (self.points and self.index):
            raise ValueError("two points, or one at 40 °C with an index.")

    @property
    def known(self) -> bool:
        """Whether there is a viscosity."""
        return bool(self.points or self.index)

    @property
    def lines(self) -> tuple[Walther, ...]:
        """The line as it is most likely, then those at the ends of what the class leaves open."""
        if self.points:
            first, second = self.points
            return (Walther.through(first.si, second.si),)
        if not (self.mm2_s_at_40_c and self.index):
            return ()
        corners = [(v, i) for v in self.mm2_s_at_40_c.ends for i in self.index.ends]
        both = [(self.mm2_s_at_40_c.value, self.index.value), *corners]
        return tuple(from_index(v * MM2, i) for v, i in dict.fromkeys(both))

    @property
    def viscosity_grounds(self) -> Grounds:
        """What its viscosities rest on."""
        if self.points:
            return joined((D341,), *(point.grounds for point in self.points))
        given = [one.grounds for one in (self.mm2_s_at_40_c, self.index) if one]
        return joined(*given, (D341, D2270))

    def viscosity(self, temperature_k: float) -> Viscosities:
        """
        Kinematic viscosity at a temperature [K].

        Raises
        ------
        BelowPourPoint
            If it no longer flows there.
        ValueError
            If nothing is known of it, or it is thinner than the equation holds for.
        """
        if not self.known:
            raise ValueError(
                f"{self.name}: its viscosity is not known. Give two points, such as '32@40 5.4@100'."
            )
        if self.pour_c and temperature_k - ZERO_C_K < self.pour_c.ends[1]:
            raise BelowPourPoint(
                f"{self.name}: at {celsius(temperature_k)} it is below its pour point of about "
                f"{self.pour_c.ends[1]:.0f} °C and stands like wax; no equation holds. Take "
                "one with a lower pour point."
            )
        values = [line.at(temperature_k) for line in self.lines]
        return Viscosities(value=values[0], lowest=min(values), highest=max(values))

    def ratio(self, temperature_k: float, to_k: float = 293.15) -> Ranged:
        """How many times thicker it is at one temperature [K] than at another, [-]; errors as `viscosity`."""
        self.viscosity(temperature_k)
        ratios = [line.at(temperature_k) / line.at(to_k) for line in self.lines]
        return Ranged(
            value=ratios[0],
            lowest=min(ratios),
            highest=max(ratios),
            source=D341.source,
            mark=D341.mark,
        )


@dataclass(frozen=True, kw_only=True)
class Place(Named):
    """
    A place of a camera.

    Attributes
    ----------
    lubricants : tuple of str
        Keys of what goes there, the usual one first; none where none may be.
    amount, why : str
        How much, and why so.
    cold : str
        What is noticed there in the cold.
    viscous : bool
        Whether the lubricant's thickness is felt there.
    never : tuple of Said
        What must not come there.
    """

    lubricants: tuple[str, ...] = ()
    amount: str
    why: str
    cold: str = ""
    viscous: bool = False
    never: tuple[Said, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Behaviour(Named):
    """
    How lubricants creep, bleed and dry out.

    Attributes
    ----------
    kinds : tuple of str
        Of which kinds ("oil", "grease", "dry").
    says : str
        What happens.
    """

    kinds: tuple[str, ...]
    says: str


LUBRICANTS = Table("lubricants", Lubricant)
PLACES = Table("lubricated", Place)
BEHAVIOURS = Table("lubricant-behaviour", Behaviour)

_AT = re.compile(r"(\d+(?:[.,]\d+)?)\s*@\s*([+-]?\d+(?:[.,]\d+)?)")
_INDEX = re.compile(r"vi\s*(-?\d+(?:[.,]\d+)?)", re.IGNORECASE)
GIVEN = "as you gave it"


def lubricant(reference: Reference, word: str) -> Lubricant:
    """
    The lubricant of a name, or of points: "32@40 5.4@100" and "32@40 VI 95" are mm2/s at degrees C.

    Raises
    ------
    UnknownWord
        If no row answers to it.
    ValueError
        If points are given that make no line.
    """
    points = [(_number(v), _number(t)) for v, t in _AT.findall(word)]
    index = _INDEX.search(word)
    if not points:
        return find(reference.rows(LUBRICANTS), word, "lubricant")
    own = Lubricant(key="given", name=f"oil of {word.strip()}", kind="oil", source=GIVEN, mark="practice")
    if len(points) == 2 and not index:
        return replace(
            own, points=tuple(Point(mm2_s=v, at_c=t, source=GIVEN, mark="practice") for v, t in points)
        )
    if len(points) == 1 and index and abs(points[0][1] - 40) < 0.5:
        return replace(
            own,
            mm2_s_at_40_c=Ranged(value=points[0][0], source=GIVEN, mark="practice"),
            index=Ranged(value=_number(index[1]), source=GIVEN, mark="practice"),
        )
    raise ValueError(
        f"{word!r}: give two points, '32@40 5.4@100', or one at 40 °C and an index, '32@40 VI 95'."
    )


def place(reference: Reference, word: str) -> Place:
    """
    The place of a name.

    Raises
    ------
    UnknownWord
        If no row answers to it.
    """
    return find(reference.rows(PLACES), word, "place to lubricate")


def places_of(reference: Reference, one: Lubricant) -> tuple[Place, ...]:
    """Where a lubricant goes."""
    return tuple(row for row in reference.rows(PLACES).values() if one.key in row.lubricants)


def _number(text: str) -> float:
    return float(text.replace(",", "."))
