"""What every answer must keep, whatever it is about."""

from pegwood.trade.answers import Answer, as_json
from trade.walk_json import unsourced


def keeps_its_word(answer: Answer) -> bool:
    """Whether all its figures carry their source and all its lines are whole sentences."""
    lines = [answer.headline, *answer.cautions, *(one for s in answer.sections for one in s.lines)]
    return not list(unsourced(as_json(answer))) and all(
        line.says.endswith(".") and line.says[0] == line.says[0].upper() for line in lines if not line.label
    )
