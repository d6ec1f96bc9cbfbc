"""What a job is to cost, as a distribution, from draws of all that may be wrong."""

from pegwood.pricing.quote.figures import Figure
from pegwood.pricing.quote.jobs import Jobs, jobs_on
from pegwood.pricing.quote.looks import Narrows
from pegwood.pricing.quote.price import DRAWS, Beyond, Driver, Price, Quote, Wait, quote
from pegwood.pricing.quote.settled import Settled, settled
from pegwood.pricing.quote.terms import Done, PartPrice, Terms
from pegwood.pricing.quote.work import Work, work_of

__all__ = [
    "DRAWS",
    "Beyond",
    "Done",
    "Driver",
    "Figure",
    "Jobs",
    "Narrows",
    "PartPrice",
    "Price",
    "Quote",
    "Settled",
    "Terms",
    "Wait",
    "Work",
    "jobs_on",
    "quote",
    "settled",
    "work_of",
]
