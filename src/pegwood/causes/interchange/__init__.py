"""A net of faults and signs as a file that general-purpose libraries read: BIF, XMLBIF, UAI."""

from pegwood.causes.interchange.bif import to_bif
from pegwood.causes.interchange.general import GeneralNet, Variable, general
from pegwood.causes.interchange.uai import to_uai
from pegwood.causes.interchange.xmlbif import to_xmlbif

__all__ = ["GeneralNet", "Variable", "general", "to_bif", "to_uai", "to_xmlbif"]
