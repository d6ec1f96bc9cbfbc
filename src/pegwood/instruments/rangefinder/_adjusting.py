"""What is to be done about it: what to turn, how the adjusters disturb each other, what can't be had."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pegwood.instruments.rangefinder import advice as say
from pegwood.instruments.rangefinder._practice import practice
from pegwood.instruments.rangefinder.curve import Curve
from pegwood.instruments.rangefinder.film import film_slope
from pegwood.instruments.rangefinder.finder import Finder
from pegwood.instruments.rangefinder.lever import Lever, Order, simulate
from pegwood.instruments.rangefinder.results import AtDistance, Turn, Turning
from pegwood.instruments.rangefinder.rounds import MeasuredRounds, measured_rounds
from pegwood.instruments.rangefinder.vertical import Vertical

__all__ = ["ToDo", "to_do"]


@dataclass(frozen=True)
class ToDo:
    """What to turn, in figures and in words."""

    turns: tuple[Turn, ...]
    advice: tuple[str, ...]
    turning: Turning | None
    rounds: MeasuredRounds | None


def to_do(
    curve: Curve | None,
    before: Curve | None,
    finder: Finder,
    vertical: Vertical | None,
    distances: Sequence[AtDistance],
) -> ToDo:
    """
    What to do about a finder.

    Parameters
    ----------
    curve, before : Curve or None
        Now, and before the last round of turning.
    finder : Finder
    vertical : Vertical or None
    distances : sequence of AtDistance
        Infinity first.

    Returns
    -------
    todo : ToDo
    """
    far, near = distances[0].true_dpt, distances[-1].true_dpt
    beyond = say.beyond_the_base(distances, finder.stop, _stop_to_be_had(distances, finder))
    if curve is None:
        remedy = "Read at three true distances at least: infinity, the nearest, and one between; twice each."
        return ToDo((), (remedy, *beyond), None, None)
    turns = say.turns_for(
        curve.offset,
        curve.gain,
        vertical,
        kind=finder.kind,
        base=finder.base,
        focal_m=finder.focal_m,
        nearest_dpt=near,
        screw_dpt_per_turn=finder.screw_dpt_per_turn,
        gain_per_turn=finder.gain_per_turn,
    )
    if all(_small(one, finder) for one in distances):
        turns = tuple(one for one in turns if one.what == "vertical")
    turning = _turning(curve, finder, far, near) if finder.kind == "coupled" else None
    lines = [say.turn_in_words(one, near) for one in turns]
    sideways = [one for one in turns if one.what != "vertical"]
    if turning is not None and any(one.what == "gain" for one in turns) and before is None:
        lines += say.turning_in_words(turning, far, near)
    rounds = None
    if before is not None:
        rounds = measured_rounds(before.gain, curve.gain, near - far, _good_enough(finder, near))
        lines.append(say.rounds_in_words(rounds))
    lines += _of_the_cam(curve, finder)
    if finder.kind == "screen" and not _right(curve):
        lines.append("Gain: a screen has none to turn; the lens's own scale is to be looked at.")
    if not sideways:
        lines += _nothing_to_turn(distances, finder, sum(one.n for one in distances))
    return ToDo(turns, (*lines, *beyond), turning, rounds)


def _stop_to_be_had(distances: Sequence[AtDistance], finder: Finder) -> float:
    return max(one.allows.film_m for one in distances) / finder.circle.value


def _small(one: AtDistance, finder: Finder) -> bool:
    """Whether what is there lies so far within the limit that nobody needs to turn anything."""
    if one.film_error is None or one.verdict == "outside":
        return False
    low, high = one.film_error.coverage_interval()
    half = finder.stop * finder.circle.value
    return max(abs(low), abs(high)) <= half


def _right(curve: Curve) -> bool:
    low, high = curve.gain.coverage_interval()
    return low <= 1 <= high


def _good_enough(finder: Finder, near_dpt: float) -> float:
    """Error at which turning may end, [dpt]."""
    half = finder.stop * finder.circle.value
    share = practice("adjusted", "share").value
    return max(share * half / film_slope(finder.at_lens(near_dpt), finder.focal_m), finder.best_dpt)


def _turning(curve: Curve, finder: Finder, far: float, near: float) -> Turning:
    ordinary = practice("lever", "ratio")
    given = finder.lever_ratio is not None
    ratio = ordinary.value if finder.lever_ratio is None else finder.lever_ratio
    tilt = finder.lever_tilt_rad
    if tilt is None:
        tilt = math.radians(practice("lever", "tilt_deg").value)
    right = Lever(finder.base.length_m, ratio, tilt)
    found = right.standing_at((far, curve.shown(far).value), (near, curve.shown(near).value))
    within = _good_enough(finder, near)
    orders: tuple[Order, Order] = ("infinity screw at the far end", "infinity screw at the near end")
    both = [simulate(found, far, near, within, order) for order in orders]
    both.sort(key=lambda one: (one.rounds is None, abs(one.factor)))
    best, other = both
    moves = -(curve.gain.value - 1) * (far - right.steady_dpt)
    overshoot = best.factor / (1 - best.factor) if best.factor < 1 else None
    source = "told with the readings" if given else ordinary.source
    mark = "" if given else ordinary.mark
    return Turning(found, given, source, mark, moves, best, other, overshoot)


def _of_the_cam(curve: Curve, finder: Finder) -> list[str]:
    """What is said of the bow, where it is told from none."""
    if curve.bow is None:
        return []
    low, high = curve.bow.coverage_interval()
    if low <= 0 <= high:
        return []
    middle = curve.nearest_dpt / 2
    sag = -curve.bow.value * middle**2
    on_film = film_slope(finder.at_lens(middle), finder.focal_m) * sag
    which = "too near" if sag > 0 else "too far"
    where = "The cam" if finder.kind == "coupled" else "The scale or its cam"
    line = (
        f"{where} is worn or the wrong one: with both ends right, {say.of_distance(middle)} is shown "
        f"{which} by {abs(sag):.4f} dpt, {1e3 * abs(on_film):.3f} mm on the film. No turning takes that out; "
    )
    if abs(on_film) <= finder.stop * finder.circle.value:
        return [line + "it lies within the limit: set both ends right and leave it."]
    return [line + "sharing it between the ends and the middle halves it."]


def _nothing_to_turn(distances: Sequence[AtDistance], finder: Finder, n: int) -> list[str]:
    if all(_small(one, finder) for one in distances):
        return ["Leave it: at every distance read the error lies within the depth of focus."]
    if any(one.verdict == "outside" for one in distances):
        return ["Neither offset nor gain is told from right; what is outside is the shape between them."]
    if not any(one.allows.to_be_had for one in distances):
        return ["Turn nothing: no error is told from what an eye can do with this base."]
    needed = 0
    half = finder.stop * finder.circle.value
    for one in distances:
        if one.film_error is None or not one.allows.to_be_had:
            continue
        room = half - abs(one.film_error.value)
        if room > 0:
            needed = max(needed, math.ceil(n * (2.1 * one.film_error.u / room) ** 2))
    more = f"about {max(needed, n + 2)} readings in all" if 0 < needed <= 60 else "many more readings"
    return [f"Turn nothing yet: no error is told from scatter. {more[0].upper()}{more[1:]} would tell."]
