"""What can hurt at the bench: substances, what must not meet, hazards of cameras, charged capacitors."""

from pegwood.trade.safety._telling import tell_mixture, tell_substance
from pegwood.trade.safety._telling_hazards import tell_capacitor, tell_hazard
from pegwood.trade.safety.capacitor import Discharge, discharge, resistor_for
from pegwood.trade.safety.figures import SAFETY_FIGURES, Figure, Figures, careful
from pegwood.trade.safety.hazards import HAZARDS, Hazard
from pegwood.trade.safety.mixtures import MIXTURES, Mixture, mixes
from pegwood.trade.safety.substances import CODES, RULES, SUBSTANCES, Substance, pictograms, substance
from pegwood.trade.safety.vapour import Breathed, Vapour, breathed, liquid_for, vapour

__all__ = [
    "CODES",
    "HAZARDS",
    "MIXTURES",
    "RULES",
    "SAFETY_FIGURES",
    "SUBSTANCES",
    "Breathed",
    "Discharge",
    "Figure",
    "Figures",
    "Hazard",
    "Mixture",
    "Substance",
    "Vapour",
    "breathed",
    "careful",
    "discharge",
    "liquid_for",
    "mixes",
    "pictograms",
    "resistor_for",
    "substance",
    "tell_capacitor",
    "tell_hazard",
    "tell_mixture",
    "tell_substance",
    "vapour",
]
