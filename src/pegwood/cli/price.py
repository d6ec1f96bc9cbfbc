"""The price of a job at the command line."""

from __future__ import annotations

from typing import Any

import click

from pegwood.cli._open import job_numbered, json_option, say, with_book


@click.command(epilog="Example: pegwood price 417 --json")
@click.argument("number", type=int)
@click.option(
    "--draws", type=click.IntRange(100, 1_000_000), help="How many cameras are drawn; 10,000 if not said."
)
@click.option("--seed", type=click.IntRange(0, 2**32 - 1), help="Of the draws; the job's number if not said.")
@click.option(
    "--covers",
    type=click.IntRange(0, 100),
    help="Covers faults likely from so many percent on, 0 all; as the workshop has it if not said.",
)
@json_option
@with_book
def price(number: int, draws: int | None, seed: int | None, covers: int | None, as_json: bool) -> None:
    """Reckon what a job may cost: usual, not more than, worst."""
    from pegwood.book.quoting.alarm import alarm_of, covers_of, is_watched
    from pegwood.book.quoting.quoted import basis_of
    from pegwood.pricing.quote import DRAWS

    job = job_numbered(number)
    basis = basis_of(job)
    share = None if covers is None else covers / 100
    found = basis.quoted(draws=draws or DRAWS, seed=seed, covers=share)
    if as_json:
        agreed = job.agreed_up_to
        say(
            {
                "job": job.number,
                **found.price.to_json(),
                "agreed_up_to": agreed.minor if agreed else None,
                "chance_above_agreed": round(found.chance_above(agreed), 4) if agreed else None,
            }
        )
        return
    alarm = alarm_of(job, basis, basis.quoted(covers=covers_of(job))) if is_watched(job) else None
    _tell(basis, found, alarm)


def _tell(basis: Any, found: Any, alarm: Any) -> None:
    from pegwood.pricing.money import Money
    from pegwood.trade.numbers import per_cent

    price, locale = found.price, basis.shop.locale
    three = (
        ("usual", price.usual, "half of such jobs cost no more"),
        ("not more than", price.not_more_than, "holds in 80 of 100"),
        ("worst", price.worst, "holds in 95 of 100"),
    )
    for name, one, says in three:
        u = Money(round(one.u), price.currency).format(locale)
        click.echo(f"{name:14} {one.money.format(locale):>12}  ± {u}  {says}")
    if price.beyond.faults:
        more = Money(round(price.beyond.mean), price.currency).format(locale)
        u = Money(round(price.beyond.u), price.currency).format(locale)
        click.echo(
            f"it covers what is likely from {per_cent(price.covers)} on; something else is there "
            f"in {per_cent(price.beyond.chance)} of such jobs, {more} ± {u} more on average"
        )
    if price.drivers:
        click.echo(
            "what drives it: " + "; ".join(f"{one.name} {per_cent(one.share)}" for one in price.drivers[:3])
        )
    if price.looks:
        look = price.looks[0]
        click.echo(
            f"what would narrow it most: {look.asks} "
            f"({per_cent(look.share)} of its variance, {look.minutes:g} min)"
        )
    for part, chance in price.unpriced[:3]:
        click.echo(
            f"no price is known of: {basis.construction.parts[part].name}, needed in {per_cent(chance)}"
        )
    if alarm is not None and not alarm.is_quiet:
        click.echo(
            f"agreed up to {alarm.agreed.format(locale)}: passed in {per_cent(alarm.chance)} of such jobs"
            + ("; ask the owner before going on" if alarm.rings else "")
        )
    click.echo(f"{price.shape} minutes, {price.draws} draws, seed {price.seed}")
