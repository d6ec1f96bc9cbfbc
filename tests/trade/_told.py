"""What every answer must keep, whatever it is about; and all that it says, as one text."""

from __future__ import annotations

from pegwood.trade.answers import Answer, as_json
from trade.walk_json import unsourced


def keeps_its_word(answer: Answer) -> bool:
    """Whether all its figures carry their source and all its lines are whole sentences."""
    lines = [answer.headline, *answer.cautions, *(one for s in answer.sections for one in s.lines)]
    return not unsourced(as_json(answer)) and all(
        line.says.endswith(".") and line.says[0] == line.says[0].upper() for line in lines if not line.label
    )


def told(answer: Answer) -> str:
    """Everything an answer says; refuses figures without a source."""
    data = as_json(answer)
    assert unsourced(data) == []
    lines = [data["says"], *data["cautions"], *(line for s in data["sections"] for line in s["lines"])]
    return "\n".join(f"{line.get('label', '')}: {line.get('verdict', '')} {line['says']}" for line in lines)
