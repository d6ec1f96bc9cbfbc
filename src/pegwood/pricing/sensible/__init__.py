"""What is sensible with a camera, and how to be paid for it: advice with reasons, never an order."""

from pegwood.pricing.sensible.arrangements import (
    Arrangement,
    Loss,
    by_the_hour,
    fixed,
    fixed_for_chance,
    fixed_with_margin,
)
from pegwood.pricing.sensible.options import Option, Sensible, sensible, which_can_stay
from pegwood.pricing.sensible.worths import Worths

__all__ = [
    "Arrangement",
    "Loss",
    "Option",
    "Sensible",
    "Worths",
    "by_the_hour",
    "fixed",
    "fixed_for_chance",
    "fixed_with_margin",
    "sensible",
    "which_can_stay",
]
