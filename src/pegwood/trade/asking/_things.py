"""Questions that are asked in names: metals, agents, oils, glues, hazards, cells, and what was seen."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

from pegwood.trade.answers import Answer
from pegwood.trade.asking._figures import celsius
from pegwood.trade.asking._words import Thing, Words
from pegwood.trade.beside import with_hazards, with_safety
from pegwood.trade.reference import Reference

BATH = "detergent"  # what is in an ultrasonic bath where nobody says more
STEAM = "water"
VERDICTS = ("never", "with care")  # of a mixture, the worst first
USUAL = "normal"  # where two metals live where nobody says


def unclear(reference: Reference, words: Words) -> Answer | None:
    """A word that may mean several things is told to be just that."""
    doubtful = [one for things in words.named for one in things if one.kind == "unclear"]
    if doubtful:
        from pegwood.trade.agents import Tables

        read = Tables(reference)
        for one in doubtful:
            look_up = read.agent if one.key == "agent" else read.material
            look_up(one.typed)  # says which it may be, as an error
    return None


def agent_on(reference: Reference, words: Words) -> Answer | None:
    """An agent and materials, perhaps how it is put on; a bath alone is one of detergent."""
    materials = _only(words, "material", beside=("agent", "method"))
    agents, methods = _only(words, "agent", beside=("material",)), words.of("method")
    if not materials or len(agents) > 1 or len(methods) > 1 or not (agents or methods):
        return None
    if not words.all_of("agent", "material", "method"):
        return None
    put_on = agents[0] if agents else STEAM if methods == ("steam",) else BATH
    from pegwood.trade.agents import tell_agent

    told = with_safety(reference, put_on, tell_agent(reference, put_on, materials, *methods))
    return with_hazards(reference, materials, told)


def mixture(reference: Reference, words: Words) -> Answer | None:
    """Two substances, or agents that hold them: of all that meets then, the worst pair."""
    if len(words.named) != 2 or not words.all_of("substance", "agent"):
        return None
    from pegwood.trade.safety import MIXTURES, mixes, tell_mixture

    order = [id(row) for row in reference.rows(MIXTURES).values()]
    first, second = (_held(reference, things) for things in words.named)
    pairs = [(one, other) for one in first for other in second if one != other]

    def worst_first(pair: tuple[str, str]) -> tuple[int, int]:
        rows = mixes(reference, *pair)
        return (VERDICTS.index(rows[0].verdict), order.index(id(rows[0]))) if rows else (len(VERDICTS), 0)

    return tell_mixture(reference, *min(pairs, key=worst_first)) if pairs else None


def couple(reference: Reference, words: Words) -> Answer | None:
    """Two metals or finishes, perhaps where they live."""
    metals, where = _only(words, "material", beside=("environment",)), words.of("environment")
    if len(metals) != 2 or len(where) > 1 or not words.all_of("material", "environment"):
        return None
    from pegwood.trade.metals import ANODIC_INDEX, tell_couple

    if not all(metal in reference.rows(ANODIC_INDEX) for metal in metals):
        return None
    told = tell_couple(reference, metals[0], metals[1], where[0] if where else USUAL)
    return with_hazards(reference, metals, told)


def join(reference: Reference, words: Words) -> Answer | None:
    """Two things that are to hold together."""
    materials = words.of("material")
    if len(materials) != 2 or not words.all_of("material"):
        return None
    from pegwood.trade.glues import tell_join

    return tell_join(reference, *materials)


def glue(reference: Reference, words: Words) -> Answer | None:
    """One glue."""
    glues = words.of("glue")
    if len(words.named) != 1 or not glues:
        return None
    from pegwood.trade.glues import tell_glue

    return tell_glue(reference, glues[0], celsius(words))


def covering(reference: Reference, words: Words) -> Answer | None:
    """A covering: how it comes off and goes back."""
    materials = words.of("material")
    if len(materials) != 1:
        return None
    from pegwood.trade.glues import tell_covering

    return tell_covering(reference, materials[0])


def clean(reference: Reference, words: Words) -> Answer | None:
    """The materials of an assembly."""
    materials = words.of("material")
    if not materials or not words.all_of("material"):
        return None
    from pegwood.trade.agents import tell_routes

    return with_hazards(reference, materials, tell_routes(reference, materials))


def several(reference: Reference, words: Words) -> Answer | None:
    """Several materials in a row: an assembly to be cleaned."""
    return clean(reference, words) if len(words.named) > 1 else None


def alone(kind: str, told_by: str) -> Callable[[Reference, Words], Answer | None]:
    """
    The question that is one name by itself.

    Parameters
    ----------
    kind : str
        What the name must stand for.
    told_by : str
        Who tells it, as ``"module:function"``; imported when it is asked.
    """

    def answers(reference: Reference, words: Words) -> Answer | None:
        named = words.of(kind)
        if len(words.named) != 1 or not named:
            return None
        module, _, function = told_by.partition(":")
        told: Answer = getattr(import_module(module), function)(reference, named[0])
        return told

    return answers


def place(reference: Reference, words: Words) -> Answer | None:
    """A place, perhaps asked for with its oil ("oil for shutter blades", "iris oil")."""
    places = [things for things in words.named if any(one.kind == "place" for one in things)]
    rest = [one for things in words.named if things not in places for one in things]
    if len(places) != 1 or any((one.kind, one.typed) != ("unclear", "oil") for one in rest):
        return None
    if not (words.topic or rest) and any(one.kind == "material" for one in places[0]):
        return None  # "leather" alone is the material: nobody spoke of oil
    from pegwood.trade.lubricants import tell_place

    return tell_place(reference, next(one.key for one in places[0] if one.kind == "place"))


def instead(_: Reference, words: Words) -> Answer | None:
    """Two cells: what may stand in is told of the one that the camera was made for."""
    cells = list(dict.fromkeys(words.of("cell")))
    if len(words.named) == 2 and len(cells) == 2 and words.all_of("cell"):
        raise ValueError(
            f"{words.text!r}: ask for the cell the camera was made for, {cells[0]!r} or {cells[1]!r}; "
            "what may stand in for it is told there."
        )
    return None


def lubricant(reference: Reference, words: Words) -> Answer | None:
    """An oil or grease, perhaps at a temperature."""
    named, at = words.of("lubricant"), celsius(words)
    if len(words.named) != 1 or not named:
        return None
    from pegwood.trade.lubricants import tell_lubricant

    return tell_lubricant(reference, named[0]) if at is None else tell_lubricant(reference, named[0], [at])


def winter(reference: Reference, words: Words) -> Answer | None:
    """An oil or grease in the cold."""
    named, at = words.of("lubricant"), celsius(words)
    if len(words.named) != 1 or not named:
        return None
    from pegwood.trade.lubricants import tell_cold

    return tell_cold(reference, named[0]) if at is None else tell_cold(reference, named[0], at)


def safety(reference: Reference, words: Words) -> Answer | None:
    """How a substance, or what an agent is made of, burns, poisons and is labelled."""
    if len(words.named) != 1 or not words.all_of("substance", "agent"):
        return None
    from pegwood.trade.safety import tell_substance

    found = _substance(reference, words.named[0])
    return tell_substance(reference, found) if found else None


def corrosion(reference: Reference, words: Words) -> Answer | None:
    """What grows on a metal, by its name."""
    named = words.of("corrosion")
    if not named:
        return None
    from pegwood.trade.metals import CORROSION, tell_corrosion

    try:
        told = tell_corrosion(reference, words.text)
    except ValueError:
        if not words.all_of("corrosion", "unclear"):
            raise
        # its name reads as a look on something else, or the other name may mean several: "mould on lens"
        told = tell_corrosion(reference, reference.rows(CORROSION)[named[0]].name)
    return with_hazards(reference, reference.rows(CORROSION)[named[0]].bases, told)


def metal(reference: Reference, words: Words) -> Answer | None:
    """One metal or finish: its index, what comes on it."""
    metals = words.of("material")
    if len(words.named) != 1 or not metals:
        return None
    from pegwood.trade.metals import tell_metal

    return with_hazards(reference, metals[:1], tell_metal(reference, metals[0]))


def material(reference: Reference, words: Words) -> Answer | None:
    """One material: what may touch it."""
    named = words.of("material")
    if len(words.named) != 1 or not named:
        return None
    from pegwood.trade.agents import tell_material

    return with_hazards(reference, named[:1], tell_material(reference, named[0]))


def agent(reference: Reference, words: Words) -> Answer | None:
    """One agent, perhaps with how it is put on: on everything."""
    named, methods = _only(words, "agent", beside=()), words.of("method")
    if len(named) != 1 or len(methods) != len(words.named) - 1 or not words.all_of("agent", "method"):
        return None
    from pegwood.trade.agents import tell_agent

    return with_safety(reference, named[0], tell_agent(reference, named[0], (), *methods[:1]))


def environment(_: Reference, words: Words) -> Answer | None:
    """A place alone asks nothing yet."""
    if words.all_of("environment"):
        raise ValueError(f"{words.text!r}: which two metals are together there? As 'brass + steel, salt'.")
    return None


def _only(words: Words, kind: str, beside: tuple[str, ...]) -> tuple[str, ...]:
    """The keys of this kind, each name counted once: one that may be of both kinds is taken for this one."""
    found = []
    for things in words.named:
        of_it = [thing.key for thing in things if thing.kind == kind]
        if of_it and not (kind != "material" and any(thing.kind in beside for thing in things)):
            found += of_it[:1]
    return tuple(dict.fromkeys(found))


def _substance(reference: Reference, things: tuple[Thing, ...]) -> str | None:
    """The substance a name stands for; of an agent, the first that it holds."""
    return next(iter(_held(reference, things)), None)


def _held(reference: Reference, things: tuple[Thing, ...]) -> tuple[str, ...]:
    """The substance a name stands for; of an agent, all that it holds and the tables know."""
    keys = {thing.kind: thing.key for thing in things}
    if "substance" in keys:
        return (keys["substance"],)
    from pegwood.trade.agents import AGENTS
    from pegwood.trade.safety import SUBSTANCES

    if "agent" in keys:
        held = reference.rows(AGENTS)[keys["agent"]].substances
        return tuple(one for one in held if one in reference.rows(SUBSTANCES))
    return ()
