"""Focus: sharpness of a slanted edge, best focus, tilt and shims, distance scale, register."""

from pegwood.instruments.focus._figures import (
    FocusLimits,
    Format,
    default_limits,
    formats,
    picture_format,
)
from pegwood.instruments.focus.edge import EdgeFigures, Region, measure_edge
from pegwood.instruments.focus.flange import (
    DepthReading,
    Gauge,
    Register,
    RegisterResult,
    measure_register,
)
from pegwood.instruments.focus.optics import (
    depth_of_field,
    depth_of_field_handbook,
    depth_of_focus,
    diffraction_mtf,
    from_lens,
    hyperfocal,
    image_shift,
    quarter_wave_depth,
)
from pegwood.instruments.focus.places import PLACES, FiveEdges, edges_at_places, shots_at_places
from pegwood.instruments.focus.results import register_json, scale_json, series_json
from pegwood.instruments.focus.scale import Lens, Mark, Reading, ScaleResult, read_scale
from pegwood.instruments.focus.series import PlaceFocus, SeriesResult, Setting, Shot, read_series
from pegwood.instruments.focus.stops import StopShift, shifts_with_stop
from pegwood.instruments.focus.through_focus import FocusPeak, best_focus
from pegwood.instruments.focus.tilt import Plane, Shim, fit_plane, shims_under
from pegwood.instruments.focus.told import register_told, scale_told, screws_told

__all__ = [
    "PLACES",
    "DepthReading",
    "EdgeFigures",
    "FiveEdges",
    "FocusLimits",
    "FocusPeak",
    "Format",
    "Gauge",
    "Lens",
    "Mark",
    "PlaceFocus",
    "Plane",
    "Reading",
    "Region",
    "Register",
    "RegisterResult",
    "ScaleResult",
    "SeriesResult",
    "Setting",
    "Shim",
    "Shot",
    "StopShift",
    "best_focus",
    "default_limits",
    "depth_of_field",
    "depth_of_field_handbook",
    "depth_of_focus",
    "diffraction_mtf",
    "edges_at_places",
    "fit_plane",
    "formats",
    "from_lens",
    "hyperfocal",
    "image_shift",
    "measure_edge",
    "measure_register",
    "picture_format",
    "quarter_wave_depth",
    "read_scale",
    "read_series",
    "register_json",
    "register_told",
    "scale_json",
    "scale_told",
    "screws_told",
    "series_json",
    "shifts_with_stop",
    "shims_under",
    "shots_at_places",
]
