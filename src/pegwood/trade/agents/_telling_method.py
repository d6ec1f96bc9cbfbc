"""What bears a way of cleaning, and what does not."""

from __future__ import annotations

from pegwood.trade.agents._judging import method_on
from pegwood.trade.agents._tables import Tables
from pegwood.trade.agents._words import as_data, listed, sections
from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import joined
from pegwood.trade.reference import Reference
from pegwood.trade.wording import capital


def tell_method(reference: Reference, method: str) -> Answer:
    """
    Which materials bear a way of cleaning or drying, whatever the liquid.

    Raises
    ------
    UnknownWord
        If there is no such way.
    """
    read = Tables(reference)
    found = read.method(method)
    told = [(one.name, method_on(read, found, one)) for one in read.materials.values()]
    never = [name for name, reason in told if reason.verdict == "never"]
    refused = f"Never: {listed(never, 8)}." if never else "Nothing in the tables is harmed by it."
    barred = found.with_flammable
    cautions: tuple[Statement, ...] = ()
    if barred:
        cautions = (Statement(label="flammable liquids", says=barred.why, grounds=barred.grounds),)
    return Answer(
        subject="method",
        understood=f"{found.name}: what bears it, whatever the liquid",
        headline=Statement(
            label=found.name,
            says=refused,
            grounds=joined(
                *(reason.grounds for _, reason in told if reason.verdict == "never"), found.grounds
            ),
        ),
        sections=(
            Section(title="How", lines=(Statement(says=capital(found.how), grounds=found.grounds),)),
            *sections(told),
        ),
        cautions=cautions,
        data={
            "method": found.key,
            "materials": [
                as_data(reason, material=one.key)
                for one, (_, reason) in zip(read.materials.values(), told, strict=True)
            ],
        },
    )
