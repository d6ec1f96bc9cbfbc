"""
A lever between lens and mirror with both its adjusters, and turning them to and fro.

The model. The lens pushes a follower at the end of an arm; the arm turns the lever, and the lever turns the
mirror by `ratio` times its own turn. A mirror that turns by m moves the image by 2 m, so the images of a
target at v dioptres coincide when the lever has turned by ``k v``, with ``k = base / (2 ratio)``. With an arm
of length ``a`` times the right one, standing `tilt` off square to the push at infinity, and an infinity screw
that sets mirror against lever by `zero`, the lens is then found at

    shown = (asin(a sin(tilt + zero + k v)) - tilt) / k      [dpt]

whose cam is cut so that ``a = 1``, ``zero = 0`` shows the truth. The infinity screw moves all readings alike;
the arm turns them about ``v = -tilt / k``, where it has no hold: square to the push. So each disturbs what
the other set, unless the arm is square at infinity, and setting one end right and then the other leaves a
fixed share of the error each time, ``tan(tilt + k far) / tan(tilt + k near)``: the convergence factor.

Plane geometry and the law of reflection; worked out here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

from pegwood.instruments.readings import RefusedReadings

__all__ = ["MOST_ROUNDS", "Lever", "Order", "Rounds", "Step", "rounds_needed", "simulate"]

MOST_ROUNDS: Final = 40
Order = Literal["infinity screw at the far end", "infinity screw at the near end"]


@dataclass(frozen=True)
class Lever:
    """
    The lever and how its adjusters stand.

    Parameters
    ----------
    base_m : float
        From window to window, [m].
    ratio : float
        Turn of the mirror for a turn of the lever, [-].
    tilt_rad : float
        How far the arm stands off square to the follower's push with the lens at infinity, [rad]; positive
        where it goes on away from square as the lens comes out.
    arm : float
        Length of the arm over its right one, [-].
    zero_rad : float
        How far the infinity screw is from its right place, [rad] of the lever.

    Raises
    ------
    RefusedReadings
        If it cannot be built.
    """

    base_m: float
    ratio: float
    tilt_rad: float
    arm: float = 1.0
    zero_rad: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.ratio) and self.ratio > 0):
            raise RefusedReadings(
                "A lever ratio is above zero, mirror over lever, such as 0.2.", "lever_ratio"
            )
        if not abs(self.tilt_rad) < math.radians(60):
            raise RefusedReadings(
                "A follower's arm stands less than 60 degrees off square, such as 5.", "lever_tilt_deg"
            )

    @property
    def turn_per_dpt(self) -> float:
        """Turn of the lever for a dioptre, [rad/dpt]."""
        return self.base_m / (2 * self.ratio)

    @property
    def steady_dpt(self) -> float:
        """Where turning the gain changes nothing, [dpt]."""
        return -self.tilt_rad / self.turn_per_dpt

    def shown(self, true_dpt: float) -> float:
        """What the scale shows when the images of a target there coincide, [dpt]; nan where they never do."""
        sine = self.arm * math.sin(self._at(true_dpt) + self.zero_rad)
        if abs(sine) > 1:
            return math.nan
        return (math.asin(sine) - self.tilt_rad) / self.turn_per_dpt

    def error(self, true_dpt: float) -> float:
        """Shown less true vergence, [dpt]."""
        return self.shown(true_dpt) - true_dpt

    def factor(self, far_dpt: float, near_dpt: float) -> float:
        """Share of the error left after a round: screw at the far end, then arm at the near one, [-]."""
        below = math.tan(self._at(near_dpt))
        return math.tan(self._at(far_dpt)) / below if below else math.inf

    def standing_at(self, far: tuple[float, float], near: tuple[float, float]) -> Lever:
        """
        The same lever with its adjusters set so that it shows given figures at two distances.

        Parameters
        ----------
        far, near : (float, float)
            True and shown vergence, [dpt].

        Returns
        -------
        lever : Lever
        """
        first, second = (math.sin(self._at(shown)) for _, shown in (far, near))
        apart = self._at(near[0]) - self._at(far[0])
        along = (second - first * math.cos(apart)) / math.sin(apart)
        zero = math.atan2(first, along) - self._at(far[0])
        return replace(self, arm=math.hypot(first, along), zero_rad=zero)

    def with_screw_set(self, at_dpt: float) -> Lever | None:
        """After turning the infinity screw until the reading there is right; None where it cannot be."""
        sine = math.sin(self._at(at_dpt)) / self.arm
        if abs(sine) > 1:
            return None
        return replace(self, zero_rad=math.asin(sine) - self._at(at_dpt))

    def with_arm_set(self, at_dpt: float) -> Lever | None:
        """After setting the arm until the reading there is right; None where it has no hold there."""
        below = math.sin(self._at(at_dpt) + self.zero_rad)
        arm = math.sin(self._at(at_dpt)) / below if abs(below) > 1e-12 else math.nan
        return replace(self, arm=arm) if 0.2 < arm < 5 else None

    def _at(self, vergence_dpt: float) -> float:
        return self.tilt_rad + self.turn_per_dpt * vergence_dpt


@dataclass(frozen=True)
class Step:
    """What one turn of an adjuster left at both ends, [dpt]."""

    turned: Literal["as found", "infinity screw", "gain"]
    far_error_dpt: float
    near_error_dpt: float


@dataclass(frozen=True)
class Rounds:
    """
    Turning to and fro, simulated.

    Parameters
    ----------
    order : str
        At which end the infinity screw is set; the gain at the other.
    factor : float
        Share of the error a round leaves, [-]; its sign says whether it swings over.
    rounds : int or None
        Until both ends are right to `within_dpt`; None where that never comes.
    within_dpt : float
        [dpt]
    steps : tuple of Step
        As found, and after each turn.
    """

    order: Order
    factor: float
    rounds: int | None
    within_dpt: float
    steps: tuple[Step, ...]


def simulate(lever: Lever, far_dpt: float, near_dpt: float, within_dpt: float, order: Order) -> Rounds:
    """
    Turn both adjusters to and fro until both ends are right.

    Parameters
    ----------
    lever : Lever
        As found.
    far_dpt, near_dpt : float
        Where it is read, [dpt].
    within_dpt : float
        Error at which to stop, [dpt].
    order : str
        Which end the infinity screw is set at; the gain is set at the other.

    Returns
    -------
    rounds : Rounds
        A round is one turn of each.
    """
    far_first = order == "infinity screw at the far end"
    screw_at, arm_at = (far_dpt, near_dpt) if far_first else (near_dpt, far_dpt)
    steps = [Step("as found", lever.error(far_dpt), lever.error(near_dpt))]
    factor = lever.factor(far_dpt, near_dpt)
    if not far_first:
        factor = 1 / factor if factor else math.inf
    done: int | None = 0 if _right(steps[-1], within_dpt) else None
    held: Lever | None = lever
    for n in range(1, MOST_ROUNDS + 1):
        if done is not None:
            break
        for turned in ("infinity screw", "gain"):
            held = None if held is None else _turned(held, turned, screw_at, arm_at)
            if held is not None:
                what: Literal["infinity screw", "gain"] = "gain" if turned == "gain" else "infinity screw"
                steps.append(Step(what, held.error(far_dpt), held.error(near_dpt)))
        if held is None or not math.isfinite(steps[-1].far_error_dpt + steps[-1].near_error_dpt):
            break
        if _right(steps[-1], within_dpt):
            done = n
    finite = tuple(s for s in steps if math.isfinite(s.far_error_dpt + s.near_error_dpt))
    return Rounds(order, factor, done, within_dpt, finite)


def _turned(lever: Lever, what: str, screw_at: float, arm_at: float) -> Lever | None:
    return lever.with_screw_set(screw_at) if what == "infinity screw" else lever.with_arm_set(arm_at)


def _right(step: Step, within_dpt: float) -> bool:
    return max(abs(step.far_error_dpt), abs(step.near_error_dpt)) <= within_dpt


def rounds_needed(error_dpt: float, factor: float, within_dpt: float) -> int | None:
    """
    Rounds until an error that shrinks by a factor each time is small enough.

    Parameters
    ----------
    error_dpt, within_dpt : float
        Now, and wanted, [dpt].
    factor : float
        Share a round leaves, [-].

    Returns
    -------
    rounds : int or None
        None where it does not shrink, or not within `MOST_ROUNDS`.
    """
    if abs(error_dpt) <= within_dpt:
        return 0
    if abs(factor) >= 1:
        return None
    if factor == 0:
        return 1
    needed = math.ceil(math.log(within_dpt / abs(error_dpt)) / math.log(abs(factor)) - 1e-9)
    return needed if needed <= MOST_ROUNDS else None
