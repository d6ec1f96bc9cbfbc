"""`pegwood trade spring`."""

from __future__ import annotations

from typing import Any, Literal

import click

from pegwood.cli.trade._show import json_option, reference, show, told_in_one_line

MM = 1e-3


@click.command(epilog="Example: pegwood trade spring 0.30 3.3 10 --load 1")
@click.argument("wire", type=float, required=False)
@click.argument("coil", type=float, required=False)
@click.argument("turns", type=float, required=False)
@click.option("--kind", type=click.Choice(["compression", "extension", "torsion"]), default="compression")
@click.option(
    "--across",
    type=click.Choice(["outside", "mean", "inside"]),
    default="outside",
    help="Where the coil was measured.  [default: outside]",
)
@click.option("--of", "metal", default="music-wire", help="The wire: music-wire, stainless-wire, ...")
@click.option(
    "--ends",
    type=click.Choice(["closed", "ground", "plain"]),
    default="closed",
    help="Of a compression spring.  [default: closed]",
)
@click.option("--length", type=float, help="Free length of a compression spring, mm.")
@click.option("--load", type=float, help="What it must bear: N, or N mm for a torsion spring.")
@click.option("--initial", type=float, help="Initial tension of an extension spring, N.")
@click.option("--legs", type=float, default=0.0, help="Both legs of a torsion spring together, mm.")
@click.option("--wire-u", type=float, default=0.01, help="Uncertainty of the wire, mm.  [default: 0.01]")
@click.option("--coil-u", type=float, default=0.03, help="Uncertainty of the coil, mm.  [default: 0.03]")
@click.option("--turns-u", type=float, default=0.15, help="Uncertainty of the turns.  [default: 0.15]")
@click.option("--again", is_flag=True, help="What to wind another from, in the same room.")
@click.option("--again-of", default=None, help="The same, from another wire.")
@click.option("--rate", type=float, help="Instead of a coil: the rate, N/mm or N mm a turn.")
@click.option("--over", type=float, help="What a new one goes over, mm.")
@click.option("--within", type=float, help="What a new one goes into, mm.")
@click.option("--height", type=float, help="Greatest length of a new one, closed, mm.")
@click.option("--sizes", default="metric", help="Wire sizes at hand: metric, fine-metric, music-gauge.")
@json_option
def spring(as_json: bool, **said: Any) -> None:
    """
    A spring's rate and stress, and what to wind another from.

    WIRE and COIL in mm; TURNS are those free to move: leave out the closed ones at the ends. To wind one from
    a rate alone: --rate 0.31 --over 2.4 --within 4.
    """
    from pegwood.trade.measured import Measured
    from pegwood.trade.springs import Coil, tell_spring

    with told_in_one_line():
        measured = [said[name] is not None for name in ("wire", "coil", "turns")]
        kind: Literal["compression", "extension", "torsion"] = said["kind"]
        if said["rate"] is not None and any(measured):
            raise ValueError("give either a coil or --rate.")
        if said["rate"] is not None:
            _windings(said, None, as_json)
            return
        if not all(measured):
            raise ValueError("give wire, coil and free turns, such as 0.30 3.3 10, or --rate.")
        coil = Coil(
            wire=Measured(said["wire"] * MM, said["wire_u"] * MM),
            diameter=Measured(said["coil"] * MM, said["coil_u"] * MM),
            turns=Measured(said["turns"], said["turns_u"]),
            across=said["across"],
        )
        if said["again"] or said["again_of"]:
            _windings(said, coil, as_json)
            return
        answer = tell_spring(
            reference(),
            coil,
            kind=kind,
            metal=said["metal"],
            ends=said["ends"],
            free_length_m=said["length"] and said["length"] * MM,
            load=said["load"] and (said["load"] * MM if kind == "torsion" else said["load"]),
            initial_n=said["initial"],
            legs_m=said["legs"] * MM,
        )
    show(answer, as_json)


def _windings(said: dict[str, Any], coil: Any, as_json: bool) -> None:
    import math

    from pegwood.trade.measured import Measured
    from pegwood.trade.springs import Space, rate_of, room_of, tell_windings

    kind, tables = said["kind"], reference()
    room = room_of(coil, kind, said["ends"]) if coil else Space()
    space = Space(
        over_m=room.over_m if said["over"] is None else said["over"] * MM,
        within_m=room.within_m if said["within"] is None else said["within"] * MM,
        height_m=room.height_m if said["height"] is None else said["height"] * MM,
    )
    if coil:
        wanted = rate_of(tables, coil, kind, said["metal"])
    else:
        wanted = Measured(said["rate"] * (MM if kind == "torsion" else 1 / MM))
        if not math.isfinite(space.within_m):
            raise ValueError("say what the new spring goes into: --within, mm.")
    answer = tell_windings(
        tables,
        wanted,
        space=space,
        kind=kind,
        metal=said["again_of"] or said["metal"],
        sizes=said["sizes"],
        ends=said["ends"],
        near_mean_m=coil.mean_m if coil else None,
    )
    show(answer, as_json)
