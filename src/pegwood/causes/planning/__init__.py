"""What to look at, open or mend next, so that the whole job is expected to take least."""

from pegwood.causes.planning.expected_cost import FOR_ESTIMATE, Prices
from pegwood.causes.planning.next_actions import Advice, Proposal, bench_check, next_actions

__all__ = ["FOR_ESTIMATE", "Advice", "Prices", "Proposal", "bench_check", "next_actions"]
