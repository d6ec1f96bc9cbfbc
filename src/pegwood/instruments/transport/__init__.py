"""Film transport: how far the film moves from frame to frame."""

from pegwood.instruments.transport.analyse import analyse_transport
from pegwood.instruments.transport.results import Frame, LongScratch, TransportResult

__all__ = ["Frame", "LongScratch", "TransportResult", "analyse_transport"]
