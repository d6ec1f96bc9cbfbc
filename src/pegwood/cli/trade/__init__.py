"""Asking what the trade knows."""

from __future__ import annotations

import gc

import click

from pegwood.cli.lazy import LazyGroup

#: One module a question; each takes `--json` and prints through `_show`.
QUESTIONS: dict[str, tuple[str, str]] = {
    "ask": ("pegwood.cli.trade.ask:ask", "Ask in plain words; the word `ask` may be left out."),
    "couple": (
        "pegwood.cli.trade.couple:couple",
        "Judge two metals that touch: which one suffers, and where.",
    ),
    "metal": (
        "pegwood.cli.trade.metal:metal",
        "Show a metal or finish: its index and what comes on it.",
    ),
    "corrosion": (
        "pegwood.cli.trade.corrosion:corrosion",
        "Name corrosion or decay by its look, and what undoes it.",
    ),
    "rust": (
        "pegwood.cli.trade.rust:rust",
        "Grade rust by its area in percent or by its look.",
    ),
    "glue": (
        "pegwood.cli.trade.glue:glue",
        "Ask what holds two things together, or show one glue or covering.",
    ),
    "safety": (
        "pegwood.cli.trade.safety:safety",
        "How a substance burns, poisons and is labelled, and what to do.",
    ),
    "mix": ("pegwood.cli.trade.mix:mix", "Whether two substances may meet, or follow one another."),
    "hazard": (
        "pegwood.cli.trade.hazard:hazard",
        "What can hurt: how to recognise it, what to do, what never.",
    ),
    "capacitor": (
        "pegwood.cli.trade.capacitor:capacitor",
        "Let a charged capacitor down: energy, resistor, time.",
    ),
    "oil": ("pegwood.cli.trade.oil:oil", "How thick an oil or grease is, warm and cold; winter check."),
    "lubricate": (
        "pegwood.cli.trade.lubricate:lubricate",
        "What goes on a place, how much, and where none may be.",
    ),
    "spring": (
        "pegwood.cli.trade.spring:spring",
        "A spring's rate and stress, and what to wind another from.",
    ),
    "shim": ("pegwood.cli.trade.shim:shim", "The fewest leaves of foil that add to a thickness."),
    "fit": ("pegwood.cli.trade.fit:fit", "What warmth does to the clearance between two metals."),
    "clutch": ("pegwood.cli.trade.clutch:clutch", "The torque at which a friction clutch slips."),
    "cell": ("pegwood.cli.trade.cell:cell", "A battery: size, volts, and what may stand in for it."),
    "film": ("pegwood.cli.trade.film:film", "A film format: width, frames, spacing, spool."),
    "series": (
        "pegwood.cli.trade.series:series",
        "What a stop or speed is marked for exactly, and exposure values.",
    ),
    "thread": ("pegwood.cli.trade.thread:thread", "Ask which thread a measured screw has."),
    "torque": ("pegwood.cli.trade.torque:torque", "Ask how tight a small screw may be in its hole."),
    "agent": ("pegwood.cli.trade.agent:agent", "Tell what an agent does to materials."),
    "material": ("pegwood.cli.trade.material:material", "Tell what may touch a material, and what never."),
    "clean": (
        "pegwood.cli.trade.clean:clean",
        "Tell how an assembly may be cleaned, and what must come off it first.",
    ),
}


class PlainWords(LazyGroup):
    """Commands by name; what begins with none of them is a question in plain words."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0] not in self.lazy and not args[0].startswith("-"):
            args = ["ask", *args]
        return super().resolve_command(ctx, args)


@click.group(cls=PlainWords, lazy=QUESTIONS, epilog='Example: pegwood trade "brass + steel, salt"')
@click.pass_context
def trade(context: click.Context) -> None:
    """Ask what the trade knows: metals, agents, threads, oils."""
    if gc.isenabled():  # it ends with its answer: looking for rubbish meanwhile takes a tenth of the time
        gc.disable()
        context.call_on_close(gc.enable)
