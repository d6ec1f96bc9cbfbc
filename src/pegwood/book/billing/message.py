"""The offer as a short text, to be sent as a message."""

from __future__ import annotations

from datetime import date

from babel.dates import format_date

from pegwood.book.billing.offers import latest
from pegwood.book.models import Job, Offer
from pegwood.book.workshop import Workshop


def offer_text(job: Job, shop: Workshop) -> str:
    """
    What the owner is told, in a few plain lines; empty where no price was told.

    It holds the price, until when it stands, the deposit, what a no leads to, and how to answer.
    """
    offer = latest(job)
    if offer is None:
        return ""
    price = offer.total.format(shop.locale)
    lines = [
        f"{shop.name}: your camera {job.camera.title}, no. {job.number}."
        if shop.name
        else f"Your camera {job.camera.title}, no. {job.number}.",
        f"Mending it comes to {price}{_tax(offer, shop)}. It stands until {_day(offer.valid_until, shop)}.",
        f"We stop and ask you before it goes beyond {(offer.up_to or offer.total).format(shop.locale)}.",
    ]
    if offer.deposit:
        deposit = offer.deposit.format(shop.locale)
        lines.append(f"We begin when a deposit of {deposit} is here; it is set off against the bill.")
    back = "put together again, unmended" if offer.if_no == Offer.IfNo.TOGETHER else "as it lies"
    costs = f", for {offer.no_costs.format(shop.locale)}" if offer.no_costs else ""
    lines.append(f"Please answer yes or no. If no, you get it back {back}{costs}.")
    return "\n".join(line.replace("\u202f", " ").replace("\u00a0", " ") for line in lines)


def _tax(offer: Offer, shop: Workshop) -> str:
    return f", {shop.tax_name or 'tax'} included" if offer.tax_minor else ""


def _day(day: date, shop: Workshop) -> str:
    return format_date(day, format="long", locale=shop.locale.replace("-", "_"))
