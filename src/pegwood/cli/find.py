"""Looking things up."""

from __future__ import annotations

import click

from pegwood.cli._open import json_option, say, with_book


@click.command(epilog="Example: pegwood find haze cellar")
@click.argument("words", nargs=-1, required=True)
@click.option("--most", default=20, show_default=True, help="How many at the most.")
@json_option
@with_book
def find(words: tuple[str, ...], most: int, as_json: bool) -> None:
    """
    Look something up in everything written down.

    Owners, serial numbers, stories, findings, work and remarks; every word must occur, if only its beginning.
    """
    from pegwood.book import search

    hits = search.look_up(" ".join(words), most)
    for hit in hits:
        excerpt = " ".join(hit.excerpt.split())
        if as_json:
            plain = excerpt.replace(search.START, "").replace(search.END, "")
            say(
                {
                    "title": hit.title,
                    "excerpt": plain,
                    "job": hit.job.number if hit.job else None,
                    "owner": hit.owner.pk if hit.owner else None,
                }
            )
        else:
            bold, plain = click.style("|", bold=True).split("|")
            shown = excerpt.replace(search.START, bold).replace(search.END, plain)
            click.echo(f"{hit.title}\n    {shown}")
    if not hits and not as_json:
        click.echo("Nothing holds all of these words. Try fewer, or only their beginnings.", err=True)
