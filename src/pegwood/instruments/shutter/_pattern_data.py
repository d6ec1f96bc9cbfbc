"""What the trade holds likely about a shutter's errors, as data: signs, their sizes, the usual adjustment."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from importlib import resources
from typing import Any, Literal, TypeVar

from pegwood.instruments.shutter.limits import KINDS
from pegwood.instruments.uncertainty import Mark

__all__ = ["Advice", "Knowledge", "Practice", "SignRow", "Size", "knowledge", "read_knowledge"]

SHAPES = ("all", "slow", "fast", "equal", "delay", "one", "scattered", "own", "none")
"""How a sign shows: as a shape of the errors over the speeds, or ("own") by a measure of its own."""
Shape = Literal["all", "slow", "fast", "equal", "delay", "one", "scattered", "own", "none"]
_SIZED = ("all", "slow", "fast", "one")

Row = TypeVar("Row")


@dataclass(frozen=True)
class Size:
    """One normal distribution of a sign's size: mean and standard deviation, [EV], and its weight, [-]."""

    mean_ev: float
    sd_ev: float
    weight: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.mean_ev) and self.sd_ev > 0 and self.weight > 0):
            raise ValueError("a size has a finite mean_ev, and sd_ev and weight above zero")


@dataclass(frozen=True)
class SignRow:
    """
    A sign as the table holds it.

    Parameters
    ----------
    id, name : str
        Stable name for programs; name for people.
    shape : str
        One of `SHAPES`.
    figure : str
        What its figure is the figure of.
    prior : float
        Share of shutters on a bench that show it, [-]; 0 where it follows from other lines.
    least_speeds : int
        Marked speeds below which nothing can be told.
    to_tell : str
        What to measure where it can't be told.
    source, mark : str
        Where the row comes from and how well that is known.
    sizes : tuple of Size
        How large it is where it is.
    kind : str
        Kind of shutter that can show it: one of `KINDS`, or "any".
    direction : int
        1 or -1 for a time added or missing; else 0.

    Raises
    ------
    ValueError
        If a field can't be.
    """

    id: str
    name: str
    shape: Shape
    figure: str
    prior: float
    least_speeds: int
    to_tell: str
    source: str
    mark: Mark
    sizes: tuple[Size, ...] = ()
    direction: int = 0
    kind: str = "any"

    def __post_init__(self) -> None:
        _needs_kind(self.kind)
        if self.shape not in SHAPES:
            raise ValueError(f"shape is one of {', '.join(SHAPES)}, not {self.shape!r}")
        if not 0 <= self.prior < 1 or (self.prior == 0) != (self.shape == "none" or self.is_continuous):
            raise ValueError(
                f"prior is a share below 1, and above 0 if the sign is weighed, not {self.prior!r}"
            )
        if (self.shape in _SIZED) != bool(self.sizes) or (self.shape == "delay") != (
            abs(self.direction) == 1
        ):
            raise ValueError(f"shape {self.shape!r} needs its sizes or its direction, and no other")
        if self.least_speeds < 1:
            raise ValueError("least_speeds is at least 1")
        _needs_words(self.name, self.figure, self.to_tell)
        _needs_source(self.source, self.mark)

    @property
    def is_continuous(self) -> bool:
        """True for a sign that is a figure beyond a bound, so that its prior follows from the figure's."""
        return self.id in ("scatter", "taper-late", "taper-early")


@dataclass(frozen=True)
class Advice:
    """
    The usual adjustment for a sign: what to try first, and the caution.

    Parameters
    ----------
    sign : str
        The sign's id.
    kind : str
        One of `KINDS`, or "any".
    order : tuple of str
        What to do, first things first; the maker's sheet or another measurement comes before any tool.
    caution : str
        Said where the work is shown.
    source, mark : str
        Where it comes from and how well that is known.

    Raises
    ------
    ValueError
        If a field can't be.
    """

    sign: str
    kind: str
    order: tuple[str, ...]
    caution: str
    source: str
    mark: Mark

    def __post_init__(self) -> None:
        _needs_kind(self.kind)
        if not self.order:
            raise ValueError("order must hold at least one step")
        _needs_words(self.caution, *self.order)
        _needs_source(self.source, self.mark)


@dataclass(frozen=True)
class Practice:
    """How sound and unsound shutters are taken to be; the lines of `pattern.toml` under the same names."""

    sound_offset_ev: float
    between_ev: tuple[float, ...]
    between_weights: tuple[float, ...]
    scattered_ev: tuple[float, ...]
    scattered_weights: tuple[float, ...]
    slow_break_s: tuple[float, float]
    fast_break_s: tuple[float, float]
    slow_full_s: float
    fast_full_s: float
    bypassed_s: float
    bypassed_sd_ev: float
    delay_median_s: float
    delay_factor: float
    firing_ev: float
    firing_df: float
    scatter_bound_ev: float
    first_ev: float
    first_sd_ev: float
    first_rested: float
    first_sound_ev: float
    share_a: float
    share_b: float
    false_alarm: float
    travel_sound_s: float
    travel_unequal_s: float
    travel_unequal_share: float
    taper_bound_ev: float
    taper_between_ev: float
    source: str
    mark: Mark

    def __post_init__(self) -> None:
        _needs_source(self.source, self.mark)
        for field in fields(self):
            value = getattr(self, field.name)
            for number in value if isinstance(value, tuple) else (value,):
                if not isinstance(number, str) and not (math.isfinite(number) and number > 0):
                    raise ValueError(f"{field.name} must be above zero, not {number!r}")
        for name in ("between", "scattered"):
            weights = getattr(self, f"{name}_weights")
            if len(weights) != len(getattr(self, f"{name}_ev")) or abs(sum(weights) - 1) > 1e-9:
                raise ValueError(f"{name}_weights must match {name}_ev and add up to 1")
        for name in ("slow_break_s", "fast_break_s"):
            ends = getattr(self, name)
            if len(ends) != 2 or not ends[0] < ends[1]:
                raise ValueError(f"{name} needs a shorter and a longer time")
        for name in ("first_rested", "false_alarm", "travel_unequal_share"):
            if not getattr(self, name) < 1:
                raise ValueError(f"{name} is a share below 1")


@dataclass(frozen=True)
class Knowledge:
    """Practice, signs by id in the table's order, and what is usually done about each."""

    practice: Practice
    signs: dict[str, SignRow]
    advice: tuple[Advice, ...]

    def advice_for(self, sign: str, kind: str | None) -> Advice | None:
        """
        The usual adjustment for a sign.

        Parameters
        ----------
        sign : str
            Its id.
        kind : str or None
            One of `KINDS`; None if not known.

        Returns
        -------
        advice : Advice or None
            The row of that kind of shutter before the one for any.
        """
        rows = [row for row in self.advice if row.sign == sign and row.kind in (kind, "any")]
        return next((row for row in rows if row.kind == kind), rows[0] if rows else None)


def read_knowledge(text: str, name: str = "pattern.toml") -> Knowledge:
    """
    Read and check a table of signs.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        What to call it in a refusal.

    Returns
    -------
    knowledge : Knowledge
        The checked table.

    Raises
    ------
    ValueError
        If it can't be read or a row can't be; the message names the table, the row and what is wrong.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"{name}: {error}") from error
    practice = _built(Practice, data.get("practice", {}), f"{name}: [practice]")
    signs: dict[str, SignRow] = {}
    for place, row in enumerate(data.get("sign", []), 1):
        where = f"{name}: sign {place} ({row.get('id', 'without id')})"
        sizes = tuple(_built(Size, size, where) for size in row.get("sizes", []))
        sign = _built(SignRow, {**row, "sizes": sizes}, where)
        if sign.id in signs:
            raise ValueError(f"{where}: that id stands there twice")
        signs[sign.id] = sign
    advice = tuple(
        _built(Advice, row, f"{name}: advice {place} ({row.get('sign', 'without sign')})")
        for place, row in enumerate(data.get("advice", []), 1)
    )
    known = Knowledge(practice, signs, advice)
    for row in advice:
        if row.sign not in signs:
            raise ValueError(f"{name}: advice for {row.sign!r}, which is no sign of this table")
    for kind in (*KINDS, None):
        if silent := [sign for sign in signs if known.advice_for(sign, kind) is None]:
            raise ValueError(f"{name}: no advice for {silent[0]!r} of a {kind or 'shutter of unknown kind'}")
    return known


@cache
def knowledge() -> Knowledge:
    """
    The table Pegwood comes with, all marked `practice`.

    Returns
    -------
    knowledge : Knowledge
        Read once.
    """
    return read_knowledge(resources.files(__package__).joinpath("pattern.toml").read_text(encoding="utf-8"))


def _built(kind: type[Row], row: Mapping[str, Any], where: str) -> Row:
    given = {key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}
    try:
        return kind(**given)
    except (TypeError, ValueError) as error:
        raise ValueError(f"{where}: {error}") from error


def _needs_kind(kind: str) -> None:
    if kind not in (*KINDS, "any"):
        raise ValueError(f"kind is one of {', '.join(KINDS)} or any, not {kind!r}")


def _needs_words(*texts: str) -> None:
    if not all(text.strip() for text in texts):
        raise ValueError("name, figure, to_tell, order and caution must not be empty")


def _needs_source(source: str, mark: str) -> None:
    if not source.strip() or mark not in ("seen", "memory", "practice"):
        raise ValueError("it must say whose figure it is: source and mark")
