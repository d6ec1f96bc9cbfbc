"""What stands beside a statement that every bench knows and no book was found for."""

from pegwood.trade.grounds import Ground

BENCH = Ground("common bench practice", "practice")
