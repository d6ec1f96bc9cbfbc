"""
A net of faults and signs: faults come independently of each other, and each present one may show a sign.

A sign has levels in their order, from 0 (nothing to be seen) up; what is seen is the highest that a present
fault, or the leak, shows: noisy-MAX, and noisy-OR where there are two levels (Pearl 1988 for noisy-OR,
Henrion 1989 for the leak, Diez 1993 for noisy-MAX; memory). Strengths are "net": of the fault alone, without
the leak.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

#: How far the chances of a distribution may be from one together.
SLACK = 1e-9


@dataclass(frozen=True, kw_only=True)
class SignNode:
    """
    A sign.

    Attributes
    ----------
    id : str
    leak : tuple of float
        Chance of each level when no fault of the net is present, [1]; two levels or more.
    """

    id: str
    leak: tuple[float, ...]

    def __post_init__(self) -> None:
        _check(self.leak, f"the leak of {self.id!r}")


@dataclass(frozen=True, kw_only=True)
class Link:
    """
    That a fault shows a sign.

    Attributes
    ----------
    fault, sign : str
    shows : tuple of float
        Chance of each level, were the fault alone and there no leak, [1].
    """

    fault: str
    sign: str
    shows: tuple[float, ...]

    def __post_init__(self) -> None:
        _check(self.shows, f"what {self.fault!r} shows of {self.sign!r}")


@dataclass(frozen=True)
class FaultNet:
    """
    Faults, signs, and links between them.

    Attributes
    ----------
    priors : mapping of str to float
        Chance of each fault before any sign, [1].
    signs : mapping of str to SignNode
    links : tuple of Link
        At most one from a fault to a sign.

    Raises
    ------
    ValueError
        If a chance cannot be, or a link speaks of what is not there.
    """

    priors: Mapping[str, float]
    signs: Mapping[str, SignNode]
    links: tuple[Link, ...]
    of_sign: Mapping[str, tuple[Link, ...]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        _check_priors(self.priors)
        found: dict[str, list[Link]] = {one: [] for one in self.signs}
        seen: set[tuple[str, str]] = set()
        for link in self.links:
            if link.fault not in self.priors:
                raise ValueError(f"a link speaks of {link.fault!r}, which is no fault here.")
            if link.sign not in self.signs:
                raise ValueError(f"a link speaks of {link.sign!r}, which is no sign here.")
            if (link.fault, link.sign) in seen:
                raise ValueError(f"{link.fault!r} is linked to {link.sign!r} twice.")
            if len(link.shows) != len(self.signs[link.sign].leak):
                raise ValueError(f"{link.fault!r} shows {link.sign!r} in other levels than the sign has.")
            seen.add((link.fault, link.sign))
            found[link.sign].append(link)
        object.__setattr__(self, "of_sign", {sign: tuple(links) for sign, links in found.items()})

    def with_chances(
        self, priors: Mapping[str, float], leaks: Mapping[str, tuple[float, ...]] | None = None
    ) -> FaultNet:
        """
        The same net with other chances of its faults and of some leaks; its links are not checked again.

        Raises
        ------
        ValueError
            If a chance cannot be, or they are not those of the same faults in the same order.
        """
        _check_priors(priors)
        if list(priors) != list(self.priors):
            raise ValueError("these are not the faults of this net, in its order.")
        other = copy.copy(self)
        object.__setattr__(other, "priors", priors)
        if leaks:
            changed = {sign: SignNode(id=sign, leak=leak) for sign, leak in leaks.items()}
            object.__setattr__(other, "signs", {**self.signs, **changed})
        return other


def _check_priors(priors: Mapping[str, float]) -> None:
    for fault, prior in priors.items():
        if not (math.isfinite(prior) and 0 <= prior <= 1):
            raise ValueError(f"the chance of {fault!r} is {prior:g}. Expected 0 to 1.")


def _check(chances: tuple[float, ...], what: str) -> None:
    if len(chances) < 2:
        raise ValueError(f"{what} has {len(chances)} levels. Expected two or more.")
    if not all(math.isfinite(one) and 0 <= one <= 1 for one in chances):
        raise ValueError(f"{what} holds a chance that is not from 0 to 1.")
    if abs(math.fsum(chances) - 1) > SLACK:
        raise ValueError(f"the chances of {what} come to {math.fsum(chances):g} together. Expected 1.")
