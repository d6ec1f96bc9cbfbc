"""
Charts a repairer would rather look at: light curves, speeds against their limits, a price as twenty jobs.

Each function returns what the chart library's own JavaScript draws from, as plain data. The library is loaded
when the first chart is asked for: it takes most of a second, and no other page needs it. Every chart stands
beside a table of the same figures, so nothing here is the only way to read anything.
"""

from pegwood.web.charts._back import BACK_HEIGHT, back_with_leaks
from pegwood.web.charts._cells import current_over_light
from pegwood.web.charts._curtains import CURTAINS_HEIGHT, can_draw_curtains, curtains
from pegwood.web.charts._errors import error_over
from pegwood.web.charts._finder import FinderPoint, finder_on_film
from pegwood.web.charts._focus import ScaleMark, ShotPoint, scale_on_film, through_focus
from pegwood.web.charts._frame import FRAME_HEIGHT, FramePoint, heights_over_frame
from pegwood.web.charts._iris import errors_by_mark, opening
from pegwood.web.charts._light import light_curve, light_curve_height, short_edges, word_rows
from pegwood.web.charts._look import COLOURS, Item, Scheme
from pegwood.web.charts._minutes import MINUTES_HEIGHT, JobMinutes, estimated_and_real
from pegwood.web.charts._overlay import ALIGNED, LINES, OVERLAY_HEIGHT, Alignment, Laid, Line, overlay
from pegwood.web.charts._price import SPREAD_HEIGHT, price_spread
from pegwood.web.charts._reliability import RELIABILITY_HEIGHT, Told, reliability
from pegwood.web.charts._shares import shares
from pegwood.web.charts._speeds import Reading, Speed, error_range, error_ticks, speeds, speeds_height
from pegwood.web.charts._spool import spool_turns, torque_pulls
from pegwood.web.charts._stops import StopPoint, shift_by_stop
from pegwood.web.charts._strip import STRIP_HEIGHT, frames_along

__all__ = [
    "ALIGNED",
    "BACK_HEIGHT",
    "COLOURS",
    "CURTAINS_HEIGHT",
    "FRAME_HEIGHT",
    "LINES",
    "MINUTES_HEIGHT",
    "OVERLAY_HEIGHT",
    "RELIABILITY_HEIGHT",
    "SPREAD_HEIGHT",
    "STRIP_HEIGHT",
    "Alignment",
    "FinderPoint",
    "FramePoint",
    "Item",
    "JobMinutes",
    "Laid",
    "Line",
    "Reading",
    "ScaleMark",
    "Scheme",
    "ShotPoint",
    "Speed",
    "StopPoint",
    "Told",
    "back_with_leaks",
    "can_draw_curtains",
    "current_over_light",
    "curtains",
    "error_over",
    "error_range",
    "error_ticks",
    "errors_by_mark",
    "estimated_and_real",
    "finder_on_film",
    "frames_along",
    "heights_over_frame",
    "light_curve",
    "light_curve_height",
    "opening",
    "overlay",
    "price_spread",
    "reliability",
    "scale_on_film",
    "shares",
    "shift_by_stop",
    "short_edges",
    "speeds",
    "speeds_height",
    "spool_turns",
    "through_focus",
    "torque_pulls",
    "word_rows",
]
