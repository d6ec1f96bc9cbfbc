"""Fits in warmth and cold, and friction clutches."""

from pegwood.trade.fits.clutch import Clutch
from pegwood.trade.fits.expansion import EXPANSIONS, Expansion, Fit, expansion_of, fit
from pegwood.trade.fits.telling import tell_clutch, tell_fit

__all__ = ["EXPANSIONS", "Clutch", "Expansion", "Fit", "expansion_of", "fit", "tell_clutch", "tell_fit"]
