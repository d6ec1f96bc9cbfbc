"""From signs to the chances of faults."""

from pegwood.causes.inference.approximate import posterior_or_near
from pegwood.causes.inference.net import FaultNet, Link, SignNode
from pegwood.causes.inference.predicted import LeftOut, Predicted, leave_one_out, predicted, unexplained
from pegwood.causes.inference.rows import TooWide
from pegwood.causes.inference.soft import with_odds
from pegwood.causes.inference.sweep import Posterior, posterior

__all__ = [
    "FaultNet",
    "LeftOut",
    "Link",
    "Posterior",
    "Predicted",
    "SignNode",
    "TooWide",
    "leave_one_out",
    "posterior",
    "posterior_or_near",
    "predicted",
    "unexplained",
    "with_odds",
]
