"""Packs of shims: brute force and HiGHS say the same as the dynamic programme."""

import itertools
import random

import numpy as np
import pytest

from pegwood.trade.reference import Reference
from pegwood.trade.shims import FOIL_SETS, Leaf, packed, read_stock, tell_shims
from trade._told import told

TABLES = Reference()
HUNDREDTH = 100  # tenths of a micrometre


def every_pack(stock):
    """Leaves, thicknesses and sum of every pack that can be laid, one by one."""
    for counts in itertools.product(*(range(leaf.count + 1) for leaf in stock)):
        total = sum(n * leaf.units for n, leaf in zip(counts, stock, strict=True))
        if total:
            yield sum(counts), sum(n > 0 for n in counts), total


@pytest.mark.parametrize("seed", range(12))
def test_the_pack_is_the_one_that_brute_force_finds(seed):
    chance = random.Random(seed)
    sizes = sorted(chance.sample([100, 150, 200, 254, 300, 500, 508, 700, 1000, 2000], 5))
    stock = [Leaf(size, chance.randint(1, 3)) for size in sizes]
    packs = list(every_pack(stock))
    for _ in range(20):
        wanted = chance.randrange(1, 40) * HUNDREDTH
        found = packed(wanted, stock)
        right = [one for one in packs if one[2] == wanted] or [
            one for one in packs if abs(one[2] - wanted) < HUNDREDTH / 2
        ]
        if right:
            fewest = min(right)[:2]
            assert found.best is not None
            assert (found.best.number, len(found.best.leaves)) == fewest
            assert any(found.best.units == one[2] for one in right)
        else:
            assert found.best is None
            below = [one for one in packs if one[2] < wanted]
            above = [one for one in packs if one[2] > wanted]
            assert (found.below.units if found.below else None) == max((p[2] for p in below), default=None)
            assert (found.above.units if found.above else None) == min((p[2] for p in above), default=None)
        for pack in (found.best, found.below, found.above):
            for leaf in pack.leaves if pack else ():
                there = next(one for one in stock if one.units == leaf.units)
                assert leaf.count <= there.count


@pytest.mark.parametrize("wanted_mm", [0.37, 0.83, 1.27, 2.49])
def test_of_a_foil_set_the_pack_has_as_few_leaves_as_highs_finds(wanted_mm):
    from scipy.optimize import LinearConstraint, milp  # HiGHS, the house's solver for planning

    leaves = TABLES.rows(FOIL_SETS)["metric"].leaves
    sizes = np.array([[leaf.units for leaf in leaves]])
    wanted = round(wanted_mm * 10_000)
    solved = milp(
        np.ones(len(leaves)),
        constraints=LinearConstraint(sizes, wanted, wanted),
        integrality=np.ones(len(leaves)),
    )
    found = packed(wanted, leaves)
    assert found.best.units == wanted
    assert found.best.number == round(solved.fun)


def test_fewer_different_thicknesses_break_a_tie():
    # 0.20 as 0.1 + 0.1 or as 0.05 + 0.15: both two leaves
    found = packed(2000, [Leaf(500, 1), Leaf(1000, 2), Leaf(1500, 1)])
    assert found.best.leaves == (Leaf(1000, 2),)


def test_a_stock_that_cannot_meet_it_says_so_and_names_the_nearest():
    says = told(tell_shims(TABLES, 0.36, "0.05x4,0.1x2,0.2"))
    assert "does not add to it within 0.01 mm. Nearest: 0.35 mm" in says
    assert "next thicker:  1 x 0.2 mm + 2 x 0.1 mm = 0.4 mm, +40 um" in says


def test_inch_foil_is_told_in_mm_too():
    # 0.002 in = 0.0508 mm, 0.010 in = 0.254 mm: an inch is 25.4 mm by definition
    says = told(tell_shims(TABLES, 0.30, "0.002inx2, 0.010in"))
    assert "1 x 0.01 in (0.254 mm) + 1 x 0.002 in (0.0508 mm) = 0.3048 mm, +4.8 um: 2 leaves" in says


def test_inch_sets_are_the_published_thicknesses_in_mm():
    # facts, section 8: 0.0254, 0.0508, 0.0762, 0.1016, 0.127, 0.254, 0.381, 0.508, 0.635, 1.27 mm
    published = [0.0254, 0.0508, 0.0762, 0.1016, 0.127, 0.254, 0.381, 0.508, 0.635, 1.27]
    leaves = TABLES.rows(FOIL_SETS)["inch"].leaves
    assert [leaf.thickness_m * 1000 for leaf in leaves] == pytest.approx(published)


def test_an_exact_pack_goes_before_one_of_fewer_leaves_that_is_nearly_right():
    found = packed(3000, [Leaf(1000, 3), Leaf(3040, 1)])
    assert found.best.leaves == (Leaf(1000, 3),)


def test_leaves_of_one_sheet_are_off_together():
    # three leaves of one sheet: three times the leaf; three sheets: the root of three of it (GUM, 5.2)
    from pegwood.trade.shims import Pack, pack_u_m

    one = pack_u_m(Pack((Leaf(1000, 1),)))
    assert pack_u_m(Pack((Leaf(1000, 3),))) == pytest.approx(3 * one)
    assert pack_u_m(Pack((Leaf(1000, 1), Leaf(1000, 1, inch=True)))) == pytest.approx(2**0.5 * one)


def test_a_stock_is_read_with_or_without_numbers_and_adds_up():
    leaves, _ = read_stock(TABLES, "0.05 x 2, 0.1, 0.05, .002in")
    assert leaves == (Leaf(500, 3), Leaf(508, 1, inch=True), Leaf(1000, 1))


@pytest.mark.parametrize("stock", ["", "0.05y2", "foil of tin", "0x3", "12", "0.1x0"])
def test_a_stock_that_cannot_be_read_is_refused(stock):
    with pytest.raises(ValueError, match=r"foil|shim"):
        tell_shims(TABLES, 0.3, stock)


@pytest.mark.parametrize("wanted", [0.0, -0.1, 11.0])
def test_a_thickness_that_no_shim_has_is_refused(wanted):
    with pytest.raises(ValueError, match="is no shim"):
        tell_shims(TABLES, wanted)
