"""Substances on the bench: what they are called, how they are classified, what must not meet."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, replace
from typing import Literal

from pegwood.trade.grounds import Grounded, Grounds
from pegwood.trade.names import UnknownWord, find
from pegwood.trade.reference import Named, Reference, Row, Table
from pegwood.trade.safety.figures import Figures, check_cas, figures_of, is_cas, merged
from pegwood.trade.said import Said

Signal = Literal["Danger", "Warning", ""]


@dataclass(frozen=True, kw_only=True)
class Classified(Grounded):
    """
    Hazard codes that one source gives.

    Attributes
    ----------
    codes : tuple of str
        H-codes of the UN GHS ("H225").
    signal : str
        ``"Danger"``, ``"Warning"`` or nothing.
    """

    codes: tuple[str, ...]
    signal: Signal = ""


@dataclass(frozen=True, kw_only=True)
class Substance(Named):
    """
    A substance.

    Attributes
    ----------
    cas : tuple of str
        Its CAS numbers, the most usual first; the figures of all of them count.
    roles : tuple of str
        What it acts as: "acid", "flammable", "ketone"; rules and mixtures speak of roles.
    classified : tuple of Classified
        How it is labelled, undiluted.
    notes : tuple of Said
        What dilution changes, and what else to know.
    as_if : str
        The key of a pure substance whose fire figures it is reckoned with, where its own vary with the can.
    figures : Figures, optional
        Figures that no data set of the library holds.
    """

    cas: tuple[str, ...]
    roles: tuple[str, ...] = ()
    classified: tuple[Classified, ...] = ()
    notes: tuple[Said, ...] = ()
    as_if: str = ""
    figures: Figures | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        for one in self.cas:
            check_cas(one)
        if not self.cas:
            raise ValueError("at least one CAS number is needed.")

    @property
    def signal(self) -> Signal:
        """The stronger signal word of all classifications."""
        words = {one.signal for one in self.classified}
        return "Danger" if "Danger" in words else "Warning" if "Warning" in words else ""


@dataclass(frozen=True, kw_only=True)
class Code(Row):
    """
    A hazard statement of the UN GHS.

    Attributes
    ----------
    code, says : str
        "H225"; its words.
    pictogram : str
        The symbol that goes with it, or nothing.
    """

    code: str
    says: str
    pictogram: str = ""

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.code,)


@dataclass(frozen=True, kw_only=True)
class Rule(Row):
    """
    A rule of the bench that holds for all substances of a role.

    Attributes
    ----------
    key : str
        Its name in the tables.
    topic : str
        What it is about: "ultrasonic bath", "gloves".
    roles : tuple of str
        For which; a rule for "any" holds for all.
    says : str
        The rule.
    caution : bool
        Whether it stands with the headline.
    """

    key: str
    topic: str
    roles: tuple[str, ...]
    says: str
    caution: bool = False

    @property
    def keys(self) -> tuple[Hashable, ...]:
        return (self.key,)


SUBSTANCES = Table("substances", Substance)
CODES = Table("ghs", Code)
RULES = Table("safety-rules", Rule)


def substance(reference: Reference, word: str) -> Substance:
    """
    The substance of a name or CAS number.

    Raises
    ------
    UnknownWord
        If no row answers to it.
    """
    rows = reference.rows(SUBSTANCES)
    number = word.strip()
    for one in rows.values():
        if number in one.cas:
            return one
    if is_cas(number):
        raise UnknownWord(number, "CAS number", ())
    return find(rows, word, "substance")


#: What a liquid burns by; taken from another substance where its own vary with the can.
FIRE = (
    "flash_k",
    "autoignition_k",
    "lower_fraction",
    "upper_fraction",
    "vapour_pressure_pa",
    "density_kg_m3",
    "molar_mass_kg_mol",
)


def figures(reference: Reference, one: Substance) -> Figures | None:
    """
    All figures of a substance: its own row's first, then those of its CAS numbers, then those by which it
    burns of the substance that stands for it. A workshop's own substance is looked up in the library.
    """
    found = [held for held in (one.figures, figures_of(reference, one.cas, look_up=one.own)) if held]
    if one.as_if:
        other = substance(reference, one.as_if)
        if held := figures_of(reference, other.cas):
            found.append(_standing_in(held, other.name))
    return merged(one.cas, found)


def _standing_in(figures: Figures, name: str) -> Figures:
    """The figures a liquid burns by, each noted as those of another substance."""
    fire = {
        quantity: tuple(replace(figure, note=f"of {name}") for figure in getattr(figures, quantity))
        for quantity in FIRE
    }
    return Figures(cas=figures.cas, source=figures.source, mark=figures.mark, own=figures.own, **fire)


def codes(reference: Reference, one: Substance) -> tuple[tuple[Code, Grounds], ...]:
    """
    The hazard statements of a substance, each with the grounds of the classification and of its words.

    Raises
    ------
    ValueError
        If the row names a code that no table holds.
    """
    table = reference.rows(CODES)
    found: dict[str, tuple[Code, Grounds]] = {}
    for classified in one.classified:
        for code in classified.codes:
            if code not in table:
                raise ValueError(
                    f"substances.toml, {one.key}: the hazard code is {code!r}. Expected one "
                    "of ghs.toml, or add it there."
                )
            found.setdefault(code, (table[code], (*classified.grounds, *table[code].grounds)))
    return tuple(found.values())


def pictograms(reference: Reference, one: Substance) -> tuple[str, ...]:
    """
    The symbols of a substance's label, by the UN GHS rules of precedence (1.4.10.5.3): no exclamation mark
    beside the skull, nor beside the corrosion symbol for skin and eyes alone.
    """
    found = [code for code, _ in codes(reference, one)]
    symbols = {code.pictogram for code in found if code.pictogram}
    skin_and_eyes = {"H315", "H319"}
    if "GHS05" in symbols and all(code.code in skin_and_eyes for code in found if code.pictogram == "GHS07"):
        symbols.discard("GHS07")
    if "GHS06" in symbols:
        symbols.discard("GHS07")
    return tuple(sorted(symbols))


def rules(reference: Reference, one: Substance) -> tuple[Rule, ...]:
    """The rules that hold for a substance, in the order of the table."""
    roles = {"any", *one.roles}
    return tuple(rule for rule in reference.rows(RULES).values() if roles.intersection(rule.roles))
