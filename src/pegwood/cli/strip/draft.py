"""A family drafted from strip-downs in the book."""

from __future__ import annotations

from pathlib import Path

import click

from pegwood.cli._open import OneLine, job_numbered, with_book


@click.command(epilog="Example: pegwood strip draft 417 420 --name 'Half-frame 35' --into half-frame.toml")
@click.argument("jobs", type=int, nargs=-1, required=True, metavar="JOB...")
@click.option("--name", required=True, help="What the family is called.")
@click.option(
    "--into",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Write it there, not to the screen; the file must not be there yet.",
)
@with_book
def draft(jobs: tuple[int, ...], name: str, into: Path | None) -> None:
    """
    Draft a family from strip-downs in the book.

    Nothing in the book changes. On the job's card the same is done for good: the family comes into the
    workshop, and learns more from later jobs.
    """
    from pegwood.book.family_learning import drafted, slug_for

    rows = [job_numbered(number) for number in dict.fromkeys(jobs)]
    found = drafted(rows, slug_for(name), name.strip())
    for line in found.contradictions:
        click.echo(f"pegwood: does not go together: {line}", err=True)
    if into is None:
        click.echo(found.as_toml(), nl=False)
        return
    try:
        with into.open("x", encoding="utf-8", newline="\n") as out:
            out.write(found.as_toml())
    except FileExistsError:
        raise OneLine(f"{into} exists already. Name another file; nothing was overwritten.") from None
    except OSError as error:
        raise OneLine(f"{into} cannot be written: {error.strerror}.") from None
    click.echo(f"{into}: {found.name}, {len(found.parts)} parts from {found.jobs} strip-downs.")
