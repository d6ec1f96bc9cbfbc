"""The way in: families, their parts, and what comes off to reach some of them."""

from __future__ import annotations

import click

from pegwood.cli.lazy import LazyGroup

QUESTIONS = {
    "families": ("pegwood.cli.strip.commands:families", "List the families whose construction is known."),
    "parts": ("pegwood.cli.strip.commands:parts", "List a family's parts with how they come off."),
    "plan": ("pegwood.cli.strip.commands:plan", "Find the cheapest way in to some parts of a family."),
    "check": ("pegwood.cli.strip.commands:check", "Check a file that describes a family or a mechanism."),
    "draft": ("pegwood.cli.strip.draft:draft", "Draft a family from strip-downs in the book."),
    "export": ("pegwood.cli.strip.commands:export", "Print a family's parts and ways as plain JSON."),
}


@click.group(cls=LazyGroup, lazy=QUESTIONS, epilog="Example: pegwood strip plan box --reach shutter.sector")
def strip() -> None:
    """Ask how a kind of camera comes apart: its parts, and the way in."""
