"""What every answer must keep, whatever it is about."""

from collections.abc import Iterator
from typing import Any, get_args

from pegwood.trade.answers import Answer, as_json
from pegwood.trade.grounds import Mark


def bare_numbers(value: Any, path: str = "") -> Iterator[str]:
    """Places in JSON where a number stands in a mapping that names no source and no known mark."""
    if isinstance(value, dict):
        has_number = any(
            isinstance(one, int | float) and not isinstance(one, bool)
            for inside in value.values()
            for one in (inside if isinstance(inside, list) else [inside])
        )
        if has_number and not (value.get("source") and value.get("mark") in get_args(Mark)):
            yield path
        for key, inside in value.items():
            yield from bare_numbers(inside, f"{path}/{key}")
    elif isinstance(value, list):
        for number, inside in enumerate(value):
            yield from bare_numbers(inside, f"{path}/{number}")


def keeps_its_word(answer: Answer) -> bool:
    """Whether all its figures carry their source and all its lines are whole sentences."""
    lines = [answer.headline, *answer.cautions, *(one for s in answer.sections for one in s.lines)]
    return (
        not list(bare_numbers(as_json(answer)))
        and all(
            line.says[0].upper() == line.says[0] or not line.says[0].isalpha() or line.label for line in lines
        )
        and all(line.says.endswith(".") for line in lines)
    )
