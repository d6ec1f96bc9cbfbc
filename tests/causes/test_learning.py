"""What closed jobs teach a family, can be seen, undone and handed on."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from benchmarks._simulated_jobs import drawn, perturbed, world_of
from causes.test_family_net import BODY, FAMILY
from causes.test_known import TRAIN, read
from pegwood.anatomy.construction import constructions, read_construction
from pegwood.anatomy.parts import Minutes
from pegwood.causes.case import Case
from pegwood.causes.family_net import family_causes
from pegwood.causes.known import knowledge
from pegwood.causes.learning import Lesson, MendDone, Weights, learn, lesson, read_shared, written
from pegwood.causes.story import COMMON
from pegwood.causes.weighing import weigh
from pegwood.trade.typed_toml import TableError


def family(id="one"):
    text = FAMILY.replace('id = "one"', f'id = "{id}"')
    if id == "two":
        text = text.replace('called = "slow"', 'called = "train"')
    return family_causes(
        read_construction(text, "one.toml", {"train": TRAIN, "body": BODY}), {"train": read()}
    )


ONE, TWO = family(), family("two")
YES, NO = (0.0, 1.0), (1.0, 0.0)


def same(one, other):
    return (one.faults, one.signs) == (other.faults, other.signs)


def job(n, there, **more):
    return Lesson(key=f"job-{n}", family="one", ruled={"slow.gummed": there}, **more)


def change(found, what, *of):
    return next(one for one in found.changes if (one.what, one.of) == (what, of))


def test_rulings_move_a_prior_by_counts_and_the_change_says_what_it_rests_on():
    found = learn(ONE, [job(n, n < 7) for n in range(20)])
    assert found.causes.faults["slow.gummed"].prior == pytest.approx((3 + 7) / 30)  # Beta(3, 7) and 7 of 20
    one = change(found, "prior", "slow.gummed")
    assert (one.before, one.counts, len(one.rests_on)) == ((0.3,), (13, 7), 20)
    assert "gummed train: 30 % → 33 %" in one.says
    assert (
        "there in 7 and not in 13 that were decided or held; the starting knowledge counts as 10" in one.says
    )
    assert found.causes.faults["slow.gummed"].source.endswith("; corrected by 20 jobs")
    assert found.causes.faults["slow.bent"].prior == ONE.faults["slow.bent"].prior  # nothing heard of it
    heavy = learn(ONE, [job(n, n < 7) for n in range(20)], weights=Weights(start=80))
    assert heavy.causes.faults["slow.gummed"].prior == pytest.approx((24 + 7) / 100)


def test_without_lessons_nothing_changes_and_a_lesson_undone_leaves_no_trace():
    assert same(learn(ONE, []).causes, ONE)
    lessons = [job(n, n < 7, answers={"slow.hangs": YES}) for n in range(20)]
    wrong = job(99, True, mends=(MendDone(fault="slow.gummed", mend="bathed and oiled", minutes=40),))
    assert not same(learn(ONE, [*lessons, wrong]).causes, learn(ONE, lessons).causes)
    undone = [one for one in [*lessons, wrong] if one.key != "job-99"]
    assert same(learn(ONE, undone).causes, learn(ONE, lessons).causes)


def test_an_answer_is_credited_to_what_was_there():
    # gummed there alone, 60 jobs of which 24 hang: Beta(7, 3) and 24 of 60, but for the leak's small share
    lessons = [
        Lesson(
            key=str(n),
            family="one",
            ruled={"slow.gummed": True, "slow.bent": False},
            answers={"slow.hangs": YES if n < 24 else NO},
        )
        for n in range(60)
    ]
    found = learn(ONE, lessons)
    shows = {one.fault: one.shows for one in found.causes.signs["slow.hangs"].shown_by}
    assert shows["slow.gummed"][1] == pytest.approx((7 + 24) / 70, abs=0.01)
    assert shows["slow.bent"] == pytest.approx((0.1, 0.9))
    one = change(found, "link", "slow.hangs", "slow.gummed")
    assert sum(one.counts) == pytest.approx(60)
    assert one.interval[1][0] < one.after[1] < one.interval[1][1]
    assert "no 30 % → " in one.says
    leak = found.causes.signs["slow.hangs"].leak
    assert math.fsum(leak) == pytest.approx(1, abs=1e-12)


def test_a_mend_counts_when_it_held_failed_or_came_back_and_hardly_while_nobody_knows():
    mend = MendDone(fault="slow.gummed", mend="bathed and oiled", held=True)
    held = [job(n, True, mends=(mend,)) for n in range(8)]
    success = learn(ONE, held).causes.faults["slow.gummed"].mends[0].success
    assert success == pytest.approx((9.5 + 8) / 18)  # Beta(9.5, 0.5) and 8 of 8
    back = Lesson(key="back", family="one", ruled={"slow.gummed": True}, comeback_of="job-3")
    came = learn(ONE, [*held, back])
    assert came.causes.faults["slow.gummed"].mends[0].success == pytest.approx((9.5 + 7) / 18)
    # the camera that came back is no new one: 8 of 8 had the fault, not 9 of 9
    assert change(came, "prior", "slow.gummed").counts == (0, 8)
    other = replace(back, ruled={"slow.bent": True})
    assert learn(ONE, [*held, other]).causes.faults["slow.gummed"].mends[0].success == pytest.approx(success)
    open_now = [job(n + 20, True, mends=(replace(mend, held=None),)) for n in range(50)]
    still = learn(ONE, [*held, *open_now]).causes.faults["slow.gummed"].mends[0].success
    assert still == pytest.approx(success)  # just handed back: not a success yet
    nearly = [replace(one, mends=(replace(mend, held=None, through=0.999),)) for one in open_now]
    assert learn(ONE, [*held, *nearly]).causes.faults["slow.gummed"].mends[0].success > success


def test_minutes_are_drawn_from_the_files_to_the_benchs_own():
    mend = MendDone(fault="slow.gummed", mend="bathed and oiled", minutes=40)
    few, many = (
        learn(ONE, [job(n, True, mends=(mend,)) for n in range(count)]).causes.faults["slow.gummed"].mends[0]
        for count in (1, 40)
    )
    assert 20 < few.minutes.likely < many.minutes.likely < 40
    assert many.minutes.likely == pytest.approx(40, rel=0.03)
    odd = learn(ONE, [job(1, True, mends=(replace(mend, minutes=2000),))])
    assert odd.causes.faults["slow.gummed"].mends[0].minutes.likely == 20
    assert "longer than 5 times the file's 60: the clock ran on" in odd.left_out[0]


def test_another_familys_jobs_on_the_mechanism_count_but_not_whole():
    here = [job(n, n < 3) for n in range(6)]
    there = [Lesson(key=f"x{n}", family="two", ruled={"train.gummed": True}) for n in range(400)]
    found = learn(ONE, here + there, families=[TWO])
    alone = learn(ONE, here).causes.faults["slow.gummed"].prior
    whole = (3 + 3 + 20) / (16 + 20)  # others may count as 20 jobs at most
    assert alone < found.causes.faults["slow.gummed"].prior < whole
    one = change(found, "prior", "slow.gummed")
    assert one.counts == (3, 3)
    assert 5 < one.others < 20
    none = learn(ONE, here + there, families=[TWO], weights=Weights(others=0))
    assert none.causes.faults["slow.gummed"].prior == pytest.approx(alone)


def test_what_no_file_knows_any_more_is_told_and_left_out():
    odd = Lesson(
        key="old",
        family="one",
        ruled={"slow.gone": True},
        answers={"slow.hangs": (0, 0, 1), "slow.lost": YES},
        mends=(MendDone(fault="slow.bent", mend="prayed over"),),
    )
    found = learn(ONE, [odd, replace(odd, key="x", family="lost")])
    assert same(found.causes, ONE)
    assert len(found.left_out) == 5
    assert "there is no sign 'slow.hangs' with 3 answers any more" in found.left_out[1]


def test_what_was_learned_is_handed_on_without_anything_of_a_job_and_read_back_to_the_same():
    mend = MendDone(fault="slow.gummed", mend="bathed and oiled", minutes=33, held=True)
    lessons = [
        replace(job(n, n % 3 == 0, answers={"slow.hangs": YES if n % 3 == 0 else NO}), key=f"secret-{n}")
        for n in range(30)
    ]
    lessons = [replace(one, mends=(mend,)) if one.ruled["slow.gummed"] else one for one in lessons]
    text = written(lessons, [ONE])
    assert "secret" not in text
    shared = read_shared(text, "theirs.toml", {"one": ONE}, 1.0)
    found, own = learn(ONE, [], elsewhere=[shared]).causes, learn(ONE, lessons).causes
    assert found.faults["slow.gummed"].prior == pytest.approx(own.faults["slow.gummed"].prior, abs=1e-4)
    assert found.faults["slow.gummed"].mends[0].success == pytest.approx(
        own.faults["slow.gummed"].mends[0].success, abs=1e-4
    )
    for a, b in zip(found.signs["slow.hangs"].shown_by, own.signs["slow.hangs"].shown_by, strict=True):
        assert a.shows == pytest.approx(b.shows, abs=5e-3)
    half = learn(ONE, [], elsewhere=[read_shared(text, "theirs.toml", {"one": ONE}, 0.5)])
    assert change(half, "prior", "slow.gummed").others == pytest.approx(15, abs=0.1)
    # what came from elsewhere is not handed on again
    assert written([], [ONE]).count("[[use]]") == 0


def test_a_shared_file_is_refused_or_trimmed_with_its_line():
    text = written([job(1, True, answers={"slow.hangs": YES})], [ONE])
    families = {"one": ONE}
    with pytest.raises(TableError, match=r"theirs.toml, line \d+: use 1, fault 1: gummed: -1, 0"):
        read_shared(text.replace("was = 1.0", "was = -1.0"), "theirs.toml", families, 1.0)
    with pytest.raises(TableError, match="3 counts for 2 answers"):
        read_shared(text.replace("shows = [", "shows = [0.5, "), "theirs.toml", families, 1.0)
    with pytest.raises(TableError, match="there is no such field"):
        read_shared(text.replace("called", "caled"), "theirs.toml", families, 1.0)
    with pytest.raises(ValueError, match="Expected above 0, up to 1"):
        read_shared(text, "theirs.toml", families, 2.0)
    strange = read_shared(text.replace('id = "gummed"', 'id = "gumed"'), "theirs.toml", families, 1.0)
    assert strange.uses[0].fault == ()
    assert "'gumed' is no fault known here and is left out. Nearest: gummed" in strange.unknown[0]
    other = read_shared(text.replace('mechanism = "train"', 'mechanism = "tram"'), "t", families, 1.0)
    assert other.uses == ()


def test_what_stands_twice_in_a_shared_file_is_refused_with_its_line():
    mend = MendDone(fault="slow.gummed", mend="bathed and oiled", held=True)
    text = written([job(1, True, answers={"slow.hangs": YES}, mends=(mend,))], [ONE])
    head, _, use = text.partition("[[use]]")
    lines = text.splitlines()

    def refused(twice, says):
        with pytest.raises(TableError, match=says):
            read_shared(twice, "theirs.toml", {"one": ONE}, 0.5)

    second = len(lines) + 1
    refused(text + "[[use]]" + use, rf"line {second}: use 2: 'slow in one' stands there twice")
    for kind, word in (
        ("fault", "gummed"),
        ("mend", "bathed and oiled of gummed"),
        ("sign", "hangs"),
    ):
        row = use[use.index(f"[[use.{kind}]]") :].split("\n\n")[0] + "\n"
        at = use.index(f"[[use.{kind}]]")
        refused(head + "[[use]]" + use[:at] + row + use[at:], rf"{kind} 2: '{word}' stands there twice")
    shown = text[text.index("{fault") : text.index("}", text.index("{fault")) + 1]
    refused(text.replace(shown, f"{shown}, {shown}"), "shown_by 2: 'gummed' stands there twice")


def test_long_minutes_from_elsewhere_are_taken_as_thrice_the_files_and_never_beyond_a_day():
    mend = MendDone(fault="slow.gummed", mend="bathed and oiled", minutes=20)
    lessons = [job(1, True, mends=(mend,))]
    text = written(lessons, [ONE])
    over = next(line for line in text.splitlines() if line.startswith("over_file"))

    def minutes(causes, *over_files):
        theirs = [
            read_shared(text.replace(over, f"over_file = {one}"), "theirs.toml", {"one": ONE}, 1.0)
            for one in over_files
        ]
        return learn(causes, lessons, elsewhere=theirs).causes.faults["slow.gummed"].mends[0].minutes

    thrice = minutes(ONE, 3.0)
    assert thrice.likely > 1.5 * minutes(ONE).likely
    assert minutes(ONE, 90.0) == minutes(ONE, 2.5, 2.5) == thrice
    # and where nothing was timed here yet it is thrice the file's, told as what it rests on
    theirs = read_shared(text.replace(over, "over_file = 3.0"), "theirs.toml", {"one": ONE}, 1.0)
    untimed = learn(ONE, [], elsewhere=[theirs])
    (change,) = [one for one in untimed.changes if one.what == "minutes"]
    assert (change.counts, change.rests_on) == ((0.0,), ())
    assert untimed.causes.faults["slow.gummed"].mends[0].minutes.likely == pytest.approx(
        3 * ONE.faults["slow.gummed"].mends[0].minutes.likely
    )
    assert minutes(ONE, 0.02) == minutes(ONE, 0.4, 0.4)
    gummed = ONE.faults["slow.gummed"]
    long = replace(gummed.mends[0], minutes=Minutes(low=20, likely=700, high=1440))  # a day is the most
    longest = replace(ONE, faults={**ONE.faults, gummed.id: replace(gummed, mends=(long,))})
    assert minutes(longest, 3.0).high == 1440


def test_a_lesson_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="nothing of a story"):
        Lesson(key="a", family="one", told=frozenset({"cursed"}))
    with pytest.raises(ValueError, match="its own comeback"):
        Lesson(key="a", family="one", comeback_of="a")
    with pytest.raises(ValueError, match="cannot be"):
        Lesson(key="a", family="one", answers={"slow.hangs": (0.0, 0.0)})
    with pytest.raises(ValueError, match="Expected above nought"):
        MendDone(fault="a", mend="b", minutes=0)


def test_jobs_of_a_changed_world_are_learned_from():
    """150 cameras of a world whose odds are off by up to 3: fresh ones are told better, intervals hold."""
    rng = np.random.default_rng(21)
    box = family_causes(constructions()["box"], knowledge())
    world = perturbed(world_of(box, COMMON), rng, 3)

    def case(one, ruled):
        rulings = {fault: there for fault, there in one.faults.items() if rng.random() < ruled}
        answers = {sign: tuple(np.eye(len(world.leak[sign]))[at]) for sign, at in one.answers.items()}
        return Case(told=frozenset(one.told), denied=frozenset(one.denied), rulings=rulings, answers=answers)

    found = learn(box, [lesson(box, str(n), case(drawn(world, rng, 0.4), 0.8)) for n in range(150)])

    def log_score(causes):
        fresh, total = np.random.default_rng(22), 0.0
        for _ in range(25):
            one = drawn(world, fresh, 0.4)
            told = weigh(causes, case(one, 0)).chances
            total -= sum(math.log(told[f] if there else 1 - told[f]) for f, there in one.faults.items())
        return total / 25

    assert log_score(found.causes) < log_score(box) - 0.05
    priors = [one for one in found.changes if one.what == "prior"]
    inside = sum(one.interval[0][0] <= world.prior[one.of[0]] <= one.interval[0][1] for one in priors)
    assert inside >= 0.75 * len(priors)


def test_a_lesson_keeps_what_signs_moved_and_what_of_the_story_they_speak_for():
    case = Case(told=frozenset({"unserved-long"}), answers={"slow.hangs": YES}, rulings={"slow.bent": False})
    one = lesson(ONE, "job", case)
    # 0.3 over all histories, thrice the odds after years without service, which six in ten have had (COMMON):
    # 0.6 * 3x / (1 + 3x) + 0.4 x / (1 + x) = 0.3, or 2.1 x^2 + x - 0.3 = 0: x = 0.20861, thrice that 0.62583
    assert one.moved["slow.gummed"].before == pytest.approx(0.62583 / 1.62583, abs=1e-5)
    # it hangs with a chance of 1 - 0.98 * 0.3 = 0.706 if gummed and 0.02 if not: 35.3 times the odds, 22.092
    assert one.moved["slow.gummed"].after == pytest.approx(22.092 / 23.092, abs=1e-5)
    assert "slow.bent" not in one.moved
    assert one.ruled == {"slow.bent": False}


def test_a_fault_in_the_hand_that_nobody_ruled_counts_as_not_there_unless_something_speaks_for_it():
    hand = ("slow.gummed", "slow.bent", "slow.unknown")
    silent = lesson(ONE, "job", Case(), in_hand=hand)
    assert silent.ruled == {"slow.gummed": False, "slow.bent": False}
    # a finding speaks for one; of the other the signs say so (0.3 * 35 against 0.7: 0.94)
    finding = lesson(ONE, "job", Case(odds={"slow.bent": 1.5}), in_hand=hand)
    assert finding.ruled == {"slow.gummed": False}
    seen = lesson(ONE, "job", Case(answers={"slow.hangs": YES}), in_hand=hand)
    assert seen.ruled == {"slow.bent": False}
    assert seen.moved["slow.gummed"].after > 0.9
    assert lesson(ONE, "job", Case(rulings={"slow.bent": True}), in_hand=hand).ruled["slow.bent"]


def test_a_bench_that_says_only_what_is_there_learns_the_share_of_those_it_had_in_the_hand():
    said = [
        lesson(ONE, f"{n}", Case(rulings={"slow.gummed": True}), in_hand=("slow.gummed",)) for n in range(10)
    ]
    quiet = [lesson(ONE, f"{n}", Case(), in_hand=("slow.gummed",)) for n in range(10, 100)]
    # Beta(3, 7) and 10 of 100; by what was said alone it would be 13 of 20
    assert learn(ONE, said + quiet).causes.faults["slow.gummed"].prior == pytest.approx(13 / 110)


def test_what_signs_say_of_the_story_teaches_nothing_of_the_faults_that_it_raises():
    """Hard lumps of glue say that somebody was in there, not that the gears were mistimed: nobody looked."""
    causes = family_causes(constructions()["folding-35-leaf-rangefinder"], knowledge())
    (sign,) = [one for one in causes.signs.values() if one.id.endswith("glue-below")]
    case = Case(answers={sign.id: (0.0, 0.0, 1.0)})
    assert weigh(causes, case).chances["advance.gear-mistimed"] > 2 * _prior(causes, "advance.gear-mistimed")
    one = lesson(causes, "job", case)
    assert one.traced["earlier-repair"] > 2 * COMMON["earlier-repair"]
    assert one.moved.keys() <= {link.fault for link in sign.shown_by}
    found = learn(causes, [replace(one, key=str(n)) for n in range(60)])
    assert _prior(found.causes, "advance.gear-mistimed") == _prior(causes, "advance.gear-mistimed")
    assert not [at for at in found.changes if at.what == "prior" and at.of[0] not in one.moved]
    # what a finding says of a fault itself does teach
    found_there = replace(case, odds={"advance.gear-mistimed": 50.0})
    moved = lesson(causes, "job", found_there).moved["advance.gear-mistimed"]
    assert moved.after > moved.before


def _prior(causes, fault):
    return causes.faults[fault].prior


def test_a_prior_is_learned_over_all_histories_whatever_was_told():
    """Odds of 3 after years without service, told or denied or unknown: the prior comes out the same."""
    rng, lessons = np.random.default_rng(3), []
    world = world_of(ONE, COMMON)
    world.prior["slow.gummed"] = 0.15
    world.__post_init__()
    for n in range(4000):
        one = drawn(world, rng, 0)
        lessons.append(
            Lesson(
                key=str(n),
                family="one",
                told=frozenset(one.told),
                denied=frozenset(one.denied),
                ruled={"slow.gummed": one.faults["slow.gummed"]},
            )
        )
    assert learn(ONE, lessons).causes.faults["slow.gummed"].prior == pytest.approx(0.15, abs=0.015)
