"""What to turn, by how much and which way, in plain words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from pegwood.instruments.rangefinder._practice import ARCMIN
from pegwood.instruments.rangefinder.base import Base
from pegwood.instruments.rangefinder.results import AtDistance, Kind, Turn, Turning
from pegwood.instruments.rangefinder.rounds import MeasuredRounds
from pegwood.instruments.rangefinder.vertical import Vertical
from pegwood.instruments.uncertainty import Measured

__all__ = [
    "beyond_the_base",
    "of_distance",
    "rounds_in_words",
    "turn_in_words",
    "turning_in_words",
    "turns_for",
]


def of_distance(vergence_dpt: float) -> str:
    """A distance in words."""
    return "infinity" if vergence_dpt == 0 else f"{1 / vergence_dpt:.3g} m"


def turns_for(
    offset: Measured,
    gain: Measured,
    vertical: Vertical | None,
    *,
    kind: Kind,
    base: Base,
    focal_m: float,
    nearest_dpt: float,
    screw_dpt_per_turn: float | None,
    gain_per_turn: float | None,
) -> tuple[Turn, ...]:
    """
    What to turn so that nothing is left, of what the readings tell from right.

    Parameters
    ----------
    offset, gain : Measured
        [dpt], [-].
    vertical : Vertical or None
    kind : str
    base : Base
    focal_m : float
        [m]
    nearest_dpt : float
        Nearest distance read, [dpt].
    screw_dpt_per_turn, gain_per_turn : float or None
        What one turn does to offset and gain, as somebody has tried, [dpt], [-].

    Returns
    -------
    turns : tuple of Turn
        Vertical, infinity, gain: in that order, since each disturbs what comes after it.
    """
    turns = []
    if vertical is not None and vertical.verdict != "within" and _told(vertical.error, 0):
        higher = vertical.error.value > 0
        turns.append(
            Turn(
                "vertical",
                "the moving image stands too high: lower it"
                if higher
                else "the moving image stands too low: raise it",
                mirror_rad=abs(vertical.error.value) / 2,
                at_eye_rad=abs(vertical.error.value) * base.magnification,
            )
        )
    if _told(offset, 0):
        turns.append(_of_offset(offset.value, kind, base, focal_m, screw_dpt_per_turn))
    if _told(gain, 1) and kind != "screen":
        turns.append(_of_gain(gain.value, kind, base, focal_m, nearest_dpt, gain_per_turn))
    return tuple(turns)


def _told(measured: Measured, right: float) -> bool:
    low, high = measured.coverage_interval()
    return not low <= right <= high


def _of_offset(offset: float, kind: Kind, base: Base, focal_m: float, per_turn: float | None) -> Turn:
    travel = focal_m**2 * offset
    turns = None if per_turn is None else -offset / per_turn
    if kind == "screen":
        way = "too short: move it away from the lens" if offset > 0 else "too long: move it towards the lens"
        return Turn("screen", f"the way from mount to screen is {way}", -offset, -travel, turns=turns)
    way = (
        "so that infinity is shown farther: the images then meet with the lens farther in"
        if offset > 0
        else "so that infinity is shown nearer: the images then meet with the lens farther out"
    )
    return Turn(
        "infinity screw",
        way,
        -offset,
        -travel,
        abs(offset) * base.length_m / 2,
        abs(offset) * base.effective_m,
        turns=turns,
    )


def _of_gain(
    gain: float, kind: Kind, base: Base, focal_m: float, nearest_dpt: float, per_turn: float | None
) -> Turn:
    by = (1 - gain) * nearest_dpt
    if kind == "coupled":
        way = (
            "shorten the follower's arm: the mirror must turn more for the same travel of the lens"
            if gain > 1
            else "lengthen the follower's arm: the mirror must turn less for the same travel of the lens"
        )
    else:
        way = (
            "the finder's scale or cam must move less for the same turn of the mirror"
            if gain > 1
            else "the finder's scale or cam must move more for the same turn of the mirror"
        )
    return Turn(
        "gain",
        way,
        by,
        focal_m**2 * by,
        abs(by) * base.length_m / 2,
        abs(by) * base.effective_m,
        1 / gain,
        None if per_turn is None else (1 - gain) / per_turn,
    )


def turn_in_words(turn: Turn, nearest_dpt: float) -> str:
    """
    A turn as a line.

    Parameters
    ----------
    turn : Turn
    nearest_dpt : float
        Where the gain's change is told, [dpt].

    Returns
    -------
    line : str
    """
    turns = (
        "" if turn.turns is None else f"; {abs(turn.turns):.2g} turns {'back' if turn.turns < 0 else 'on'}"
    )
    if turn.what == "vertical":
        return (
            f"Vertical first: {turn.direction} by {_arcmin(turn.at_eye_rad)} at the eye (mirror or wedge "
            f"{_arcmin(turn.mirror_rad)} of tilt). Then read infinity again: "
            "a wedge that turns moves it sideways too."
        )
    by, travel = turn.by_dpt or 0.0, turn.travel_m or 0.0
    if turn.what == "screen":
        return (
            f"Screen: {turn.direction} by {1e3 * abs(travel):.3f} mm ({by:+.4f} dpt){turns}. "
            "Make sure first that the mirror rests on its stop and that the lens's own infinity is right."
        )
    if turn.what == "infinity screw":
        return (
            f"Infinity screw: turn it {turn.direction}; by {by:+.4f} dpt = {1e3 * travel:+.3f} mm of "
            f"lens travel, {_arcmin(turn.mirror_rad)} of mirror, {_arcmin(turn.at_eye_rad)} between "
            f"the images{turns}."
        )
    ratio = turn.ratio or 1.0
    return (
        f"Gain: {turn.direction}; by {100 * (ratio - 1):+.2g} %, which is {by:+.4f} dpt = "
        f"{1e3 * travel:+.3f} mm of lens travel at {of_distance(nearest_dpt)}{turns}."
    )


def turning_in_words(turning: Turning, far_dpt: float, near_dpt: float) -> tuple[str, ...]:
    """
    How the two adjusters disturb each other, as lines.

    Parameters
    ----------
    turning : Turning
    far_dpt, near_dpt : float
        [dpt]

    Returns
    -------
    lines : tuple of str
    """
    best = turning.best
    screw, arm = (far_dpt, near_dpt) if "far" in best.order else (near_dpt, far_dpt)
    whose = "" if turning.given else " (an ordinary lever; tell its ratio, or read before and after a round)"
    lines = []
    if abs(turning.infinity_moves_dpt) > best.within_dpt:
        lines.append(
            f"Setting the gain right moves infinity by {turning.infinity_moves_dpt:+.4f} dpt{whose}: "
            "infinity is set again after it."
        )
    to_and_fro = f"set the infinity screw at {of_distance(screw)}, then the gain at {of_distance(arm)}"
    if best.rounds is None:
        lines.append(
            f"To and fro does not close in on this lever{whose}: a round leaves "
            f"{abs(best.factor):.0%} of the error."
        )
    elif best.rounds > 0:
        lines.append(
            f"To and fro{whose}: {to_and_fro}; a round leaves {abs(best.factor):.0%} of the error, "
            f"so {best.rounds} round{'s' if best.rounds > 1 else ''}."
        )
    if (
        turning.overshoot is not None
        and abs(turning.overshoot) > 0.1
        and (best.rounds is None or best.rounds > 1)
    ):
        lines.append(_past(turning.overshoot, of_distance(arm), of_distance(screw)))
    return tuple(lines)


def _past(overshoot: float, arm: str, screw: str) -> str:
    if overshoot > 0:
        how = f"{overshoot:.0%} of its error past right"
    else:
        how = f"only until {abs(overshoot):.0%} of its error is left"
    return (
        f"Quicker: turn the gain at {arm} {how}, then set {screw} by the infinity screw; both ends then meet."
    )


def rounds_in_words(rounds: MeasuredRounds) -> str:
    """What the readings before and after a round tell, as a line."""
    if rounds.factor is None or rounds.factor_95 is None:
        return f"How fast it closes in is not told: {rounds.why_not}."
    low, high = rounds.factor_95
    head = f"The last round left {rounds.factor.value:.0%} of the gain error ({low:.0%} to {high:.0%})"
    if rounds.converging == "does not close in":
        return f"{head}: it does not close in. Set the screw at the other end, the gain at this one."
    if rounds.rounds_left == 0:
        return f"{head}: what is left is small enough. Stop here."
    left = "not within reach" if rounds.rounds_left is None else f"{rounds.rounds_left} more"
    most = (
        "without a bound" if rounds.rounds_left_at_most is None else f"{rounds.rounds_left_at_most} at most"
    )
    return f"{head}: rounds left: {left}, {most}."


def beyond_the_base(distances: Sequence[AtDistance], stop: float, stop_to_be_had: float) -> tuple[str, ...]:
    """
    Where the base can't hold the limit, so that nobody chases it.

    Parameters
    ----------
    distances : sequence of AtDistance
    stop, stop_to_be_had : float
        Widest stop, and the one at which the base would do, [-].

    Returns
    -------
    lines : tuple of str
        One or none.
    """
    beyond = [one for one in distances if not one.allows.to_be_had]
    if not beyond:
        return ()
    where = ", ".join(of_distance(one.true_dpt) for one in beyond)
    worst = max(one.allows.film_m for one in beyond)
    return (
        f"Not to be had at {where}: a setting by eye is uncertain by {1e3 * worst:.3f} mm on the film, "
        f"more than f/{stop:g} forgives. Don't chase it: "
        f"from f/{math.ceil(10 * stop_to_be_had) / 10:g} on the base is enough.",
    )


def _arcmin(angle_rad: float | None) -> str:
    return "–" if angle_rad is None else f"{angle_rad / ARCMIN:.2g} arcmin"
