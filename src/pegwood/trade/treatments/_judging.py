"""What may be done about corrosion seen on a part, as far as every material of the part allows it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from pegwood.trade.agents import Agent, Judgement, Method, Reason, Tables, Verdict, judged, method_on, worst
from pegwood.trade.grounds import Grounds, joined
from pegwood.trade.materials import Material
from pegwood.trade.metals import Corrosion, Treatment, corrosion_on
from pegwood.trade.reference import Reference
from pegwood.trade.wording import capital


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """
    A treatment, judged on a part.

    Attributes
    ----------
    product : Corrosion
        What it is for.
    treatment : Treatment
        Agents one after another, minutes, waiting, caution.
    agents : tuple of Agent
        The agents of the treatment.
    reasons : tuple of (Material, Reason)
        What bears on it, material by material, the worst first.
    """

    product: Corrosion
    treatment: Treatment
    agents: tuple[Agent, ...]
    reasons: tuple[tuple[Material, Reason], ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of all: one material that must never meet one of the agents closes it."""
        return worst(*(reason.verdict for _, reason in self.reasons))

    @property
    def is_open(self) -> bool:
        """Whether it may be proposed; what is not known is never taken for safe."""
        return self.verdict in ("safe", "with care")

    @property
    def what(self) -> str:
        """What is done, in a few words: "citric acid, then distilled water (soak)"."""
        names = ", then ".join(agent.name for agent in self.agents)
        how = self.treatment.method.replace("-", " ")
        return f"{names} ({how})" if names else how

    @property
    def why(self) -> tuple[str, ...]:
        """What speaks against it or calls for care, each once, with the material it is about."""
        bad = [(one, reason) for one, reason in self.reasons if reason.verdict == self.verdict != "safe"]
        return tuple(dict.fromkeys(f"{capital(one.name)}: {reason.why}" for one, reason in bad))

    @property
    def grounds(self) -> Grounds:
        """What the treatment rests on, and what its verdict rests on."""
        decides = (reason.grounds for _, reason in self.reasons if reason.verdict == self.verdict)
        return joined(self.treatment.grounds, *decides)


@dataclass(frozen=True, kw_only=True)
class Treatments:
    """
    What may be done about what was seen.

    Attributes
    ----------
    products : tuple of Corrosion
        What it may be, the best fit first; empty where the words are of nothing that the tables know.
    open, closed : tuple of Proposal
        What the part's materials allow, the gentlest first; and what they do not, or nobody knows of.
    """

    products: tuple[Corrosion, ...]
    open: tuple[Proposal, ...]
    closed: tuple[Proposal, ...]


def treatments(reference: Reference, materials: Iterable[str], seen: str) -> Treatments:
    """
    What may be done about corrosion on a part.

    Parameters
    ----------
    reference : Reference
        The tables.
    materials : iterable of str
        All materials that the part is made of or finished with, by name.
    seen : str
        How it was found.

    Raises
    ------
    UnknownWord, UnclearWord
        If a table does not know a material.
    """
    read = Tables(reference)
    parts = tuple(dict.fromkeys(read.material(one) for one in materials))
    products = corrosion_on(reference, [part.key for part in parts], seen)
    proposals = [_judged(read, parts, row, one) for row in products for one in row.treatments]
    return Treatments(
        products=products,
        open=tuple(one for one in proposals if one.is_open),
        closed=tuple(one for one in proposals if not one.is_open),
    )


def _judged(read: Tables, parts: tuple[Material, ...], product: Corrosion, treatment: Treatment) -> Proposal:
    method = read.method(treatment.method)
    agents = tuple(read.agent(key) for key in treatment.treat_with)
    reasons = [(part, method_on(read, method, part)) for part in parts]
    for place, agent in enumerate(agents):
        put_on = _put_on(read, method, place)
        reasons += [(part, _worst(judged(read, agent, part, put_on))) for part in parts]
    order = ("never", "not known", "with care", "safe")
    reasons.sort(key=lambda one: order.index(one[1].verdict))
    return Proposal(product=product, treatment=treatment, agents=agents, reasons=tuple(reasons))


def _put_on(read: Tables, method: Method, place: int) -> Method:
    """How the agent at that place is put on: the first as the treatment says, the next as its rinse."""
    return method if place == 0 or not method.rinsed_by else read.method(method.rinsed_by)


def _worst(judgement: Judgement) -> Reason:
    return judgement.reasons[0]
