"""Threads, the families they belong to, and how often each is met."""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from pegwood.trade.grounds import Ground, Grounds, joined
from pegwood.trade.names import UnknownWord, find, nearest
from pegwood.trade.numbers import INCH_M
from pegwood.trade.reference import Named, Reference, Table
from pegwood.trade.threads.limits import Limits, limits_of

Crest = Literal["flat", "rounded"]
#: Where a family says how often it is met there: its fields by name.
From = Literal["japan", "continent", "britain", "america", "watch"]
#: No thread of a camera or of the tools beside it is thicker: filter rings included.
LARGEST_M = 0.3


@dataclass(frozen=True, kw_only=True)
class Form(Named):
    """
    The shape of a thread.

    Attributes
    ----------
    angle_deg : float
        Angle between the flanks, [degree].
    crest : str
        ``"flat"`` or ``"rounded"``.
    height : str
        The rule for the height of the thread.
    d2, d1, d3 : float
        How far effective diameter, basic minor diameter and the screw's minor diameter lie under the outside
        diameter, in pitches, [1].
    """

    angle_deg: float
    crest: Crest
    height: str
    d2: float
    d1: float
    d3: float

    def __post_init__(self) -> None:
        super().__post_init__()
        if not 0 < self.angle_deg < 180:
            raise ValueError(f"the angle is {self.angle_deg:g}. Expected degrees above 0 and below 180.")


@dataclass(frozen=True, kw_only=True)
class Origin(Named):
    """Where a camera was made; `often` is how many of a hundred on the bench are from there."""

    often: float

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.key not in get_args(From):
            raise ValueError(f"the key is {self.key!r}. Expected one of: {', '.join(get_args(From))}.")


@dataclass(frozen=True, kw_only=True)
class Family(Named):
    """
    Threads of one standard.

    Attributes
    ----------
    form : str
        Key of their `Form`.
    limits : str
        How their outside diameters are limited: a key of `limits.CLASSES`.
    japan, continent, britain, america, watch : float
        How many of a hundred screws in a camera of that origin are of the family.
    """

    form: str
    limits: str
    japan: float
    continent: float
    britain: float
    america: float
    watch: float

    def share(self, origin: str) -> float:
        """Of a hundred screws of that origin, how many are of this family."""
        return float(getattr(self, origin))


@dataclass(frozen=True, kw_only=True)
class ThreadRow(Named):
    """
    One size as its table gives it: in millimetres, or in inches and threads per inch.

    Attributes
    ----------
    family : str
        Key of its `Family`.
    form : str
        Key of its `Form`, where that is not its family's.
    d_mm, p_mm : float
        Outside diameter and pitch, [mm].
    d_in, per_inch : float
        Outside diameter, [inch]; threads per inch, [1/inch].
    d_low_mm, d_high_mm : float
        Limits of the screw's outside diameter where its own standard prints them, [mm].
    often : float
        How often it is met, against its family's other sizes, [1].
    """

    family: str
    form: str = ""
    d_mm: float | None = None
    p_mm: float | None = None
    d_in: float | None = None
    per_inch: float | None = None
    d_low_mm: float | None = None
    d_high_mm: float | None = None
    often: float = 1.0

    def __post_init__(self) -> None:
        super().__post_init__()
        metric, inch = (self.d_mm, self.p_mm), (self.d_in, self.per_inch)
        given = [one for one in (*metric, *inch) if one is not None]
        if (None in metric) == (None in inch) or min(given) <= 0:
            raise ValueError("expected d_mm and p_mm, or d_in and per_inch, all above zero.")
        if not self.pitch_m < self.diameter_m < LARGEST_M:
            raise ValueError(
                f"{self.diameter_m * 1e3:g} mm with a pitch of {self.pitch_m * 1e3:g} mm is no screw: "
                f"expected the diameter above the pitch and below {LARGEST_M * 1e3:g} mm."
            )
        if (self.d_low_mm is None) != (self.d_high_mm is None):
            raise ValueError("expected both limits, d_low_mm and d_high_mm, or neither.")
        if self.often <= 0:
            raise ValueError(f"often is {self.often:g}. Expected a number above zero.")

    @property
    def diameter_m(self) -> float:
        """Outside diameter by name, [m]."""
        return self.d_mm * 1e-3 if self.d_mm is not None else (self.d_in or 0.0) * INCH_M

    @property
    def pitch_m(self) -> float:
        """Pitch, [m]."""
        return self.p_mm * 1e-3 if self.p_mm is not None else INCH_M / (self.per_inch or 1.0)


@dataclass(frozen=True, kw_only=True)
class Thread:
    """
    A size with what its family says of it.

    Attributes
    ----------
    row : ThreadRow
        As the table gives it.
    family : Family
        What it belongs to.
    form : Form
        Its shape.
    limits : Limits
        Between which outside diameters a screw of it is made, [m].
    """

    row: ThreadRow
    family: Family
    form: Form
    limits: Limits

    @property
    def name(self) -> str:
        """As it is told."""
        return self.row.name

    @property
    def diameter_m(self) -> float:
        """Outside diameter by name, [m]."""
        return self.row.diameter_m

    @property
    def pitch_m(self) -> float:
        """Pitch, [m]."""
        return self.row.pitch_m

    @property
    def grounds(self) -> Grounds:
        """What its size rests on."""
        return self.row.grounds


FORMS = Table("thread-forms", Form)
FAMILIES = Table("thread-families", Family)
ORIGINS = Table("thread-origins", Origin)
#: The last is the one a workshop's own threads belong in; in any of them an own row stands before all others.
SIZES = tuple(
    Table(stem, ThreadRow)
    for stem in (
        "threads-iso",
        "threads-old-metric",
        "threads-iso-1501",
        "threads-unified",
        "threads-ba",
        "threads-loewenherz",
        "threads-thury",
        "threads",
    )
)


def threads(reference: Reference) -> Mapping[Hashable, Thread]:
    """
    All threads by key, in the order of the tables.

    Raises
    ------
    TableError
        If a table is not as its schema says.
    ValueError
        If a row names a family or a form that no table holds.
    """
    return reference.once("threads", lambda: _threads(reference))


def _threads(reference: Reference) -> Mapping[Hashable, Thread]:
    families, forms = reference.rows(FAMILIES), reference.rows(FORMS)
    rows: dict[Hashable, ThreadRow] = {}
    for table in SIZES:
        for key, row in reference.rows(table).items():
            if key not in rows or not rows[key].own:
                rows[key] = row
    return {key: _whole(row, families, forms) for key, row in rows.items()}


def _whole(row: ThreadRow, families: Mapping[Hashable, Family], forms: Mapping[Hashable, Form]) -> Thread:
    if row.family not in families:
        raise UnknownWord(row.family, "family of threads", nearest(row.family, map(str, families)))
    family = families[row.family]
    if (row.form or family.form) not in forms:
        raise UnknownWord(row.form or family.form, "form of thread", nearest(row.form, map(str, forms)))
    form = forms[row.form or family.form]
    if row.d_low_mm is not None and row.d_high_mm is not None:
        limits = Limits(row.d_low_mm * 1e-3, row.d_high_mm * 1e-3, *row.grounds)
    else:
        limits = limits_of(family.limits, row.diameter_m, row.pitch_m)
    return Thread(row=row, family=family, form=form, limits=limits)


def find_thread(reference: Reference, word: str) -> Thread:
    """
    The thread of that name, spelt as people spell it: "M2", "m2 x 0.4", "2BA", "#2-56", "1/4-20".

    Raises
    ------
    UnknownWord
        With the three nearest names, if there is none.
    """
    all_threads = threads(reference)
    rows = {key: one.row for key, one in all_threads.items()}
    spelt = re.sub(r"\s*[x×*]\s*", "x", word.strip().lower().replace(",", "."))
    spelt = re.sub(r"^(m|s)\s+(?=\d)", r"\1", spelt)
    spelt = re.sub(r"^(\d+)\s+ba$|^ba\s*(\d+)$", r"\1\2ba", spelt)
    try:
        return all_threads[find(rows, spelt, "thread").key]
    except UnknownWord as unknown:
        raise UnknownWord(word, "thread", unknown.nearest) from None


Odds = tuple[dict[str, dict[Hashable, float]], Grounds]


def odds(reference: Reference, origin: str | None = None) -> Odds:
    """
    Of screws in cameras, before one is measured: how probable each origin and thread is.

    Parameters
    ----------
    reference : Reference
        The tables.
    origin : str, optional
        Where the camera was made; without it, all origins weigh as their table says.

    Returns
    -------
    odds : dict
        Probability of origin and thread together, by origin and by thread, [1]; the whole adds up to one.
    grounds : tuple of Ground
        What that rests on.

    Raises
    ------
    UnknownWord
        If no table holds the origin.
    """
    origins = reference.rows(ORIGINS)
    among = (find(origins, origin, "origin"),) if origin else tuple(origins.values())
    return reference.once(("odds", tuple(one.key for one in among)), lambda: _odds(reference, among))


def _odds(reference: Reference, among: Sequence[Origin]) -> Odds:
    families = reference.rows(FAMILIES)
    in_family: dict[str, float] = {}
    all_threads = threads(reference)
    for one in all_threads.values():
        in_family[one.family.key] = in_family.get(one.family.key, 0.0) + one.row.often
    whole = sum(place.often for place in among)
    found: dict[str, dict[Hashable, float]] = {}
    for place in among:
        screws = sum(families[key].share(place.key) for key in in_family)
        found[place.key] = {
            key: place.often / whole
            * one.family.share(place.key) / screws
            * one.row.often / in_family[one.family.key]
            for key, one in all_threads.items()
        }  # fmt: skip
    grounds = joined(*(row.grounds for row in (*families.values(), *among)))
    return found, grounds


#: What `often` of a size rests on, whatever its size rests on.
NOT_COUNTED = Ground(
    "common bench practice: how often threads are met in cameras; nobody has counted", "practice"
)
