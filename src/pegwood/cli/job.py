"""Jobs at the command line: what one does at the bench without a page."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from pegwood.book.states import Standing, WaitingFor
from pegwood.cli._open import OneLine, job_numbered, json_option, say, who, with_book, with_book_or_new


class Day(click.ParamType[date]):
    """A day as ISO 8601 writes it."""

    name = "YYYY-MM-DD"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        try:
            return value if isinstance(value, date) else date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is not a day. Write it as 2027-03-31.", param, ctx)


@click.group(epilog="Example: pegwood job list")
def job() -> None:
    """Take cameras in, look jobs up, note what you see and do."""


@job.command("list", epilog="Example: pegwood job list --at 'on the bench'")
@click.option(
    "--at", "standing", type=click.Choice([s.value for s in Standing]), help="Only where it stands."
)
@click.option("--all", "everything", is_flag=True, help="Also those that are over.")
@json_option
@with_book
def list_(standing: str | None, everything: bool, as_json: bool) -> None:
    """Show the jobs that are open, the oldest first."""
    from pegwood.book.models import Job
    from pegwood.book.states import OVER

    jobs = Job.objects.select_related("owner", "camera").order_by("number")
    if standing:
        jobs = jobs.filter(standing=standing)
    elif not everything:
        jobs = jobs.exclude(standing__in=OVER)
    for one in jobs.iterator():
        if as_json:
            say(
                {
                    "number": one.number,
                    "camera": one.camera.title,
                    "owner": one.owner.name,
                    "standing": one.standing,
                    "waiting_for": one.waiting_for,
                    "promised_on": one.promised_on,
                }
            )
        else:
            where = f"{one.standing}, for {one.waiting_for}" if one.waiting_for else one.standing
            due = f"  promised {one.promised_on}" if one.promised_on else ""
            click.echo(f"{one.number:>6}  {one.camera.title}, for {one.owner.name}: {where}{due}")


@job.command("show", epilog="Example: pegwood job show 417 --json")
@click.argument("number", type=int)
@json_option
@with_book
def show(number: int, as_json: bool) -> None:
    """Show a job with all that is written of it."""
    from pegwood.book.workshop import workshop

    one = job_numbered(number)
    if as_json:
        from pegwood.book.keeping.export import job_as_data

        say(job_as_data(one))
        return
    click.echo(
        f"{one.number}  {one.camera.title}, for {one.owner.name}\n{one.standing}  {one.waiting_for}".rstrip()
    )
    if one.story:
        click.echo(f"\n{one.story}")
    for finding in one.findings.all():
        grade = "" if finding.grade is None else f", grade {finding.grade}"
        click.echo(f"  found: {finding}{grade} {finding.outlook}".rstrip())
    for work in one.work.all():
        click.echo(f"  did: {work.done}" + (f" ({work.minutes} min)" if work.minutes else ""))
    zone = workshop().zone
    for entry in one.diary.all():
        click.echo(
            f"  {entry.at.astimezone(zone):%Y-%m-%d %H:%M}  {entry.who}  {entry.what}  {entry.text}".rstrip()
        )


@job.command(
    "take-in", epilog="Example: pegwood job take-in --name 'Ilse Marrick' --family box --story 'sticks'"
)
@click.option("--owner", "owner_number", type=int, help="Somebody known: `pegwood owner list`.")
@click.option("--name", help="Somebody new.")
@click.option("--phone", default="")
@click.option("--email", default="")
@click.option("--family", default="other", help="Kind of camera; an unknown one is answered with the list.")
@click.option("--maker", default="")
@click.option("--model", default="")
@click.option("--serial", default="")
@click.option("--lens", default="")
@click.option("--shutter", default="")
@click.option(
    "--year", type=click.IntRange(1839, 2100), help="Year of making; it chooses the shutter's limits."
)
@click.option("--story", default="", help="What the owner tells, in the owner's own words.")
@click.option("--accessories", default="", help="What was handed in with it.")
@click.option("--promised", type=Day(), help="The day the owner was told.")
@json_option
@with_book_or_new
def take_in(
    owner_number: int | None,
    name: str | None,
    phone: str,
    email: str,
    family: str,
    year: int | None,
    story: str,
    accessories: str,
    promised: date | None,
    as_json: bool,
    **camera: str,
) -> None:
    """Take a camera in."""
    from pegwood.book.arriving import CameraDetails, OwnerDetails
    from pegwood.book.arriving import take_in as take_in_camera
    from pegwood.book.families import families
    from pegwood.book.models import Owner

    if (owner_number is None) == (name is None):
        raise OneLine("Whose is it? Give --owner NUMBER for somebody known, or --name for somebody new.", 2)
    if family not in families():
        raise OneLine(f"There is no kind {family!r}. There are: {', '.join(families())}.", 2)
    person: Owner | OwnerDetails | None
    if owner_number is None:
        person = OwnerDetails(name=name or "", phone=phone, email=email)
    elif (person := Owner.objects.filter(pk=owner_number).first()) is None:
        raise OneLine(f"There is no owner {owner_number}. `pegwood owner list` shows them.")
    taken = take_in_camera(
        person,
        CameraDetails(family=family, year_made=year, **camera),
        by=who(),
        story=story,
        accessories=accessories,
        promised_on=promised,
    )
    if as_json:
        say({"number": taken.number})
    else:
        click.echo(f"Job {taken.number}: {taken.camera.title}, for {taken.owner.name}.")


@job.command("found", epilog="Example: pegwood job found 417 'shutter blades' 'oil film' --grade 3 --mend")
@click.argument("number", type=int)
@click.argument("part")
@click.argument("condition")
@click.option("--grade", type=click.IntRange(0, 5), help="0 as new ... 5 past use.")
@click.option("--place", default="", help="Where on the part.")
@click.option("--note", default="")
@click.option("--mend", "outlook", flag_value="mend", help="It is to be mended.")
@click.option("--can-stay", "outlook", flag_value="can stay", help="It can stay as it is.")
@with_book
def found(number: int, outlook: str | None, **details: Any) -> None:
    """Note something seen."""
    from pegwood.book.looking import FindingDetails, note_finding

    finding = note_finding(job_numbered(number), FindingDetails(outlook=outlook or "", **details), by=who())
    click.echo(f"Noted on {number}: {finding}.")


@job.command(
    "did", epilog="Example: pegwood job did 417 'cleaned the blades' --part 'shutter blades' --minutes 25"
)
@click.argument("number", type=int)
@click.argument("what")
@click.option("--part", default="")
@click.option("--minutes", type=int)
@with_book
def did(number: int, what: str, part: str, minutes: int | None) -> None:
    """Note a piece of work done."""
    from pegwood.book.benchwork import log_work

    log_work(job_numbered(number), what, part=part, minutes=minutes, by=who())
    click.echo(f"Noted on {number}.")


@job.command("remark", epilog="Example: pegwood job remark 417 'owner rang, is in no hurry'")
@click.argument("number", type=int)
@click.argument("text")
@with_book
def remark(number: int, text: str) -> None:
    """Write something into the diary."""
    from pegwood.book.arriving import remark as write_remark

    write_remark(job_numbered(number), text, by=who())
    click.echo(f"Written into the diary of {number}.")


MOVES = {
    "look-over": "look_over",
    "bench": "put_on_bench",
    "go-on": "go_on",
    "prove": "prove",
    "ready": "call_ready",
}


@job.command("move", epilog="Example: pegwood job move 417 bench")
@click.argument("number", type=int)
@click.argument("move", type=click.Choice([*MOVES, "wait"]))
@click.option(
    "--for", "waiting_for", type=click.Choice([w.value for w in WaitingFor]), help="What it waits for."
)
@click.option("--long", default="", help="With wait: how long, as '3 h', '2 days', or the glue: 'shellac'.")
@click.option("--note", default="", help="With wait: anything to remember.")
@with_book
def move(number: int, move: str, waiting_for: str | None, long: str, note: str) -> None:
    """Move a job on. Prices, the owner's yes and handing back have pages of their own."""
    from pegwood.book import moving

    one = job_numbered(number)
    if move == "wait":
        if waiting_for is None:
            raise OneLine("What does it wait for? Add --for owner, part, drying or curing.", 2)
        moved = moving.let_wait(one, waiting_for, by=who(), note=note, long=long)
    else:
        moved = getattr(moving, MOVES[move])(one, by=who())
    click.echo(f"{number} stands at: {moved.standing}")
