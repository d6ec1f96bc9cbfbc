"""When a flash contact should close: the settings of a shutter, what each asks for, and whether it is met."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from pegwood.instruments.given import table_beside
from pegwood.instruments.shutter.limits import KINDS
from pegwood.instruments.uncertainty import Mark, Measured
from pegwood.instruments.verdicts import Limit, Verdict, verdict

__all__ = [
    "CAUTION",
    "MOMENTS",
    "SETTINGS",
    "ContactRow",
    "ContactVerdict",
    "contact_verdict",
    "default_contact_rows",
    "rows_for",
]

SETTINGS = ("electronic", "M", "FP")
"""Settings of a flash contact: X for electronic flash, M and FP for bulbs."""
MOMENTS = ("first light", "80 % open", "fully open", "middle of the exposure", "begins to close")
"""Moments of a light curve that a contact is held against."""
_IN_WORDS = {
    "first light": "first light",
    "80 % open": "the shutter is 80 % open",
    "fully open": "the shutter is fully open",
    "middle of the exposure": "the middle of the exposure",
    "begins to close": "the shutter begins to close",
}
CAUTION = (
    "A flash and its capacitor stay charged, for days, and after it was switched off. Never wire a charged "
    "flash, or a contact a flash hangs on, to a sound card: take the flash off, and let the contact switch a "
    "few volts from a battery through a resistor divider. The maker's sheet comes first."
)
"""Said wherever a contact is measured (practice of the trade)."""

ContactVerdict = Verdict | Literal["cannot tell"]


@dataclass(frozen=True)
class ContactRow:
    """
    What a setting asks of the contact.

    Parameters
    ----------
    setting : str
        One of `SETTINGS`.
    kind : str
        One of `KINDS`, or "any".
    moment : str
        One of `MOMENTS`.
    low_ms, high_ms : float or None
        How long before that moment the contact is to close, [ms]; negative is after it, None an open side.
    source, mark, note : str
        Whose figure it is, how well that is known, and what to know about it.
    place : str
        Where the sensor of a focal-plane shutter has to look; empty where that does not matter.
    only_against : bool
        True where a sensor at one place can show that the row is not met but never that it is.

    Raises
    ------
    ValueError
        If a field can't be; the message says which and what would do.
    """

    setting: str
    kind: str
    moment: str
    low_ms: float | None
    high_ms: float | None
    source: str
    mark: Mark
    note: str = ""
    place: str = ""
    only_against: bool = False

    def __post_init__(self) -> None:
        for value, name, allowed in (
            (self.setting, "setting", SETTINGS),
            (self.kind, "kind of shutter", (*KINDS, "any")),
            (self.moment, "moment", MOMENTS),
        ):
            if value not in allowed:
                raise ValueError(f"A contact's {name} is one of {', '.join(allowed)}, not {value!r}")
        sides = [side for side in (self.low_ms, self.high_ms) if side is not None]
        if not sides or not all(math.isfinite(side) for side in sides) or sides != sorted(sides):
            raise ValueError(
                f"Contact {self.setting}: low_ms and high_ms must be finite, in order, and one of them given"
            )
        if not self.source.strip() or self.mark not in ("seen", "memory", "practice"):
            raise ValueError(f"Contact {self.setting}: it must say whose figure it is: source and mark")

    @classmethod
    def from_mapping(cls, row: Mapping[str, Any]) -> ContactRow:
        """
        Build a row from plain data (TOML, JSON).

        Parameters
        ----------
        row : mapping
            The fields above by name.

        Returns
        -------
        row : ContactRow
            The checked row.

        Raises
        ------
        ValueError
            If a field is missing, unknown or impossible.
        """
        try:
            return cls(**{"low_ms": None, "high_ms": None, **row})
        except TypeError as error:
            raise ValueError(f"A contact has a missing, unknown or unreadable field: {error}") from error

    def met_by(self, lead: Measured | None) -> ContactVerdict:
        """
        Whether a contact meets this row.

        Parameters
        ----------
        lead : Measured or None
            How long before the row's moment it closed, [s]; None where that moment was not seen.

        Returns
        -------
        verdict : str
            By the 95 % interval; "cannot tell" where this can't be seen.
        """
        if lead is None:
            return "cannot tell"
        said = verdict(lead.scaled(1e3), Limit(self.low_ms, self.high_ms, self.source, self.mark))
        return "cannot tell" if self.only_against and said != "outside" else said

    def in_words(self, kind: str) -> str:
        """
        What the row asks, for people.

        Parameters
        ----------
        kind : str
            Kind of shutter it is asked of, one of `KINDS`.

        Returns
        -------
        words : str
            One line without its source.
        """
        if self.low_ms is None:
            when = "not before" if self.high_ms == 0 else f"at most {self.high_ms:g} ms before"
        elif self.high_ms is None:
            when = f"at least {self.low_ms:g} ms before"
        else:
            when = f"{self.low_ms:g} to {self.high_ms:g} ms before"
        where = f", the sensor at {self.place}" if self.place and kind != "leaf" else ""
        return f"{self.setting}: contact closes {when} {_IN_WORDS[self.moment]}{where}"


@cache
def default_contact_rows() -> tuple[ContactRow, ...]:
    """
    What Pegwood comes with, each row with its source and mark.

    Returns
    -------
    rows : tuple of ContactRow
        All settings and kinds.
    """
    return tuple(
        ContactRow.from_mapping(row) for row in table_beside(__package__, "contacts.toml")["contact"]
    )


def rows_for(setting: str, kind: str) -> tuple[ContactRow, ...]:
    """
    All that a setting asks of a kind of shutter.

    Parameters
    ----------
    setting : str
        One of `SETTINGS`.
    kind : str
        One of `KINDS`.

    Returns
    -------
    rows : tuple of ContactRow
        All of them must hold.

    Raises
    ------
    ValueError
        If the setting or kind is unknown.
    """
    if setting not in SETTINGS:
        raise ValueError(f"No setting {setting!r}: expected one of {', '.join(SETTINGS)}")
    if kind not in KINDS:
        raise ValueError(f"No kind of shutter {kind!r}: expected one of {', '.join(KINDS)}")
    return tuple(
        row for row in default_contact_rows() if row.setting == setting and row.kind in (kind, "any")
    )


def contact_verdict(rows: Sequence[ContactRow], leads: Mapping[str, Measured | None]) -> ContactVerdict:
    """
    What a contact is worth for one setting.

    Parameters
    ----------
    rows : sequence of ContactRow
        All that the setting asks.
    leads : mapping of str to (Measured or None)
        For every moment how long before it the contact closed, [s].

    Returns
    -------
    verdict : str
        "outside" if any row is not met; "within" only if all are.
    """
    said: set[ContactVerdict] = {row.met_by(leads.get(row.moment)) for row in rows}
    order: tuple[ContactVerdict, ...] = ("outside", "cannot tell", "too close to call", "within")
    return next((one for one in order if one in said), "no limit given")
