"""The people who bring cameras."""

from __future__ import annotations

from typing import Any

import click

from pegwood.cli._open import OneLine, json_option, say, who, with_book, with_book_or_new


@click.group(epilog="Example: pegwood owner add 'Ilse Marrick' --phone 0555-0132")
def owner() -> None:
    """The people who bring cameras."""


@owner.command("add", epilog="Example: pegwood owner add 'Ilse Marrick' --phone 0555-0132")
@click.argument("name")
@click.option("--phone", default="")
@click.option("--email", default="")
@click.option("--address", default="")
@click.option("--note", default="")
@json_option
@with_book_or_new
def add(as_json: bool, **details: Any) -> None:
    """Enter somebody."""
    from pegwood.book.arriving import OwnerDetails, register_owner

    person = register_owner(OwnerDetails(**details), by=who())
    if as_json:
        say(_plain(person))
    else:
        click.echo(f"{person.name} is owner {person.pk}.")


@owner.command("list", epilog="Example: pegwood owner list --json")
@json_option
@with_book
def list_(as_json: bool) -> None:
    """Show everybody, by name."""
    from pegwood.book.models import Owner

    for person in Owner.objects.all().iterator():
        if as_json:
            say(_plain(person))
        else:
            click.echo(f"{person.pk:>5}  {person.name}  {person.phone}  {person.email}".rstrip())


@owner.command("show", epilog="Example: pegwood owner show 3")
@click.argument("number", type=int)
@json_option
@with_book
def show(number: int, as_json: bool) -> None:
    """Show somebody with the cameras they brought."""
    from pegwood.book.models import Owner

    person = Owner.objects.filter(pk=number).first()
    if person is None:
        raise OneLine(f"There is no owner {number}. `pegwood owner list` shows them.")
    jobs = [(job.number, job.camera.title, job.standing) for job in person.jobs.select_related("camera")]
    if as_json:
        say({**_plain(person), "jobs": [{"number": n, "camera": c, "standing": s} for n, c, s in jobs]})
        return
    click.echo(
        "\n".join(filter(None, [person.name, person.phone, person.email, person.address, person.note]))
    )
    for job, camera, standing in jobs:
        click.echo(f"  {job}  {camera}: {standing}")


def _plain(person: Any) -> dict[str, Any]:
    names = ("name", "phone", "email", "address", "note")
    return {"owner": person.pk, **{name: getattr(person, name) for name in names}}
