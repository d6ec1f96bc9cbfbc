"""From signs to the chances of faults."""

from pegwood.causes.inference.net import FaultNet, Link, SignNode
from pegwood.causes.inference.sweep import Posterior, TooWide, posterior

__all__ = ["FaultNet", "Link", "Posterior", "SignNode", "TooWide", "posterior"]
