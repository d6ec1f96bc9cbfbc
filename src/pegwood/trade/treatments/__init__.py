"""What may be done about corrosion seen on a part, as far as every material of the part allows it."""

from __future__ import annotations

from pegwood.trade.treatments._judging import Proposal, Treatments, treatments
from pegwood.trade.treatments._telling import tell_treatments

__all__ = ["Proposal", "Treatments", "tell_treatments", "treatments"]
