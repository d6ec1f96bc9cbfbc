"""What the workshop's closed jobs taught, and how good the chances were that were told of them."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from pegwood.cli._families import FAMILY, FIRST, construction_named, told_in_one_line
from pegwood.cli._open import json_option, say, with_book

if TYPE_CHECKING:
    from pegwood.book.weighing.scored import Scored

#: Signs that are told of, those with most surprises.
MOST_SIGNS = 8
NOTHING = (
    "Nothing to score yet: chances are held against what was found when somebody says at a fault on a job's "
    "card that it is there, or is not."
)


@click.command(epilog="Example: pegwood causes score --family box")
@click.option("--family", default="", help="Of one family alone.")
@json_option
@with_book
def score(family: str, as_json: bool) -> None:
    """
    Tell how good the chances were that were told.

    Brier and log score of what was told of each fault just before somebody found it there or not; whether
    what was told as 30 % came true three times in ten; and whether answers surprise more than they should.
    """
    from pegwood.book.weighing.scored import families_scored, scored

    if family and family not in families_scored():
        with told_in_one_line():
            construction_named(family)
    found = scored(family)
    if as_json:
        say(_as_json(found))
    elif found is None:
        click.echo(NOTHING)
    else:
        _tell(found)


def _tell(found: Scored) -> None:
    scores, bins = found.scores, found.reliability.bins
    click.secho(f"{scores.n} faults decided, of {scores.jobs} jobs; {scores.base:.0%} were there", bold=True)
    click.echo(f"{'':24}{'Brier':>8}{'log':>8}")
    click.echo(f"{'the chances told':24}{scores.brier:8.3f}{scores.log:8.3f}")
    click.echo(f"{'always telling the mean':24}{scores.brier_of_base:8.3f}{scores.log_of_base:8.3f}")
    if scores.clipped:
        click.echo(f"{scores.clipped} held certain came out the other way.")
    click.echo(f"\n{'told':>12}  {'on the mean':>11}  {'came true':>12}  90 % interval")
    for one in bins:
        span = f"{one.low:.0%} to {one.high:.0%}"
        low, high = one.interval
        fits = "" if one.agrees else "  does not fit"
        came = f"{one.came} of {one.n}"
        click.echo(f"{span:>12}  {one.told:11.0%}  {came:>12}  {low:.0%} to {high:.0%}{fits}")
    click.echo(f"{found.reliability.says}\n")
    click.secho(found.check.says, bold=found.check.warns)
    for each in found.check.worst[:MOST_SIGNS]:
        click.echo(f"  {each.sign}: {each.surprises} of {each.n}; {each.expected:.2g} would be usual")


def _as_json(found: Scored | None) -> dict[str, object]:
    if found is None:
        return {"n": 0}
    scores, of, check = found.scores, found.reliability, found.check
    return {
        "n": scores.n,
        "jobs": scores.jobs,
        "base": scores.base,
        "brier": scores.brier,
        "brier_of_base": scores.brier_of_base,
        "log": scores.log,
        "log_of_base": scores.log_of_base,
        "clipped": scores.clipped,
        "z": _finite(scores.z),
        "few": scores.is_few,
        "ece": of.ece,
        "ece_l2": of.ece_l2,
        "worst": of.worst,
        "bins": [asdict(one) for one in of.bins],
        "split": asdict(found.split),
        "check": {**asdict(check), "z": _finite(check.z), "warns": check.warns, "says": check.says},
    }


def _finite(value: float) -> float | None:
    """JSON knows neither infinity nor what is no number."""
    return value if math.isfinite(value) else None


@click.command(epilog="Example: pegwood causes learnt box")
@FAMILY
@json_option
@with_book
def learnt(family: str, as_json: bool) -> None:
    """
    Tell what closed jobs changed of a family.

    Each change with the file's figure, the learned one, its 90 % interval and what it rests on. What of the
    lessons was left out, and why, comes on stderr.
    """
    from pegwood.book.weighing.learnt import learnt_of, shared_files

    with told_in_one_line():
        construction = construction_named(family)
    learned, shared = learnt_of(construction), shared_files()
    unknown = (line for one in shared.shared for line in one.unknown)
    for line in (*shared.slips, *unknown, *learned.left_out):
        click.echo(f"pegwood: left out: {line}", err=True)
    for one in learned.changes:
        if as_json:
            say(asdict(one))
        else:
            click.echo(one.says)
            if one.rests_on:
                click.echo(f"    jobs {', '.join(dict.fromkeys(one.rests_on))}")
    if not as_json:
        click.echo(FIRST if learned.changes else "Nothing yet: a job teaches once it is over.")


@click.command(epilog="Example: pegwood causes hand-on > lessons.toml")
@with_book
def hand_on() -> None:
    """
    Print what the jobs taught, for another workshop.

    Counts as TOML: nothing of owners, cameras, days or single jobs is in it. A file from another workshop is
    put in the folder `lessons` of the workshop's own; a job of theirs counts as half of one here.
    """
    from pegwood.book.weighing.learnt import handed_on, today_here

    click.echo(handed_on(today_here()), nl=False)
