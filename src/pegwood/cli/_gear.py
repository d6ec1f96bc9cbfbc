"""What the workshop measures with, as it is named at the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegwood.cli._open import OneLine

if TYPE_CHECKING:
    from pegwood.book.models import Gear


def gear_called(name: str) -> Gear:
    """What the workshop measures with, by its name, its serial number, or both as the list shows them."""
    from pegwood.book.models import Gear

    every = list(Gear.objects.all())
    asked = name.strip().casefold()
    found = [one for one in every if asked in {t.casefold() for t in (one.name, one.serial, str(one))}]
    if len(found) == 1 and asked:
        return found[0]
    listed = "; ".join(map(str, found if asked and found else every))
    if asked and found:
        raise OneLine(f"Which {name!r}? Name one by its serial number: {listed}.", 2)
    if not every:
        raise OneLine("The workshop has entered no gear yet. Enter it on the page Workshop.", 2)
    raise OneLine(f"There is no gear {name!r}. There is: {listed}.", 2)
