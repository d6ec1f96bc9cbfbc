"""What springs are wound from: moduli, strength and the sizes that wire comes in."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pegwood.trade.figures import Figure, Several, several
from pegwood.trade.grounds import Grounded, Grounds, joined
from pegwood.trade.measured import Measured
from pegwood.trade.numbers import INCH_M
from pegwood.trade.reference import Named, Table

KSI_PA = 6.894757e6

#: Wire of one kind differs by about this much from make to make, whatever one source prints.
LEAST_MODULUS_U = 0.01


@dataclass(frozen=True, kw_only=True)
class Strength(Grounded):
    """
    Least tensile strength of wire up to each size, from a specification.

    Attributes
    ----------
    up_to_in : tuple of float
        Wire diameters, inch, rising.
    ksi : tuple of float
        Least tensile strength up to each, ksi; thicker wire is never the stronger.
    """

    up_to_in: tuple[float, ...]
    ksi: tuple[float, ...]

    def __post_init__(self) -> None:
        super().__post_init__()
        if len(self.up_to_in) != len(self.ksi) or not self.ksi:
            raise ValueError("the strength needs as many figures as sizes.")
        if list(self.up_to_in) != sorted(set(self.up_to_in)):
            raise ValueError("the sizes of the strength do not rise.")
        if list(self.ksi) != sorted(self.ksi, reverse=True):
            raise ValueError("the strength rises with the size; the source has it the other way round.")


@dataclass(frozen=True, kw_only=True)
class Bearable(Grounded):
    """The share of its tensile strength that a wire bears in a spring at rest without taking a set."""

    shear: float
    bending: float

    def __post_init__(self) -> None:
        super().__post_init__()
        if not (0 < self.shear < 1 and 0 < self.bending < 1):
            raise ValueError("the shares lie between 0 and 1.")


@dataclass(frozen=True, kw_only=True)
class SpringWire(Named):
    """
    Wire of one metal.

    Attributes
    ----------
    material : str
        Its key in the table of materials.
    shear_gpa, young_gpa : tuple of Figure
        Shear modulus and Young's modulus; the one to use first.
    strength : Strength, optional
        None where no source was found.
    bearable : Bearable, optional
    note : str
        What one should know before winding it.
    """

    material: str
    shear_gpa: tuple[Figure, ...]
    young_gpa: tuple[Figure, ...]
    strength: Strength | None = None
    bearable: Bearable | None = None
    note: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.shear_gpa or not self.young_gpa:
            raise ValueError("both moduli are needed.")
        if any(one.value <= 0 for one in (*self.shear_gpa, *self.young_gpa)):
            raise ValueError("a modulus lies above 0 GPa.")

    def modulus(self, which: str) -> tuple[Measured, Several]:
        """
        A modulus in Pa with its standard uncertainty, and what the sources say, in GPa.

        Parameters
        ----------
        which : str
            ``"shear"`` or ``"young"``.

        Returns
        -------
        modulus : Measured
            The first source's figure, Pa; the sources' spread taken as a rectangle about it, 1 % at least.
        said : Several
        """
        said = several(self.shear_gpa if which == "shear" else self.young_gpa)
        off = max(said.high - said.value, said.value - said.low)
        u = max(off / math.sqrt(3), LEAST_MODULUS_U * said.value)
        return Measured(said.value * 1e9, u * 1e9), said

    def strength_pa(self, wire_m: float) -> float | None:
        """Least tensile strength of that wire by the next size listed, Pa; None where none is known."""
        if self.strength is None:
            return None
        inches = wire_m / INCH_M * (1 - 1e-9)
        for up_to, ksi in zip(self.strength.up_to_in, self.strength.ksi, strict=True):
            if inches <= up_to:
                return ksi * KSI_PA
        return None

    @property
    def strength_grounds(self) -> Grounds:
        """What the strength and the share of it rest on."""
        said = [one for one in (self.strength, self.bearable) if one]
        return joined(*(one.grounds for one in said)) or self.grounds


@dataclass(frozen=True, kw_only=True)
class WireSizes(Named):
    """A series of wire sizes that can be bought."""

    sizes_mm: tuple[float, ...] = ()
    sizes_in: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        if bool(self.sizes_mm) == bool(self.sizes_in):
            raise ValueError("the sizes stand either in mm or in inch.")
        if list(self.sizes_m) != sorted(set(self.sizes_m)) or self.sizes_m[0] <= 0:
            raise ValueError("the sizes do not rise from above 0.")

    @property
    def sizes_m(self) -> tuple[float, ...]:
        """The sizes in metres, thinnest first."""
        if self.sizes_mm:
            return tuple(one / 1000 for one in self.sizes_mm)
        return tuple(one * INCH_M for one in self.sizes_in)


SPRING_WIRES = Table("spring-wires", SpringWire)
WIRE_SIZES = Table("wire-sizes", WireSizes)
