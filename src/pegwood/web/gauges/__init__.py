"""The faces of the other instruments: how each is told its readings, and the charts it answers in."""

from pegwood.web.gauges.face import Column, Face, SaidForm
from pegwood.web.gauges.faces import FACES, face_of

__all__ = ["FACES", "Column", "Face", "SaidForm", "face_of"]
