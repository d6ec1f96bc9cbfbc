"""
The other instruments at work on a job: meter, diaphragm, focus, rangefinder, transport, leaks, glass.

A *gauging* is a measurement whose readings are figures typed one after another, or photographs. They are
kept as they came (typed figures as a table, CSV), read by their instrument as a recording is, and accepted as
found or as left in the same way.
"""

from pegwood.book.gauging.taking import Sent, keep_gauging, typed_figures
from pegwood.book.gauging.ways import WAYS, GaugeFile, Way, way_of

__all__ = ["WAYS", "GaugeFile", "Sent", "Way", "keep_gauging", "typed_figures", "way_of"]
