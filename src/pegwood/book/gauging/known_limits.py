"""
Every limit of the other instruments there is, with Pegwood's default of each.

An instrument joins with one entry for each of its limits; the settings' page, `pegwood settings`, what is
kept with a measurement and what the reader is handed all follow from it.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from pegwood.book.gauging.limit import GaugeLimit
from pegwood.instruments.verdicts import Bounds

__all__ = ["LIMITS"]


def _meter(name: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.meter import default_limits

        found: Bounds = getattr(default_limits(), name)
        return found

    return default


def _circle(film_format: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.rangefinder import circle

        found = circle(film_format)
        return Bounds(
            None, found.value, "m", found.source, found.mark, f"circle of confusion of {film_format}"
        )

    return default


def _vertical() -> Bounds:
    from pegwood.instruments.rangefinder import vertical_limit

    return vertical_limit()


def _torque(what: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.transport.friction import limit_of

        return limit_of(what)

    return default


def _strip(name: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.transport import default_limits

        found: Bounds = getattr(default_limits(), name)
        return found

    return default


def _slip() -> Bounds:
    from pegwood.instruments.transport.take_up import NEVER_SLACK

    return NEVER_SLACK


def _stops(n: int) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.iris import practice

        return practice().stops[n][2]

    return default


def _iris(name: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.iris import practice

        found: Bounds = getattr(practice(), name)
        return found

    return default


def _fog() -> Bounds:
    from pegwood.instruments.leaks import fog_limit

    return fog_limit()


def _glass() -> Bounds:
    whose = "Pegwood comes without one: how much a lens bears is the repairer's word"
    return Bounds(None, None, "percent", whose, "practice")


def _focus(name: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        from pegwood.instruments.focus import default_limits

        found: Bounds = getattr(default_limits(), name)
        return found

    return default


def _channel(side: str) -> Callable[[], Bounds]:
    def default() -> Bounds:
        both = _focus("channel")()
        low, high = (both.low, None) if side == "low" else (None, both.high)
        return Bounds(low, high, both.unit, both.source, both.mark, both.note)

    return default


_EV, _MM, _MNM, _PERCENT = (1.0, "EV"), (1e3, "mm"), (1e3, "mN m"), (1.0, "%")
_PERCENT_OF = (100.0, "%")
_ARCMIN, _DEGREES = (180 * 60 / math.pi, "arcmin"), (180 / math.pi, "°")

#: Every limit there is, by its key, in the order of the settings' page.
LIMITS: dict[str, GaugeLimit] = {
    one.key: one
    for one in (
        GaugeLimit(key="meter.error_ev", words="Error anywhere on the scale", side="either way",
                   default=_meter("error"), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="meter.hysteresis_ev", words="Light rising less falling", side="either way",
                   default=_meter("hysteresis"), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="meter.scatter_ev", words="Scatter of a reading", side="at most",
                   default=_meter("scatter"), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="iris.wide_ev", words="Light against the mark, wider than f/5", side="either way",
                   default=_stops(0), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="iris.small_ev", words="Light against the mark, from f/5.6 on", side="either way",
                   default=_stops(1), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="iris.returns_ev", words="A stop set twice from one side", side="either way",
                   default=_iris("returns"), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="iris.hysteresis_ev", words="Opening less closing", side="either way",
                   default=_iris("hysteresis"), shown=_EV, range=(0.01, 5)),
        GaugeLimit(key="focus.share_depths", words="Off best focus, of the depth of focus to one side",
                   side="either way", default=_focus("share"), shown=_PERCENT_OF, range=(0.01, 5)),
        GaugeLimit(key="focus.register_m", words="Register off the nominal one", side="either way",
                   default=_focus("register"), shown=_MM, range=(1e-6, 1e-3)),
        GaugeLimit(key="focus.channel-least_m", words="Film's channel", side="at least",
                   default=_channel("low"), shown=_MM, range=(2e-5, 2e-4)),
        GaugeLimit(key="focus.channel-most_m", words="Film's channel", side="at most",
                   default=_channel("high"), shown=_MM, range=(2e-4, 2e-3)),
        *(
            GaugeLimit(key=f"rangefinder.circle_{film_format}_m", words=f"Circle of confusion, {film_format}",
                       side="at most", default=_circle(film_format), shown=_MM, range=(1e-6, 1e-3),
                       also=("focus",))
            for film_format in ("135", "18x24", "6x4.5", "6x6", "6x7", "6x9")
        ),
        GaugeLimit(key="rangefinder.vertical_rad", words="Height of one image over the other, at the eye",
                   side="either way", default=_vertical, shown=_ARCMIN, range=(1e-5, 2e-2)),
        GaugeLimit(key="transport.spacing_m", words="Mean spacing off the format's own", side="either way",
                   default=_strip("spacing"), shown=_MM, range=(1e-5, 1e-2)),
        GaugeLimit(key="transport.scatter_m", words="Scatter of the spacing", side="at most",
                   default=_strip("scatter"), shown=_MM, range=(1e-5, 1e-2)),
        GaugeLimit(key="transport.gap_m", words="Narrowest gap between frames", side="at least",
                   default=_strip("gap"), shown=_MM, range=(0, 1e-2)),
        GaugeLimit(key="transport.square_rad", words="Gate's edges off square", side="either way",
                   default=_strip("square"), shown=_DEGREES, range=(1e-4, 0.2)),
        GaugeLimit(key="transport.slip_turns", words="Slip of the spool at the first frame", side="at least",
                   default=_slip, shown=(1.0, "turns"), range=(0, 10)),
        GaugeLimit(key="transport.rewind_n_m", words="Torque of rewinding, film in", side="at most",
                   default=_torque("rewind"), shown=_MNM, range=(1e-3, 5)),
        GaugeLimit(key="transport.advance-empty_n_m", words="Torque of advancing, no film", side="at most",
                   default=_torque("advance-empty"), shown=_MNM, range=(1e-3, 5)),
        GaugeLimit(key="transport.advance-film_n_m", words="Torque of advancing, film in", side="at most",
                   default=_torque("advance-film"), shown=_MNM, range=(1e-3, 5)),
        GaugeLimit(key="leaks.fog_density", words="Fog on bare film, in density", side="at most",
                   default=_fog, shown=(1.0, "density"), range=(0.01, 1)),
        GaugeLimit(key="glass.share_percent", words="Marked share, side light", side="at most",
                   default=_glass, shown=_PERCENT, range=(1e-3, 100)),
        GaugeLimit(key="glass.haze_percent", words="Haze, of a white card", side="at most",
                   default=_glass, shown=_PERCENT, range=(1e-3, 100)),
        GaugeLimit(key="glass.come_percent", words="Marks come by cleaning", side="at most",
                   default=_glass, shown=_PERCENT, range=(1e-3, 100)),
        GaugeLimit(key="glass.glare_percent", words="Veiling glare", side="at most",
                   default=_glass, shown=_PERCENT, range=(1e-2, 100)),
    )
}  # fmt: skip
