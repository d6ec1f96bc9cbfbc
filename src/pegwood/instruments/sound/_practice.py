"""What is known of a shutter's sounds beforehand, from the table beside this file."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from pegwood.instruments.given import table_beside
from pegwood.instruments.uncertainty import Component, Mark

__all__ = ["Practice", "Role", "practice"]


@dataclass(frozen=True)
class Role:
    """A kind of sound: level against the closing's [dB], how many, and when [s] from what it goes with."""

    level_db: float
    spread_db: float
    expected: float = 1.0
    from_s: float = 0.0
    to_s: float = 0.0


@dataclass(frozen=True)
class Practice:
    """
    The table.

    Parameters
    ----------
    roles : dict of str to Role
        "opening", "closing", "release", "rattle", "gear", "mirror", "stray".
    firing : dict of str to float
        Rate of firings, range of times, shares; see the table.
    choices : dict of str to tuple of (float, float)
        What differs from recording to recording and is weighed by what is heard: value and share.
    u_s : dict of str to (float, str)
        Standard uncertainties, [s], with how they came about.
    source, mark : str
        Of all of it.
    """

    roles: dict[str, Role]
    firing: dict[str, float]
    choices: dict[str, tuple[tuple[float, float], ...]]
    u_s: dict[str, tuple[float, str]]
    source: str
    mark: Mark

    def component(self, name: str, key: str, share: float = 1.0) -> Component:
        """
        A line of the budget.

        Parameters
        ----------
        name : str
            What contributes.
        key : str
            Which of `u_s`.
        share : float
            Factor on it, [-].

        Returns
        -------
        component : Component
            [s].
        """
        u, note = self.u_s[key]
        return Component(name, share * u, note=note, source=self.source, mark=self.mark)


@cache
def practice() -> Practice:
    """
    The table, read once.

    Returns
    -------
    practice : Practice
        All of it.
    """
    table = table_beside(__package__)
    roles = {}
    for name in ("opening", "closing", "release", "rattle", "gear", "mirror", "stray"):
        row = table[name]
        timed = {key: row[key] for key in ("expected", "from_s", "to_s") if key in row}
        roles[name] = Role(row["level_db"], row["spread_db"], **timed)
    choices = {
        name: tuple(zip(table[name][key], table[name]["share"], strict=True))
        for name, key in (("gear", "per_second"), ("stray", "per_second"), ("loudest", "above_db"))
    }
    share = table["mirror"]["share"]
    choices["mirror"] = ((0.0, 1 - share), (1.0, share))
    u_s = {f"moment {kind}": (row["u_s"], row["note"]) for kind, row in table["moment"].items()}
    mirror = table["mirror_taken_for_curtain"]
    u_s["mirror"] = (mirror["u_s"], mirror["note"])
    u_s["codec"] = (table["codec"]["window_s"] / 12**0.5, table["codec"]["note"])
    return Practice(roles, table["firing"], choices, u_s, table["source"], table["mark"])
