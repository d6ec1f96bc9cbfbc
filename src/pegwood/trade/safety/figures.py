"""Flash points, explosive and exposure limits by CAS number: every data set's figure, and the careful one."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields

from pegwood.trade.grounds import Grounded, Grounds, joined
from pegwood.trade.reference import Reference, Row, Table


@dataclass(frozen=True, kw_only=True)
class Figure(Grounded):
    """
    What one data set says of one quantity.

    Attributes
    ----------
    value : float
        In the unit of the quantity it stands under.
    note : str
        What the figure is of, where that is narrower than it looks.
    """

    value: float
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.value <= 0:
            raise ValueError(f"the value is {self.value:g}. Expected a number above 0.")


@dataclass(frozen=True, kw_only=True)
class Group(Grounded):
    """A group of carcinogens as IARC numbers them: "1", "2A", "2B", "3", with what the entry is about."""

    value: str
    about: str


@dataclass(frozen=True, kw_only=True)
class Figures(Row):
    """
    All that is known of one CAS number.

    Attributes
    ----------
    cas : str
        The CAS number.
    flash_k, autoignition_k, boiling_k : tuple of Figure
        Flash point, autoignition temperature, boiling point at 1 atm, [K].
    lower_fraction, upper_fraction : tuple of Figure
        Explosive limits, volume of vapour in volume of air, [-].
    vapour_pressure_pa, density_kg_m3 : tuple of Figure
        Of the liquid at 20 degrees C.
    molar_mass_kg_mol : tuple of Figure
        [kg/mol]
    twa_ppm, stel_ppm, ceiling_ppm : tuple of Figure
        Exposure limits of a working day, of 15 minutes, and never to be passed, [ppm by volume].
    twa_kg_m3, stel_kg_m3, ceiling_kg_m3 : tuple of Figure
        The same where they are given by mass, [kg/m3].
    skin : tuple of Figure
        1 where the limit carries a skin notation.
    carcinogen : tuple of Group
        What IARC says.
    """

    cas: str
    flash_k: tuple[Figure, ...] = ()
    autoignition_k: tuple[Figure, ...] = ()
    lower_fraction: tuple[Figure, ...] = ()
    upper_fraction: tuple[Figure, ...] = ()
    boiling_k: tuple[Figure, ...] = ()
    vapour_pressure_pa: tuple[Figure, ...] = ()
    density_kg_m3: tuple[Figure, ...] = ()
    molar_mass_kg_mol: tuple[Figure, ...] = ()
    twa_ppm: tuple[Figure, ...] = ()
    stel_ppm: tuple[Figure, ...] = ()
    ceiling_ppm: tuple[Figure, ...] = ()
    twa_kg_m3: tuple[Figure, ...] = ()
    stel_kg_m3: tuple[Figure, ...] = ()
    ceiling_kg_m3: tuple[Figure, ...] = ()
    skin: tuple[Figure, ...] = ()
    carcinogen: tuple[Group, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        check_cas(self.cas)

    @property
    def keys(self) -> tuple[str, ...]:
        return (self.cas,)


SAFETY_FIGURES = Table("safety-figures", Figures)

#: The quantities, by the name of their field.
QUANTITIES = tuple(
    one.name for one in fields(Figures) if one.name not in {"source", "mark", "own", "cas", "carcinogen"}
)

#: Of which the smaller figure is the more careful one; of all others it is the greater.
SMALLER_IS_CAREFUL = {"flash_k", "autoignition_k", "lower_fraction", "boiling_k"} | {
    f"{kind}_{unit}" for kind in ("twa", "stel", "ceiling") for unit in ("ppm", "kg_m3")
}

#: What was measured for a standard comes before what an encyclopaedia collects, and that before a model.
_WEIGHT = (("model",), ("Wikidata",))


@dataclass(frozen=True)
class Careful:
    """
    The figure to work with, and what else is said.

    Attributes
    ----------
    figure : Figure
        The more careful one of the firmest data sets.
    others : tuple of Figure
        All others, firmest first.
    """

    figure: Figure
    others: tuple[Figure, ...]

    @property
    def value(self) -> float:
        """In the unit of its quantity."""
        return self.figure.value

    @property
    def grounds(self) -> Grounds:
        """Of the figure and of those that differ from it."""
        differing = (one.grounds for one in self.others if one.value != self.value)
        return joined(self.figure.grounds, *differing)

    @property
    def spread(self) -> tuple[float, float]:
        """Lowest and highest figure of all."""
        values = [self.value, *(one.value for one in self.others)]
        return min(values), max(values)


def careful(figures: Iterable[Figure], quantity: str) -> Careful | None:
    """
    The more careful of the figures that data sets give for a quantity, or None if none gives one.

    Figures collected by an encyclopaedia, or reckoned by a model, count only where no standard gives one:
    they are shown beside it.
    """
    ordered = sorted(figures, key=lambda one: (_rank(one), one.value))
    if not ordered:
        return None
    firmest = [one for one in ordered if _rank(one) == _rank(ordered[0])]
    pick = min if quantity in SMALLER_IS_CAREFUL else max
    chosen = pick(firmest, key=lambda one: one.value)
    return Careful(chosen, tuple(one for one in ordered if one is not chosen))


def _rank(figure: Figure) -> int:
    for rank, words in enumerate(_WEIGHT):
        if any(word in figure.source for word in words):
            return len(_WEIGHT) - rank
    return 0


def merged(cas: Iterable[str], several: Iterable[Figures]) -> Figures | None:
    """The figures of several CAS numbers together, those of the first first; None if there are none."""
    several = tuple(several)
    if not several:
        return None
    together = {
        name: tuple(dict.fromkeys(figure for one in several for figure in getattr(one, name)))
        for name in (*QUANTITIES, "carcinogen")
    }
    first = several[0]
    return Figures(
        cas=next(iter(cas)),
        source=first.source,
        mark=first.mark,
        own=any(one.own for one in several),
        **together,
    )


def figures_of(reference: Reference, cas: Iterable[str], look_up: bool = False) -> Figures | None:
    """
    What the tables hold of CAS numbers, all together.

    Parameters
    ----------
    reference : Reference
        The tables.
    cas : iterable of str
        CAS numbers of one substance.
    look_up : bool
        Whether to ask the library `chemicals`, if it is there, where the tables hold none of them.

    Returns
    -------
    figures : Figures or None
        None where nothing is known.
    """
    table = reference.rows(SAFETY_FIGURES)
    cas = tuple(cas)
    held = [table[one] for one in cas if one in table]
    if held or not look_up:
        return merged(cas, held)
    from pegwood.trade.safety import library

    if not library.there():
        return None
    return merged(cas, [found for one in cas if (found := library.figures(one))])


def check_cas(text: str) -> str:
    """
    A CAS number as it was given.

    Raises
    ------
    ValueError
        If it has not the form of one, or its last digit does not fit the others.
    """
    if not is_cas(text):
        raise ValueError(f"{text!r} is no CAS number: 2 to 7 digits, 2 digits, and a check digit that fits.")
    return text


def is_cas(text: str) -> bool:
    """Whether a text is a CAS number with the right check digit: digits times their place from the right."""
    if not re.fullmatch(r"\d{2,7}-\d\d-\d", text):
        return False
    digits = text.replace("-", "")
    total = sum(place * int(digit) for place, digit in enumerate(reversed(digits[:-1]), 1))
    return total % 10 == int(digits[-1])
