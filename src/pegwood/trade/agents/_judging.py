"""May this agent touch that material, put on like this? The worst of all that bears on it, with every why."""

from __future__ import annotations

from dataclasses import dataclass

from pegwood.trade.agents._kinds import WORST_LAST, Agent, Method, Verdict
from pegwood.trade.agents._tables import Tables
from pegwood.trade.grounds import Ground, Grounds, joined
from pegwood.trade.materials import Material
from pegwood.trade.reference import Reference
from pegwood.trade.wording import capital

#: What "not known" rests on where no row speaks: the tables were looked through.
NO_ROW: Grounds = (Ground("the tables here: no row speaks for this pair", "seen"),)


def worst(*verdicts: Verdict) -> Verdict:
    """The worst of several verdicts: never, then not known, then with care, then safe."""
    return max(verdicts, key=WORST_LAST.index)


@dataclass(frozen=True, kw_only=True)
class Reason:
    """
    One thing that bears on a judgement.

    Attributes
    ----------
    what : str
        The agent or the method that it is said of: "naphtha", "soaking".
    about : str
        The whole pair: "naphtha on shellac", "naphtha, soaking".
    verdict : str
        ``"safe"``, ``"with care"``, ``"not known"`` or ``"never"``.
    why : str
        In the repairer's words.
    grounds : tuple of Ground
        What it rests on.
    """

    what: str
    about: str
    verdict: Verdict
    why: str
    grounds: Grounds


@dataclass(frozen=True, kw_only=True)
class Judgement:
    """
    Whether an agent may touch a material.

    Attributes
    ----------
    agent : Agent
    material : Material
    method : Method or None
        How it is put on, where that was asked.
    reasons : tuple of Reason
        All that bears on it, the worst first.
    """

    agent: Agent
    material: Material
    method: Method | None
    reasons: tuple[Reason, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of the reasons'."""
        return worst(*(reason.verdict for reason in self.reasons))

    @property
    def why(self) -> str:
        """The why of every reason that is as bad as the worst."""
        return " ".join(reason.why for reason in self.reasons if reason.verdict == self.verdict)

    @property
    def grounds(self) -> Grounds:
        """What all the reasons rest on."""
        return joined(*(reason.grounds for reason in self.reasons))


def verdict(reference: Reference, agent: str, material: str, method: str | None = None) -> Judgement:
    """
    May this agent touch that material?

    Parameters
    ----------
    reference : Reference
        The tables.
    agent, material : str
        By any of their names.
    method : str, optional
        How it is put on; it can make the verdict worse and never better.

    Raises
    ------
    UnclearWord
        If a name may mean several things.
    UnknownWord
        If a table does not have it.
    """
    read = Tables(reference)
    put_on = None if method is None else read.method(method)
    return judged(read, read.agent(agent), read.material(material), put_on)


def judged(read: Tables, agent: Agent, material: Material, method: Method | None = None) -> Judgement:
    """As `verdict`, of rows already found."""
    reasons = [agent_on(read, agent, material)]
    if method:
        reasons.append(method_on(read, method, material))
        reasons += agent_by(agent, method)
    reasons.sort(key=lambda reason: -WORST_LAST.index(reason.verdict))
    return Judgement(agent=agent, material=material, method=method, reasons=tuple(reasons))


def agent_on(read: Tables, agent: Agent, material: Material) -> Reason:
    """What the matrix says of an agent on a material; where it says nothing: not known."""
    about = f"{agent.name} on {material.name}"
    if row := read.matrix.get((agent.key, material.key)):
        return Reason(what=agent.name, about=about, verdict=row.verdict, why=row.why, grounds=row.grounds)
    why = "Nobody here can say; try it where nobody sees, or leave it."
    return Reason(what=agent.name, about=about, verdict="not known", why=why, grounds=NO_ROW)


def method_on(read: Tables, method: Method, material: Material) -> Reason:
    """How a material bears a method, whatever the liquid; where the table says nothing: not known."""
    about = f"{method.name} on {material.name}"
    if row := read.methods_on.get((method.key, material.key)):
        return Reason(what=method.name, about=about, verdict=row.verdict, why=row.why, grounds=row.grounds)
    why = "Nobody here can say how it bears that."
    return Reason(what=method.name, about=about, verdict="not known", why=why, grounds=NO_ROW)


def agent_by(agent: Agent, method: Method) -> tuple[Reason, ...]:
    """What speaks against putting this agent on like this, whatever the material."""
    about = f"{agent.name}, {method.name}"
    found = []
    barred = method.with_flammable
    if agent.flammable and barred:
        found.append(
            Reason(
                what=agent.name, about=about, verdict=barred.verdict, why=barred.why, grounds=barred.grounds
            )
        )
        if barred.verdict == "never":
            return tuple(found)
    if method.kind != "drying" and method.key not in agent.put_on:
        why = capital(f"{agent.name} is not put on like this ({method.name}).")
        found.append(
            Reason(what=agent.name, about=about, verdict="not known", why=why, grounds=agent.grounds)
        )
    return tuple(found)
