"""Plain words at the bench, and who answers them."""

from __future__ import annotations

from pegwood.trade.asking._subjects import EXAMPLES, ask

__all__ = ["EXAMPLES", "ask"]
