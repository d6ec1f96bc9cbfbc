"""
A small camera whose every job can be gone through by hand, and going through it: no code of pricing's.

Under a lid lie a gear and a spring; the spring lies under a bridge as well. Minutes do not spread, so that
the price takes a few dozen values, each with a chance.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

from pegwood.anatomy.construction import Construction
from pegwood.anatomy.parts import Minutes, Part, Risk, Way
from pegwood.causes.family_net import FamilyCauses
from pegwood.causes.known import Breaks, Fault, Mend, Shown, Sign
from pegwood.pricing.money import Money
from pegwood.pricing.quote import PartPrice, Terms
from pegwood.trade.grounds import Ground


def minutes(likely, low=None, high=None):
    return Minutes(low=low or likely, likely=likely, high=high or likely)


def euro(amount):
    return Money(round(amount * 100), "EUR")


def part(name, of, *after, risks=()):
    way = Way(side="top", tool="screwdriver", minutes=of, after=after, risks=risks)
    return Part(id=name, name=name, ways=(way,))


def mend(name, of, success=1.0, parts=(), breaks=()):
    return Mend(name=name, minutes=of, success=success, parts=parts, breaks=breaks)


def fault(name, where, prior, *mends):
    return Fault(id=name, name=name, part=where, prior=prior, mends=mends)


def camera(of=minutes):
    """The construction; `of` makes its minutes spread."""
    parts = (
        part("lid", of(4.0), risks=(Risk(what="screw head goes", chance=0.1, minutes=15.0),)),
        part("bridge", of(6.0), "lid"),
        part("gear", of(2.0), "lid"),
        part("spring", of(3.0), "lid", "bridge"),
    )
    return Construction(
        id="small", name="small", parts={one.id: one for one in parts}, ground=Ground("made up", "practice")
    )


def causes(of=minutes):
    """
    The gear may be worn (a new one; that may break the spring) or dirty; the spring may be weak: it is bent,
    which holds four times in ten, then replaced, which always holds.
    """
    faults = (
        fault(
            "worn",
            "gear",
            0.3,
            mend("replace it", of(20.0), parts=("gear",), breaks=(Breaks(fault="weak", chance=0.25),)),
        ),
        fault("dirty", "gear", 0.5, mend("clean it", of(10.0), success=0.8)),
        fault(
            "weak",
            "spring",
            0.2,
            mend("bend it", of(5.0), success=0.4),
            mend("replace it", of(30.0), parts=("spring",)),
        ),
    )
    shown = {"slips": {"worn": 0.9, "dirty": 0.2}, "slow": {"weak": 0.7, "dirty": 0.5}}
    signs = [
        Sign(
            id=name,
            asks=f"{name}?",
            by="eye",
            minutes=1.0,
            leak=(0.95, 0.05),
            shown_by=tuple(Shown(fault=one, shows=(1 - w, w)) for one, w in of_sign.items()),
        )
        for name, of_sign in shown.items()
    ]
    return FamilyCauses(
        family="small", faults={one.id: one for one in faults}, signs={one.id: one for one in signs}
    )


PARTS = {
    "gear": PartPrice.known(euro(12)),
    "spring": PartPrice.known(euro(30), wait_days=(10, 10, 10)),
}
TERMS = Terms(
    per_hour=euro(48),
    bench_per_hour=euro(12),
    minimum=euro(30),
    consumables=euro(2),
    per_mend=euro(1),
    every_job=minutes(20.0),
    tax=Fraction(1, 5),
)


def posterior(slow=None):
    """The chance of (worn, dirty, weak), after an answer to `slow`."""
    found = {}
    for worn, dirty, weak in itertools.product((False, True), repeat=3):
        weight = (0.3 if worn else 0.7) * 0.5 * (0.2 if weak else 0.8)
        no = 0.95 * (0.3 if weak else 1) * (0.5 if dirty else 1)
        weight *= 1 if slow is None else (1 - no if slow else no)
        found[worn, dirty, weak] = weight
    whole = math.fsum(found.values())
    return {cell: weight / whole for cell, weight in found.items()}


def every_job(slow=None, left=()):
    """Every price there may be, before tax and minimum, in cents, and its chance; with the wait, [day]."""
    found: dict[tuple[int, int], float] = {}
    for (worn, dirty, weak), p in posterior(slow).items():
        worn, dirty, spring = worn and "worn" not in left, dirty and "dirty" not in left, weak
        for broken, p_broken in ((True, 0.25), (False, 0.75)) if worn and not weak else ((False, 1.0),):
            mends_spring = (spring and "weak" not in left) or broken
            # cleaning: n tries; bending and replacing by turns, so one bend, then at most one replacement
            cleanings = [(n, 0.8 * 0.2 ** (n - 1)) for n in range(1, 40)] if dirty else [(0, 1.0)]
            springs = [((5.0, 1, 0), 0.4), ((35.0, 2, 1), 0.6)] if mends_spring else [((0.0, 0, 0), 1.0)]
            for (n, p_n), ((took, tries, new), p_spring) in itertools.product(cleanings, springs):
                off = {"lid", "gear"} if worn or dirty else set()
                off |= {"lid", "bridge", "spring"} if mends_spring else set()
                steps = sum({"lid": 4.0, "bridge": 6.0, "gear": 2.0, "spring": 3.0}[one] for one in off)
                for hurt, p_hurt in ((15.0, 0.1), (0.0, 0.9)) if off else ((0.0, 1.0),):
                    total = 20.0 + 2 * (steps + hurt) + 20.0 * worn + 10.0 * n + took
                    cents = total * 100 + 200 + 100 * (worn + n + tries) + 1200 * worn + 3000 * new
                    cell = round(cents), 10 * new
                    found[cell] = found.get(cell, 0.0) + p * p_broken * p_n * p_spring * p_hurt
    return found


def owner_pays(jobs):
    """The same as what the owner pays: the minimum, a fifth of tax."""
    found: dict[float, float] = {}
    for (cents, _), p in jobs.items():
        paid = max(cents, 3000) * 1.2
        found[paid] = found.get(paid, 0.0) + p
    return found
