"""What a draft puts in the place of what nobody told is called that, until somebody tells it."""

from __future__ import annotations

from dataclasses import replace

from pegwood.anatomy.bench_log import TakenOff
from pegwood.anatomy.construction import read_construction
from pegwood.anatomy.learning.draft import draft
from pegwood.anatomy.learning.edited import WayEdit, as_it_is, edited, own_parts
from pegwood.anatomy.parts import Minutes


def read(text):
    return read_construction(text, "odd.toml", {}, own=True)


def test_a_stand_in_is_told_with_its_part_and_no_longer_once_a_person_has_told_it():
    log = [TakenOff(id="1", number=1, name="lid"), TakenOff(id="2", number=2, name="wheel", minutes=4)]
    text = draft([log], "odd", "Odd one").as_toml()
    lid, wheel = own_parts(read(text))
    untold = "side: not told, front taken; tool: not told, fingers taken"
    assert lid.source == f"{untold}; minutes: never timed, 5 taken"
    assert "minutes" not in wheel.source

    def with_way(part, **told):
        way = part.ways[0]
        now = WayEdit(side=way.side, tool=way.tool, minutes=way.minutes, after=way.after)
        return replace(as_it_is(part), way=replace(now, **told))

    timed = with_way(lid, minutes=Minutes(low=1, likely=2, high=3))
    once = edited(text, "odd.toml", "Odd one", [timed, as_it_is(wheel)])
    lid, _ = own_parts(read(once))
    assert lid.source == untold

    told = with_way(lid, side="base", tool="tweezers")
    lid, _ = own_parts(read(edited(once, "odd.toml", "Odd one", [told, as_it_is(wheel)])))
    assert "taken" not in lid.source
