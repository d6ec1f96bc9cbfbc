"""How many of a part to keep on the shelf, how long they last there, and what one more is worth."""

from pegwood.pricing.stock.base_stock import Service, base_stock
from pegwood.pricing.stock.counts import Counts
from pegwood.pricing.stock.demand import Rate, demanded, demanded_by_visits
from pegwood.pricing.stock.fading import CannotTell, Fading, Reading, fading_of
from pegwood.pricing.stock.newsvendor import Kept, newsvendor, newsvendor_normal
from pegwood.pricing.stock.ordering import Ordering, order_in_lots, order_up_to
from pegwood.pricing.stock.spoiling import missing_while_spoiling
from pegwood.pricing.stock.worth import runs_out, worth_of_the_next

__all__ = [
    "CannotTell",
    "Counts",
    "Fading",
    "Kept",
    "Ordering",
    "Rate",
    "Reading",
    "Service",
    "base_stock",
    "demanded",
    "demanded_by_visits",
    "fading_of",
    "missing_while_spoiling",
    "newsvendor",
    "newsvendor_normal",
    "order_in_lots",
    "order_up_to",
    "runs_out",
    "worth_of_the_next",
]
