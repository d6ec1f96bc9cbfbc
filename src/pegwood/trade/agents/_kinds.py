"""What the tables of agents hold: the agents, how each meets each material, and how a liquid is put on."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Literal, get_args

from pegwood.trade.grounds import Grounded
from pegwood.trade.numbers import ZERO_C_K
from pegwood.trade.reference import Named, Row, Table

Verdict = Literal["safe", "with care", "not known", "never"]

#: From the best to the worst. What is not known stands behind what is possible with care: it is never open.
WORST_LAST: tuple[Verdict, ...] = get_args(Verdict)
OPEN: tuple[Verdict, ...] = ("safe", "with care")

Dirt = Literal[
    "dust",
    "oil",
    "old grease",
    "fingerprints",
    "salt",
    "tarnish",
    "verdigris",
    "rust",
    "fungus",
    "alkaline leakage",
    "acid leakage",
    "glue",
    "paint",
    "flux",
    "shellac",
]


@dataclass(frozen=True, kw_only=True)
class Agent(Named):
    """
    Something to clean, free or treat with.

    Attributes
    ----------
    use : str
        What it is for, in the repairer's words.
    strength : str
        The strength meant by everything told of it.
    lifts : tuple of str
        The dirt it takes off.
    substances : tuple of str
        What is in it, by the keys of the table of substances; empty where none of those is.
    flammable : bool
        Whether its vapour can be lit at the bench.
    residue : bool
        Whether it leaves something behind that has to be rinsed off.
    water_based : bool
        Whether it wets with water.
    gentle : int
        Its place among the agents; 0 is the gentlest.
    put_on : tuple of str
        The ways of applying it that are in use, by key; empty where it has no place in cleaning.
    rinse : tuple of tuple of str
        Ways to rinse it off, the usual first; each is a row of agents in their order, by key. An empty row:
        nothing to rinse.
    dry : tuple of str
        Ways to dry after it, the usual first.
    caution : str
        What may hurt hands, lungs or the camera, in one sentence.
    """

    use: str
    strength: str
    gentle: int
    flammable: bool
    residue: bool
    water_based: bool
    lifts: tuple[Dirt, ...] = ()
    substances: tuple[str, ...] = ()
    put_on: tuple[str, ...] = ()
    rinse: tuple[tuple[str, ...], ...] = ()
    dry: tuple[str, ...] = ()
    caution: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.gentle < 0:
            raise ValueError(f"gentle is {self.gentle}. Expected a place from 0 (the gentlest) upwards.")
        if self.put_on and not (self.rinse and self.dry):
            raise ValueError(f"{self.key!r} is put on, so it needs 'rinse' and 'dry'.")


@dataclass(frozen=True, kw_only=True)
class WithFlammable(Grounded):
    """What a method means for a liquid whose vapour can be lit; with its own source."""

    verdict: Verdict
    why: str


@dataclass(frozen=True, kw_only=True)
class Method(Named):
    """
    A way of cleaning or drying a part.

    Attributes
    ----------
    kind : str
        ``"dry"``: cleans without a liquid; ``"local"``: wets one place; ``"bath"``: wets the whole part;
        ``"drying"``: takes the liquid away.
    does : str
        How it is told, with a verb: "soak in", "dry in warm air".
    how : str
        How it is done.
    gentle : int
        Its place among the methods; 0 is the gentlest.
    rinsed_by : str
        The method by which a rinse follows it, by key; of wet methods.
    hottest_c : float, optional
        The temperature not to be passed, [°C].
    lifts : tuple of str
        The dirt it takes off by itself; of dry methods.
    with_flammable : WithFlammable, optional
        Where the method is no place for every liquid.
    """

    kind: Literal["dry", "local", "bath", "drying"]
    does: str
    how: str
    gentle: int
    rinsed_by: str = ""
    hottest_c: float | None = None
    lifts: tuple[Dirt, ...] = ()
    with_flammable: WithFlammable | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.wet != bool(self.rinsed_by):
            raise ValueError(f"{self.key!r}: 'rinsed_by' belongs to every wet method and to no other.")

    @property
    def wet(self) -> bool:
        """Whether it puts a liquid on."""
        return self.kind in ("local", "bath")

    @property
    def hottest_k(self) -> float | None:
        """The temperature not to be passed, [K]."""
        return None if self.hottest_c is None else round(self.hottest_c + ZERO_C_K, 2)


@dataclass(frozen=True, kw_only=True)
class _Spoken(Row):
    """A row with a verdict and why."""

    on: tuple[str, ...]
    verdict: Verdict
    why: str

    def __post_init__(self) -> None:
        super().__post_init__()
        if not self.why.strip():
            raise ValueError("a verdict needs its why.")


@dataclass(frozen=True, kw_only=True)
class AgentsOn(_Spoken):
    """How some agents, all alike in this, meet some materials."""

    agents: tuple[str, ...]

    @property
    def keys(self) -> tuple[Hashable, ...]:
        """Pairs of agent and material."""
        return tuple((agent, material) for agent in self.agents for material in self.on)


@dataclass(frozen=True, kw_only=True)
class MethodsOn(_Spoken):
    """How some materials bear some methods, whatever the liquid."""

    methods: tuple[str, ...]

    @property
    def keys(self) -> tuple[Hashable, ...]:
        """Pairs of method and material."""
        return tuple((method, material) for method in self.methods for material in self.on)


@dataclass(frozen=True, kw_only=True)
class Unclear(Row):
    """
    Words that may mean several things, or mean another thing than the one they look like.

    Attributes
    ----------
    words : tuple of str
        As people type them.
    of : str
        Where they are unclear: said of an ``"agent"`` or of a ``"material"``.
    may_mean : tuple of str
        Names in the table that may be meant; empty where the table has none of it.
    says : str
        What to know before one is chosen.
    """

    words: tuple[str, ...]
    of: Literal["agent", "material"]
    may_mean: tuple[str, ...]
    says: str

    @property
    def keys(self) -> tuple[Hashable, ...]:
        """Pairs of where and word."""
        return tuple((self.of, word) for word in self.words)


AGENTS = Table("agents", Agent)
METHODS = Table("methods", Method)
MATRIX = Table("matrix", AgentsOn)
METHODS_ON = Table("methods-on", MethodsOn)
UNCLEAR = Table("unclear", Unclear)
