"""What is wrong: what may be, after all that was told and seen, and what to look at next."""

from __future__ import annotations

import click

from pegwood.cli.lazy import LazyGroup

QUESTIONS = {
    "likely": ("pegwood.cli.causes.weighing:likely", "Weigh what is wrong, after a story and some signs."),
    "why": ("pegwood.cli.causes.weighing:why", "Say why a fault is as likely as it is."),
    "next": ("pegwood.cli.causes.planning:next_", "Say what to look at, open or mend next."),
    "signs": ("pegwood.cli.causes.listing:signs", "List what can be looked at on such a camera."),
    "faults": ("pegwood.cli.causes.listing:faults", "List what such a camera may have, and its mends."),
    "check": ("pegwood.cli.causes.files:check", "Check files that say what is known of faults."),
    "export": ("pegwood.cli.causes.files:export", "Print a family's net as BIF, XMLBIF or UAI."),
    "score": ("pegwood.cli.causes.learning:score", "Tell how good the chances were that were told."),
    "learnt": ("pegwood.cli.causes.learning:learnt", "Tell what closed jobs changed of a family."),
    "hand-on": ("pegwood.cli.causes.learning:hand_on", "Print what the jobs taught, for another workshop."),
}


@click.group(
    cls=LazyGroup,
    lazy=QUESTIONS,
    epilog="Example: pegwood causes likely box --story stored-damp --sign shutter.sector-sticks=yes",
)
def causes() -> None:
    """
    Weigh what is wrong, and what to look at next.

    Chances rest here on the files alone, those that came and the workshop's own. What closed jobs taught
    counts on a job's page; `causes learnt` tells it.
    """
