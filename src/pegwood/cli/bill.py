"""Bills at the command line."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from pegwood.cli._open import OneLine, job_numbered, json_option, one_line, say, who, with_book
from pegwood.cli.job import Day


class JobOrCommand(click.Group):
    """A number stands for `show`: `pegwood bill 417` is `pegwood bill show 417`."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0].isdecimal():
            args = ["show", *args]
        return super().resolve_command(ctx, args)


@click.group(cls=JobOrCommand, epilog="Example: pegwood bill 417")
def bill() -> None:
    """What is billed, paid and open; the bookkeeper's table."""


@bill.command("show", epilog="Example: pegwood bill 417 --json")
@click.argument("number", type=int)
@json_option
@with_book
def show(number: int, as_json: bool) -> None:
    """Show the bills of a job, what was paid and what is open; the word `show` may be left out."""
    from pegwood.book.billing.owing import asked_for, balance
    from pegwood.book.workshop import workshop

    job = job_numbered(number)
    asked, left = asked_for(job), balance(job)
    bills = list(job.bills.select_related("corrects").order_by("issued_at", "pk"))
    if as_json:
        say(
            {
                "job": job.number,
                "currency": job.currency,
                "agreed_up_to_minor": job.agreed_up_to_minor,
                "bills": [_as_data(one) for one in bills],
                "asked_minor": None if asked is None else asked.minor,
                "paid_minor": job.paid_minor or 0,
                "open_minor": None if left is None else left.minor,
            }
        )
        return
    locale = workshop().locale
    if not bills:
        click.echo(f"No bill is issued for job {job.number} yet.")
    for one in bills:
        reason = f": {one.reason}" if one.reason else ""
        click.echo(f"{one.number}  {one.issued_on}  {one.total.format(locale)}{reason}")
    if job.paid is not None:
        click.echo(f"paid {job.paid.format(locale)}")
    if left is not None:
        click.echo(f"open {left.format(locale)}")


@bill.command("issue", epilog="Example: pegwood bill issue 417")
@click.argument("number", type=int)
@json_option
@with_book
def issue(number: int, as_json: bool) -> None:
    """Issue the bill that is written for a job: it gets its number and is never changed again."""
    from pegwood.book.billing.issuing import issue_bill

    with one_line():
        issued = issue_bill(job_numbered(number), by=who())
    _tell(issued, as_json)


@bill.command("credit", epilog="Example: pegwood bill credit 2027-0012 'wrong address'")
@click.argument("bill_number")
@click.argument("reason")
@json_option
@with_book
def credit(bill_number: str, reason: str, as_json: bool) -> None:
    """Take an issued bill back whole by a credit note."""
    from pegwood.book.billing.issuing import credit as issue_credit

    with one_line():
        note = issue_credit(_numbered(bill_number), reason, by=who())
    _tell(note, as_json)


@bill.command("open", epilog="Example: pegwood bill open --json")
@json_option
@with_book
def open_(as_json: bool) -> None:
    """Show what is still to be paid."""
    from pegwood.book.billing.owing import balance, live_bill, not_paid
    from pegwood.book.workshop import workshop

    locale = workshop().locale
    for job in not_paid().select_related("owner").order_by("number"):
        left, stands = balance(job), live_bill(job)
        if left is None:
            continue
        due = stands.due_on if stands else None
        if as_json:
            say(
                {
                    "job": job.number,
                    "owner": job.owner.name,
                    "bill": stands.number if stands else None,
                    "due_on": due,
                    "open_minor": left.minor,
                    "currency": job.currency,
                }
            )
        else:
            click.echo(
                f"{job.number:>6}  {job.owner.name}: {left.format(locale)}" + (f", due {due}" if due else "")
            )


@bill.command("table", epilog="Example: pegwood bill table --from 2027-01-01 --until 2027-03-31 > bills.csv")
@click.option("--from", "first", type=Day(), help="The first day.")
@click.option("--until", "last", type=Day(), help="The last day; it counts.")
@with_book
def table(first: date | None, last: date | None) -> None:
    """Write the bills as CSV for the bookkeeper: a row for each rate of tax of each bill."""
    from pegwood.book.billing.listing import bills_csv

    click.echo(bills_csv(first, last).replace("\r\n", "\n"), nl=False)


@bill.command("e-invoice", epilog="Example: pegwood bill e-invoice 2027-0012 bill.xml")
@click.argument("bill_number")
@click.argument("to", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--country", default="", help="The owner's country in two letters, if it is not yours.")
@with_book
def e_invoice(bill_number: str, to: Path, country: str) -> None:
    """Write an issued bill as an e-invoice (EN 16931, UBL 2.1)."""
    from pegwood.papers.e_invoice import e_invoice as as_xml

    if to.exists():
        raise OneLine(f"{to} exists already. Name another file; nothing was overwritten.")
    with one_line():
        xml = as_xml(_numbered(bill_number), buyer_country=country.upper())
    try:
        to.write_bytes(xml)
    except OSError as error:
        raise OneLine(f"{to} cannot be written: {error.strerror}.") from None
    click.echo(str(to))


def _numbered(number: str) -> Any:
    from pegwood.book.models import Bill

    found = Bill.objects.filter(number=number).first()
    if found is None:
        raise OneLine(f"There is no bill {number}. `pegwood bill show JOB` shows those of a job.")
    return found


def _tell(issued: Any, as_json: bool) -> None:
    if as_json:
        say(_as_data(issued))
    else:
        click.echo(issued.number)


def _as_data(one: Any) -> dict[str, Any]:
    return {
        "number": one.number,
        "kind": one.kind,
        "corrects": one.corrects.number if one.corrects else None,
        "issued_on": one.issued_on,
        "due_on": one.due_on,
        "currency": one.currency,
        "net_minor": one.net_minor,
        "tax_minor": one.tax_minor,
        "total_minor": one.total_minor,
        "lines": [line.as_told for line in one.lines.all()],
    }
