"""Finding a spare, and taking it."""

from __future__ import annotations

import click

from pegwood.cli._open import OneLine, job_numbered, json_option, say, who, with_book
from pegwood.cli.spares._named import as_data, in_words, spare_numbered


@click.command(epilog="Example: pegwood spares find selenium cell")
@click.argument("words", nargs=-1)
@click.option("--all", "everything", is_flag=True, help="Also those of which none is left.")
@click.option("--most", default=60, show_default=True, type=click.IntRange(1, 10_000), help="How many.")
@json_option
@with_book
def find(words: tuple[str, ...], everything: bool, most: int, as_json: bool) -> None:
    """
    Look a spare up: where it lies, how many there are.

    By its name, its camera, its place or a note; every word must occur. Without words, all that lies there.
    """
    from pegwood.book.spares.finding import find_spares

    found = list(find_spares(" ".join(words), with_none=everything, limit=most))
    for spare in found:
        if as_json:
            say(as_data(spare, spare.lies, spare.held))
        else:
            click.echo(in_words(spare, spare.lies, spare.held))
    if not found and not as_json:
        click.echo("Nothing on the shelf holds all of these words. Try fewer, or --all.", err=True)


@click.command(epilog="Example: pegwood spares take 12 --job 417")
@click.argument("number", type=int)
@click.option("--job", type=int, help="The job it is for.")
@click.option("--count", default=1, show_default=True, help="How many.")
@click.option("--keep", is_flag=True, help="Only keep it for the job.")
@click.option("--let-go", is_flag=True, help="Keep it for the job no longer.")
@click.option("--back", is_flag=True, help="It comes back: the job did not need it.")
@click.option("--write-off", metavar="WHY", help="It goes for good: broken, lost, gone bad.")
@json_option
@with_book
def take(
    number: int,
    job: int | None,
    count: int,
    keep: bool,
    let_go: bool,
    back: bool,
    write_off: str | None,
    as_json: bool,
) -> None:
    """Take a spare for a job: use it, or keep it for the job."""
    from pegwood.book.spares import taking
    from pegwood.book.spares.moves import count_of

    if sum((keep, let_go, back, write_off is not None)) > 1:
        raise OneLine("Give one of --keep, --let-go, --back and --write-off, or none to use it.", 2)
    spare = spare_numbered(number)
    if write_off is not None:
        if job is not None:
            raise OneLine("What is written off goes into no job. Leave --job out.", 2)
        move = taking.write_off(spare, count, write_off, by=who())
    else:
        if job is None:
            raise OneLine("Which job is it for? Give --job, or --write-off with the reason.", 2)
        for_job = job_numbered(job)
        if let_go:
            move = taking.let_go(spare, for_job, by=who())
        else:
            do = taking.reserve if keep else taking.give_back if back else taking.use
            move = do(spare, for_job, count, by=who())
    there = count_of(spare)
    if as_json:
        say({"move": move.pk, "kind": move.kind, **as_data(spare, there.lies, there.held)})
    else:
        number_of = abs(move.lies or move.held)
        click.echo(f"{number_of} {move.kind}.{in_words(spare, there.lies, there.held)[6:]}")
