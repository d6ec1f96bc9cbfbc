"""Putting a spare on the shelf."""

from __future__ import annotations

from typing import Any

import click

from pegwood.cli._open import OneLine, json_option, say, who, with_book_or_new
from pegwood.cli.spares._named import as_data, in_words, spare_numbered


@click.command(epilog="Example: pegwood spares put 'selenium cell' --family box --place 'drawer 3'")
@click.argument("name", required=False, default="")
@click.option("--more", "number", type=int, metavar="NUMBER", help="More of a spare that is there already.")
@click.option("--out-of", "donor", type=int, metavar="DONOR", help="Taken out of a donor.")
@click.option("--count", default=1, show_default=True, help="How many.")
@click.option("--family", default="", help="The kind of camera it is of, by its slug.")
@click.option("--part", default="", help="The part's id in its family, where its name leaves it open.")
@click.option("--maker", default="")
@click.option("--model", default="")
@click.option("--grade", type=click.IntRange(0, 5), help="0 (as new) to 5 (past use).")
@click.option("--place", default="", help="Where it lies.")
@click.option("--note", default="")
@click.option("--cost", help="What one cost, in the workshop's money.")
@json_option
@with_book_or_new
def put(
    name: str,
    number: int | None,
    donor: int | None,
    count: int,
    cost: str | None,
    as_json: bool,
    **told: Any,
) -> None:
    """Put a spare on the shelf, or more of one."""
    from pegwood.book.models import Donor
    from pegwood.book.spares.donors import take_out
    from pegwood.book.spares.moves import count_of
    from pegwood.book.spares.putting import SpareDetails, put_more, put_on_shelf

    if number is not None:
        if name or donor is not None or cost or any(one not in ("", None) for one in told.values()):
            raise OneLine("--more only takes --count and --json: the rest is known of that spare.", 2)
        spare = spare_numbered(number)
        put_more(spare, count, by=who())
    elif not name.strip():
        raise OneLine("What is it? Name the part, or give --more with a spare's number.", 2)
    else:
        details = SpareDetails(name=name, cost=_cost(cost), **told)
        if donor is None:
            spare = put_on_shelf(details, count, by=who())
        else:
            from_one = Donor.everything.filter(pk=donor).first() if 0 <= donor < 2**63 else None
            if from_one is None:
                raise OneLine(f"There is no donor {donor}.")
            if count != 1:
                raise OneLine("A part comes out of a donor once. Leave --count out.", 2)
            if told["family"] or told["maker"] or told["model"]:
                raise OneLine("What camera it is of is the donor's. Leave --family, --maker, --model out.", 2)
            spare = take_out(from_one, details, by=who())
    there = count_of(spare)
    if as_json:
        say(as_data(spare, there.lies, there.held))
    else:
        click.echo(in_words(spare, there.lies, there.held))


def _cost(typed: str | None) -> Any:
    from pegwood.book.workshop import workshop
    from pegwood.pricing.money import Money, MoneyError

    if typed is None:
        return None
    ours = workshop()
    try:
        return Money.parse(typed, ours.currency, ours.locale)
    except MoneyError as reason:
        raise OneLine(str(reason), 2) from None
