"""Papers at the command line."""

from __future__ import annotations

from pathlib import Path

import click

from pegwood.cli._open import OneLine, job_numbered, json_option, one_line, say, who, with_book


@click.group(epilog="Example: pegwood paper make 417 certificate")
def paper() -> None:
    """Make receipts, reports, certificates and bills."""


@paper.command("make", epilog="Example: pegwood paper make 417 certificate --to certificate.pdf")
@click.argument("number", type=int)
@click.argument("kind")
@click.option("--to", type=click.Path(dir_okay=False, path_type=Path), help="Also write the PDF here.")
@json_option
@with_book
def make(number: int, kind: str, to: Path | None, as_json: bool) -> None:
    """
    Make a paper of a job and file it.

    There are receipt, condition, certificate, price, bill, care, trays and record.
    """
    from pegwood.papers import KINDS, RefusedPaper, make_paper

    if kind not in KINDS:
        raise OneLine(f"There is no paper {kind!r}. There are: {', '.join(KINDS)}.", 2)
    try:
        made = make_paper(job_numbered(number), kind, by=who())
    except RefusedPaper as reason:
        raise OneLine(str(reason)) from None
    if to is not None:
        _write(made, to)
    if as_json:
        say({"number": made.number, "sha256": made.file_id})
    else:
        click.echo(f"{made.number}" + (f", in {to}" if to else ""))


@paper.command("list", epilog="Example: pegwood paper list 417")
@click.argument("number", type=int)
@json_option
@with_book
def list_(number: int, as_json: bool) -> None:
    """Show the papers of a job."""
    from pegwood.book.workshop import workshop

    zone = workshop().zone
    for made in job_numbered(number).papers.all():
        if as_json:
            say({"number": made.number, "kind": made.kind, "at": made.at, "sha256": made.file_id})
        else:
            click.echo(f"{made.at.astimezone(zone):%Y-%m-%d %H:%M}  {made.number}")


@paper.command("save", epilog="Example: pegwood paper save 417-bill-1 bill.pdf")
@click.argument("paper_number")
@click.argument("to", type=click.Path(dir_okay=False, path_type=Path))
@with_book
def save(paper_number: str, to: Path) -> None:
    """Write a paper that was made before to a file: the very bytes that were handed over."""
    from pegwood.book.models import Paper

    made = Paper.objects.select_related("file").filter(number=paper_number).first()
    if made is None:
        raise OneLine(f"There is no paper {paper_number}. `pegwood paper list JOB` shows them.")
    _write(made, to)
    click.echo(str(to))


def _write(made: object, to: Path) -> None:
    from pegwood.book.files import read

    if to.exists():
        raise OneLine(f"{to} exists already. Name another file; nothing was overwritten.")
    with one_line():
        content = read(made.file)  # type: ignore[attr-defined]
    try:
        to.write_bytes(content)
    except OSError as error:
        raise OneLine(f"{to} cannot be written: {error.strerror}.") from None
