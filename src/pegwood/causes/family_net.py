"""What may be wrong with a camera of a family: the knowledge of its mechanisms put together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from pegwood.anatomy.construction import WITHIN, Construction, Use
from pegwood.anatomy.mechanism import OUTSIDE
from pegwood.causes.before_signs import Floats, chance
from pegwood.causes.inference import FaultNet, Link, SignNode
from pegwood.causes.known import Breaks, Fault, Knowledge, Mend, Shown, Sign
from pegwood.causes.story import COMMON, TRACED, check_story
from pegwood.causes.words.told import Answered


@dataclass(frozen=True, kw_only=True, eq=False)
class FamilyCauses:
    """
    The faults and signs of a family, under the family's ids ("shutter.blades-oily").

    Attributes
    ----------
    family : str
    faults : mapping of str to Fault
        Their parts are the family's, by id.
    signs : mapping of str to Sign
        What must be off is told by the family's ids.
    mechanisms : mapping of str to str
        Which mechanism it is that stands before the dot of an id: {"shutter": "leaf-shutter-everset"}.
    """

    family: str
    faults: Mapping[str, Fault]
    signs: Mapping[str, Sign]
    mechanisms: Mapping[str, str] = field(default_factory=dict)

    def net(self, told: Iterable[str] = (), denied: Iterable[str] = ()) -> FaultNet:
        """
        The net after a story; of what nobody told or denied, every fault has its chance over both.

        What is unknown of the story is so not one cause of many faults, but of each by itself;
        `pegwood.causes.story_net` keeps it one.

        Raises
        ------
        ValueError
            If something is nothing of a story, or is told and denied.
        """
        story = story_of(told, denied)
        return self.net_with({fault.id: chance(fault, story) for fault in self.faults.values()}, story)

    def net_with(self, priors: Mapping[str, float], story: Mapping[str, float]) -> FaultNet:
        """
        The net with given chances of its faults.

        Parameters
        ----------
        priors : mapping of str to float
            Of each fault before any sign, [1].
        story : mapping of str to float
            How likely each thing of the story is, [1]; as common as it is where nothing is said.
        """
        leaks = {sign.id: _leak(sign, story) for sign in self.signs.values() if sign.tells_of}
        return self._untold.with_chances(priors, leaks)

    @cached_property
    def _untold(self) -> FaultNet:
        """The net before any story: put together and checked once."""
        return FaultNet(
            {fault.id: fault.prior for fault in self.faults.values()},
            {sign.id: SignNode(id=sign.id, leak=sign.leak) for sign in self.signs.values()},
            self.links,
        )

    @cached_property
    def links(self) -> tuple[Link, ...]:
        """Which fault shows which sign."""
        return tuple(
            Link(fault=one.fault, sign=sign.id, shows=one.shows)
            for sign in self.signs.values()
            for one in sign.shown_by
        )

    @cached_property
    def net_with_story(self) -> FaultNet:
        """Faults and signs with what leaves traces of the story beside the faults, as causes of its signs."""
        return FaultNet(
            {fault.id: fault.prior for fault in self.faults.values()} | {one: COMMON[one] for one in TRACED},
            {sign.id: SignNode(id=sign.id, leak=sign.leak) for sign in self.signs.values()},
            (
                *self.links,
                *(
                    Link(fault=one.by, sign=sign.id, shows=one.shows)
                    for sign in self.signs.values()
                    for one in sign.tells_of
                ),
            ),
        )


def story_of(told: Iterable[str], denied: Iterable[str]) -> dict[str, bool]:
    """
    What is so and what is not; all else is unknown.

    Raises
    ------
    ValueError
        If something is nothing of a story, or is told and denied.
    """
    told, denied = sorted(told), sorted(denied)
    check_story(*told, *denied)
    if both := set(told) & set(denied):
        raise ValueError(f"{min(both)!r} is told and denied at once. Take back one of both.")
    return dict.fromkeys(told, True) | dict.fromkeys(denied, False)


def _leak(sign: Sign, story: Mapping[str, float]) -> tuple[float, ...]:
    """What a sign shows with none of its faults, after a story."""
    at = np.array(sign.leak)
    for one in sign.tells_of:
        so = float(story.get(one.by, COMMON[one.by]))
        at = (1 - so) * at + so * higher(at, one.shows)
    return tuple(map(float, at))


def higher(one: Sequence[float] | Floats, other: Sequence[float]) -> Floats:
    """How likely each level is the higher of two: noisy-MAX, [1]."""
    below: Floats = np.cumsum(one) * np.cumsum(other)
    return np.diff(below, prepend=0.0)


def family_causes(construction: Construction, known: Mapping[str, Knowledge]) -> FamilyCauses:
    """
    The knowledge of a family's mechanisms, put together.

    A fault of a part that the family does not have is left out, and so are the signs that only it showed. Of
    what must be off for a look, what the family lacks is in nobody's way.
    """
    faults: dict[str, Fault] = {}
    signs: dict[str, Sign] = {}
    for use in construction.uses:
        if use.mechanism not in known:
            continue
        of = known[use.mechanism]
        here = {
            fault.id: replace(
                fault,
                id=f"{use.called}{WITHIN}{fault.id}",
                part=part,
                also=_there((_part(one, use) for one in fault.also), construction),
                mends=tuple(_mend(mend, use) for mend in fault.mends),
                source=fault.source or of.source,
                mark=fault.mark or of.mark,
            )
            for fault in of.fault
            if (part := _part(fault.part, use)) in construction.parts
        }
        faults |= {fault.id: fault for fault in here.values()}
        for sign in of.sign:
            shown = tuple(
                Shown(fault=here[one.fault].id, shows=one.shows) for one in sign.shown_by if one.fault in here
            )
            if not (shown or sign.tells_of):
                continue
            named = f"{use.called}{WITHIN}{sign.id}"
            signs[named] = replace(
                sign,
                id=named,
                off=_there((_part(part, use) for part in sign.off), construction),
                answered=_answered(sign.answered, use, construction),
                shown_by=shown,
                source=sign.source or of.source,
                mark=sign.mark or of.mark,
            )
    return FamilyCauses(
        family=construction.id,
        faults=faults,
        signs=signs,
        mechanisms={use.called: use.mechanism for use in construction.uses if use.mechanism in known},
    )


def _there(parts: Iterable[str], construction: Construction) -> tuple[str, ...]:
    return tuple(part for part in parts if part in construction.parts)


def _answered(answered: Answered | None, use: Use, construction: Construction) -> Answered | None:
    """How a finding answers a sign, of the parts that the family has; none where it has none of them."""
    if answered is None or not (parts := _there((_part(one, use) for one in answered.parts), construction)):
        return None
    return replace(answered, parts=parts)


def _mend(mend: Mend, use: Use) -> Mend:
    """A mend with the family's ids; what it may break is a fault of the same mechanism."""
    return replace(
        mend,
        parts=tuple(filter(None, (_part(part, use) for part in mend.parts))),
        breaks=tuple(
            Breaks(fault=f"{use.called}{WITHIN}{one.fault}", chance=one.chance) for one in mend.breaks
        ),
    )


def _part(named: str, use: Use) -> str:
    """A mechanism's part by the family's id; empty where the family has none."""
    if named.startswith(OUTSIDE):
        need = named.removeprefix(OUTSIDE)
        return next((one.part for one in use.bind if one.need == need), "")
    return "" if named in use.without else f"{use.called}{WITHIN}{named}"
