"""Looks through an answer for figures that say nothing of where they come from."""

from pegwood.trade.answers import as_json


def unsourced(data, where="answer"):
    """Places in JSON where a mapping holds a number and no source and mark beside it."""
    if isinstance(data, dict):
        numbers = any(isinstance(one, int | float) and not isinstance(one, bool) for one in data.values())
        found = [where] if numbers and not (data.get("source") and data.get("mark")) else []
        return found + [bad for key, one in data.items() for bad in unsourced(one, f"{where}.{key}")]
    if isinstance(data, list | tuple):
        return [bad for place, one in enumerate(data) for bad in unsourced(one, f"{where}[{place}]")]
    return []


def told(answer):
    """Everything an answer says, as one text; refuses figures without a source."""
    data = as_json(answer)
    assert unsourced(data) == []
    lines = [data["says"], *data["cautions"], *(line for s in data["sections"] for line in s["lines"])]
    return "\n".join(f"{line.get('label', '')}: {line.get('verdict', '')} {line['says']}" for line in lines)
