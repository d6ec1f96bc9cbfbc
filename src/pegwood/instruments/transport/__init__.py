"""Film transport: how far the film moves from frame to frame."""

from pegwood.instruments.transport.analyse import analyse_transport
from pegwood.instruments.transport.limits import TransportLimits, default_limits
from pegwood.instruments.transport.results import Frame, LongScratch, TransportResult

__all__ = [
    "Frame",
    "LongScratch",
    "TransportLimits",
    "TransportResult",
    "analyse_transport",
    "default_limits",
]
