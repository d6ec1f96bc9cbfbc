"""How little liquid makes air dangerous, and what stands over it: ideal gas at one atmosphere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.safety.figures import Careful, Figures, careful

GAS_CONSTANT = 8.314462618  # J/(mol K), SI 2019
ATMOSPHERE_PA = 101325.0
ROOM_K = 293.15

#: Shares of the lower explosive limit to stay below: as commonly kept at benches, and better.
SHARES = (0.25, 0.10)

Over = Literal["inside", "above", "below"]


def liquid_for(fraction: float, molar_mass_kg_mol: float, density_kg_m3: float) -> float:
    """
    Liquid whose vapour makes a given part of air, at 20 degrees C and one atmosphere.

    Parameters
    ----------
    fraction : float
        Volume of vapour in a volume of air, [-].
    molar_mass_kg_mol : float
        [kg/mol]
    density_kg_m3 : float
        Of the liquid, [kg/m3].

    Returns
    -------
    volume : float
        Liquid in a volume of air, [m3/m3].
    """
    moles = fraction * ATMOSPHERE_PA / (GAS_CONSTANT * ROOM_K)
    return moles * molar_mass_kg_mol / density_kg_m3


@dataclass(frozen=True)
class Vapour:
    """
    What a liquid does to the air of a room at 20 degrees C.

    Attributes
    ----------
    to_lower_limit : float or None
        Liquid that takes still air to the lower explosive limit, [m3/m3].
    saturated_fraction : float or None
        Vapour in the air that stands over the liquid, [-].
    over : str or None
        Whether that air is ``"inside"`` the explosive range, ``"above"`` or ``"below"`` it. Where data sets
        differ, the wider range and the higher pressure are taken.
    grounds : tuple of Ground
        What all that rests on.
    """

    to_lower_limit: float | None
    saturated_fraction: float | None
    over: Over | None
    grounds: Grounds


def vapour(figures: Figures) -> Vapour | None:
    """What the figures say of the vapour, or None where there is no lower explosive limit."""
    lower = careful(figures.lower_fraction, "lower_fraction")
    if lower is None:
        return None
    used: list[Careful] = [lower]

    def taken(name: str) -> Careful | None:
        found = careful(getattr(figures, name), name)
        if found:
            used.append(found)
        return found

    molar, density, pressure = taken("molar_mass_kg_mol"), taken("density_kg_m3"), taken("vapour_pressure_pa")
    amount = liquid_for(lower.value, molar.value, density.value) if molar and density else None
    saturated: float | None = None
    over: Over | None = None
    if pressure:
        upper = taken("upper_fraction")
        saturated = pressure.value / ATMOSPHERE_PA
        if saturated < lower.value:
            over = "below"
        elif upper:
            over = "inside" if saturated <= upper.value else "above"
    return Vapour(amount, saturated, over, joined(*(one.figure.grounds for one in used)))


@dataclass(frozen=True)
class Breathed:
    """
    Liquid whose vapour takes still air to an exposure limit: long before it can burn.

    Attributes
    ----------
    limit : str
        Which limit: ``"twa"`` of a working day, else ``"stel"`` of 15 minutes, else ``"ceiling"``.
    liquid : float
        [m3/m3]
    grounds : tuple of Ground
        What that rests on.
    """

    limit: str
    liquid: float
    grounds: Grounds


def breathed(figures: Figures) -> Breathed | None:
    """How much may evaporate into air that is breathed; None where no limit or no density is known."""
    molar, density = (careful(getattr(figures, one), one) for one in ("molar_mass_kg_mol", "density_kg_m3"))
    for limit in ("twa", "stel", "ceiling"):
        names = (f"{limit}_ppm", f"{limit}_kg_m3")
        ppm, mass = (careful(getattr(figures, name), name) for name in names)
        if ppm and molar and density:
            grounds = joined(*(one.figure.grounds for one in (ppm, molar, density)))
            return Breathed(limit, liquid_for(ppm.value * 1e-6, molar.value, density.value), grounds)
        if mass and density:
            grounds = joined(mass.figure.grounds, density.figure.grounds)
            return Breathed(limit, mass.value / density.value, grounds)
    return None
