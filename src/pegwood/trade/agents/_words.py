"""Rows of the tables as lines that people read."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pegwood.trade.agents._judging import Reason
from pegwood.trade.agents._kinds import Agent, Verdict
from pegwood.trade.agents._tables import Tables
from pegwood.trade.answers import Section, Statement
from pegwood.trade.grounds import Grounds, joined, sourced

TITLES: dict[Verdict, str] = {
    "never": "Never",
    "with care": "With care",
    "safe": "Safe",
    "not known": "Not known: not to be taken for safe",
}


def listed(names: Iterable[str], most: int | None = None) -> str:
    """Names with commas; after the first few, how many more there are."""
    all_of_them = list(dict.fromkeys(names))
    shown = all_of_them if most is None or len(all_of_them) <= most + 1 else all_of_them[:most]
    more = len(all_of_them) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")


def sections(told: Iterable[tuple[str, Reason]]) -> tuple[Section, ...]:
    """
    A section for each verdict; what is alike for several things stands in one line.

    Parameters
    ----------
    told : iterable of (str, Reason)
        The thing's name and what is said of it.
    """
    found: dict[tuple[Verdict, str, Grounds], list[str]] = {}
    for name, reason in told:
        found.setdefault((reason.verdict, reason.why, reason.grounds), []).append(name)
    made = []
    for verdict in ("never", "with care", "safe", "not known"):
        lines = tuple(
            Statement(label=listed(names), verdict=one[0], says=one[1], grounds=one[2])
            for one, names in found.items()
            if one[0] == verdict
        )
        if lines:
            made.append(Section(title=TITLES[verdict], lines=lines))
    return tuple(made)


def cautions(read: Tables, agents: Iterable[Agent]) -> tuple[Statement, ...]:
    """What may hurt with these agents: that they burn, once for all of them, and what each says itself."""
    agents = list(dict.fromkeys(agents))
    burning = [agent for agent in agents if agent.flammable]
    told = []
    if burning:
        tank = [
            barred.grounds
            for method in read.methods.values()
            if method.kind == "bath" and (barred := method.with_flammable) and barred.verdict == "never"
        ]
        says = (
            f"Flammable ({listed((agent.name for agent in burning), 3)}): moving air, no flame, no spark, "
            "little at a time; never into the tank of an ultrasonic bath."
        )
        told.append(Statement(says=says, grounds=joined(*(agent.grounds for agent in burning), *tank)))
    told += [
        Statement(label=agent.name, says=agent.caution, grounds=agent.grounds)
        for agent in agents
        if agent.caution
    ]
    return tuple(told)


def as_data(reason: Reason, **names: Any) -> dict[str, Any]:
    """A reason for JSON."""
    return sourced(reason.grounds, **names, verdict=reason.verdict, why=reason.why)
