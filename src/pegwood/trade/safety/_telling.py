"""What is told of a substance and of two that meet."""

from __future__ import annotations

from pegwood.trade.answers import Answer, Section, Statement
from pegwood.trade.grounds import Ground, Grounds, joined, sourced
from pegwood.trade.names import UnknownWord
from pegwood.trade.numbers import celsius
from pegwood.trade.reference import Reference
from pegwood.trade.safety import library
from pegwood.trade.safety._lines import (
    air_lines,
    as_data,
    cancer_line,
    chosen,
    fire_lines,
    millilitres,
)
from pegwood.trade.safety.figures import Figures, figures_of, is_cas
from pegwood.trade.safety.mixtures import Mixture, enemies, mixes
from pegwood.trade.safety.substances import (
    Code,
    Rule,
    Substance,
    codes,
    figures,
    pictograms,
    rules,
    substance,
)
from pegwood.trade.safety.vapour import SHARES, breathed, vapour
from pegwood.trade.said import told
from pegwood.trade.wording import capital

#: For the headline; a code that is not among them stands behind these.
WORST_FIRST = ("H300", "H310", "H330", "H350", "H340", "H360", "H314", "H301", "H311", "H331", "H271", "H318")

NO_ROW = Ground("no row of the tables speaks of it", "practice")
UNKNOWN = Ground("a pair that no list names has been looked at by nobody here", "practice")


def tell_substance(reference: Reference, word: str) -> Answer:
    """
    How a substance burns, poisons and is labelled, and what is done about it at the bench.

    Parameters
    ----------
    reference : Reference
        The tables.
    word : str
        Any of its names, or a CAS number; of a number that no table holds the library `chemicals`, if it is
        installed, gives the figures.

    Raises
    ------
    UnknownWord
        If nothing is known by that name.
    ValueError
        If a CAS number is in no table and the library is not installed, or does not know it.
    """
    try:
        one = substance(reference, word)
    except UnknownWord:
        if is_cas(word.strip()):
            return _by_number(reference, word.strip())
        raise
    known = figures(reference, one)
    statements = codes(reference, one)
    held = rules(reference, one)
    symbols = pictograms(reference, one)
    label = [_labelled(code, grounds, symbols) for code, grounds in statements]
    sections = (
        Section(title="What the label says", lines=tuple(label)),
        Section(title="Fire", lines=fire_lines(known) if known else ()),
        Section(title="Air", lines=air_lines(known) if known else ()),
        Section(title="At the bench", lines=tuple(_rule(rule) for rule in held if not rule.caution)),
        Section(title="Know too", lines=told(one.notes)),
        Section(title="Must not meet", lines=_enemies(reference, one)),
    )
    return Answer(
        subject="substance",
        understood=f"{one.name}, CAS {one.cas[0]}",
        headline=_headline(one, known, statements),
        sections=tuple(section for section in sections if section.lines),
        cautions=_cautions(one, known, held),
        also=_also(reference, one),
        data={
            "substance": {"key": one.key, "name": one.name, "cas": list(one.cas), "roles": list(one.roles)},
            "label": {
                "signal": one.signal,
                "pictograms": list(symbols),
                "codes": [sourced(grounds, code=code.code, says=code.says) for code, grounds in statements],
            },
            "figures": as_data(known),
        },
    )


def _headline(
    one: Substance, known: Figures | None, statements: tuple[tuple[Code, Grounds], ...]
) -> Statement:
    says = [f"{one.signal}." if one.signal else ""]
    grounds = [classified.grounds for classified in one.classified]
    flash, over = chosen(known, "flash_k"), vapour(known) if known else None
    if "flammable" in one.roles and flash:
        says.append(f"Flash point {celsius(flash.value)}.")
        grounds.append(flash.grounds)
        if over and over.to_lower_limit is not None and over.over != "below":
            fire, air = millilitres(over.to_lower_limit * SHARES[0]), breathed(known) if known else None
            most = f"{millilitres(air.liquid)} to breathe, {fire}" if air else fire
            says.append(f"Let no more evaporate into 1 m³ of air than {most} for fire.")
            grounds += [over.grounds, air.grounds if air else ()]
    elif statements:
        says.append(f"{_worst(statements).says}.")
        if any("%" in note.says for note in one.notes):
            says.append("That is the undiluted one; what a weaker one does stands below.")
    elif one.classified:
        says.append("Not labelled as hazardous.")
    else:
        says.append("No hazard label stands in the tables; that is not the same as harmless.")
        grounds.append((NO_ROW,))
    return Statement(label=one.name, says=" ".join(part for part in says if part), grounds=joined(*grounds))


def _worst(statements: tuple[tuple[Code, Grounds], ...]) -> Code:
    """The statement that comes first to mind: what kills or causes cancer before what stings."""
    order = {code: place for place, code in enumerate(WORST_FIRST)}
    return min((code for code, _ in statements), key=lambda code: order.get(code.code[:4], len(order)))


def _labelled(code: Code, grounds: Grounds, symbols: tuple[str, ...]) -> Statement:
    """A statement of the label, with its symbol unless another takes that one's place."""
    symbol = code.pictogram if code.pictogram in symbols else ""
    return Statement(label=code.code, says=f"{code.says}.", grounds=grounds, pictogram=symbol)


def _rule(rule: Rule) -> Statement:
    return Statement(label=rule.topic, says=rule.says, grounds=rule.grounds)


def _cautions(one: Substance, known: Figures | None, held: tuple[Rule, ...]) -> tuple[Statement, ...]:
    lines = [_rule(rule) for rule in held if rule.caution]
    for group in known.carcinogen if known else ():
        if group.value in {"1", "2A"} and one.key != "ethanol":  # its entry is about drinks
            lines.append(cancer_line(group))
    return tuple(lines)


def _enemies(reference: Reference, one: Substance) -> tuple[Statement, ...]:
    """One line for each thing that it may make, with all that make it."""
    by_row: dict[int, tuple[Mixture, list[str]]] = {}
    for other, row in enemies(reference, one):
        by_row.setdefault(id(row), (row, []))[1].append(other.name)
    return tuple(
        Statement(label=", ".join(names), says=_sentence(row.forms), verdict=row.verdict, grounds=row.grounds)
        for row, names in by_row.values()
    )


def _sentence(words: str) -> str:
    return f"{capital(words)}."


def _also(reference: Reference, one: Substance) -> tuple[str, ...]:
    worst = [other for other, row in enemies(reference, one) if row.verdict == "never"]
    return tuple(f"{one.name} + {other.name}" for other in worst[:1])


def _by_number(reference: Reference, number: str) -> Answer:
    """Of a CAS number that no row of substances names, what the data sets hold."""
    known = figures_of(reference, (number,), look_up=True)
    if known is None:
        why = "Nor does the library chemicals hold it." if library.there() else library.HOW_TO_ADD
        raise ValueError(f"CAS {number} stands in no table. {why}")
    return Answer(
        subject="substance",
        understood=f"CAS {number}",
        headline=Statement(
            label=f"CAS {number}",
            says=(
                "How it is labelled and what it must not meet is not known here: read its safety data sheet."
            ),
            verdict="not known",
            grounds=known.grounds,
        ),
        sections=tuple(
            section
            for section in (
                Section(title="Fire", lines=fire_lines(known)),
                Section(title="Air", lines=air_lines(known)),
            )
            if section.lines
        ),
        data={"substance": {"cas": [number]}, "figures": as_data(known)},
    )


def tell_mixture(reference: Reference, a: str, b: str) -> Answer:
    """
    What two substances make when they meet, and whether one may follow the other.

    Raises
    ------
    UnknownWord
        If a name is in no table.
    ValueError
        If both are the same.
    """
    first, second = substance(reference, a), substance(reference, b)
    rows = mixes(reference, a, b)
    understood = f"{first.name} with {second.name}"
    also = (f"{first.name} safety", f"{second.name} safety")
    if not rows:
        return Answer(
            subject="mixture",
            understood=understood,
            headline=Statement(
                label=understood,
                says="No row speaks of this pair. Do not mix them; rinse and dry between one and the other.",
                verdict="not known",
                grounds=(UNKNOWN,),
            ),
            also=also,
            data={"mixture": {"a": first.key, "b": second.key, "verdict": "not known", "rows": []}},
        )
    worst = rows[0]
    forms = [
        Statement(says=_sentence(row.forms), verdict=row.verdict, grounds=row.grounds) for row in rows[1:]
    ]
    after = Statement(
        label=f"{second.name} after {first.name}, or the other way round",
        says=f"Not without rinsing: {worst.between}.",
        grounds=worst.grounds,
    )
    sections = [Section(title="One after the other", lines=(after,))]
    if forms:
        sections.insert(0, Section(title="Besides", lines=tuple(forms)))
    cautions: tuple[Statement, ...] = ()
    if worst.verdict == "never":
        cautions = (
            Statement(
                says=(
                    "If it has happened: leave, take others with you, air the room from outside, "
                    "call for help."
                ),
                grounds=(Ground("first-aid advice as safety data sheets give it", "memory"),),
            ),
        )
    return Answer(
        subject="mixture",
        understood=understood,
        headline=Statement(
            label=understood, says=_sentence(worst.forms), verdict=worst.verdict, grounds=worst.grounds
        ),
        sections=tuple(sections),
        cautions=cautions,
        also=also,
        data={
            "mixture": {
                "a": first.key,
                "b": second.key,
                "verdict": worst.verdict,
                "rows": [
                    sourced(row.grounds, verdict=row.verdict, forms=row.forms, between=row.between)
                    for row in rows
                ],
            }
        },
    )
