"""The demo's world says what it must, covers what a workshop meets, and a slip is shown with its line."""

from importlib.resources import files

import pytest
from babel.numbers import is_currency

from pegwood.anatomy import families
from pegwood.anatomy.construction import constructions
from pegwood.causes.answers import likelihood
from pegwood.causes.family_net import family_causes
from pegwood.causes.known import knowledge
from pegwood.demo import pictures, world
from pegwood.demo.world import read_world
from pegwood.trade.typed_toml import TableError

STANDINGS = {
    "arrived",
    "looked over",
    "priced",
    "agreed",
    "on the bench",
    "waiting",
    "proving",
    "ready",
    "gone home",
    "sent back unmended",
    "kept for parts",
}
TEXT = files("pegwood.demo").joinpath("world.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def here():
    return world.world()


def test_every_standing_and_everything_to_wait_for_is_there(here):
    assert {job.stands for job in here.jobs} == STANDINGS
    assert {job.waiting_for for job in here.jobs if job.stands == "waiting"} == {
        "owner",
        "part",
        "drying",
        "curing",
    }


def test_there_are_enough_owners_cameras_and_families_to_look_like_a_workshop(here):
    assert len(here.owners) >= 10
    assert len(here.jobs) >= 12
    used = {camera.family for camera in here.cameras}
    assert used <= families().keys()
    assert used == families().keys() - {"other"}


def test_one_job_is_a_comeback_of_one_that_went_home_within_its_guarantee(here):
    jobs = {job.key: job for job in here.jobs}
    (comeback,) = [job for job in here.jobs if job.comeback_of]
    old = jobs[comeback.comeback_of]
    assert old.stands == "gone home"
    assert old.camera == comeback.camera
    assert comeback.days.arrived < old.days.gone_home < here.workshop.guarantee_months * 30


def test_some_jobs_are_late_and_some_are_not(here):
    over = {"gone home", "sent back unmended", "kept for parts"}
    open_jobs = [job for job in here.jobs if job.stands not in over and job.days.promised is not None]
    late = [job for job in open_jobs if job.days.promised > 0]
    assert 0 < len(late) < len(open_jobs) / 2


def test_every_picture_it_asks_for_can_be_drawn(here):
    assert {camera.picture for camera in here.cameras} <= pictures.FRONTS.keys()
    asked = {finding.picture for job in here.jobs for finding in job.findings if finding.picture}
    assert asked <= pictures.CLOSE_UPS.keys()


def test_every_story_is_told_and_no_two_are_alike(here):
    stories = [job.story for job in here.jobs]
    assert min(map(len, stories)) > 100
    assert len(set(stories)) == len(stories)


def test_its_money_is_real_money_and_its_addresses_lead_nowhere(here):
    assert is_currency(here.workshop.currency)
    # RFC 2606 keeps .example for names that must not exist (mark: memory)
    mail = [here.workshop.email, *[owner.email for owner in here.owners if owner.email]]
    assert all(address.endswith(".example") for address in mail)


def test_as_left_comes_after_as_found(here):
    for job in here.jobs:
        found = [r.day for r in job.recordings if r.phase == "as found"]
        left = [r.day for r in job.recordings if r.phase == "as left"]
        assert not left or min(found) > max(left), job.key


def line_of(text, part):
    return text[: text.index(part)].count("\n") + 1


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            'part = "slow train"\ncondition',
            'part = "slow train"\ngrad = 4\ncondition',
            "Did you mean 'grade'?",
        ),
        ("grade = 4\n", "grade = 7\n", "grade is 7. Expected 0 (as new) to 5 (past use)."),
        ("grade = 4\n", 'grade = "much"\n', "expected a whole number, found 'much'."),
        ('owner = "marrick"', 'owner = "nobody"', "'nobody' is nowhere."),
        ('key = "hasselwood"', 'key = "marrick"', "'marrick' stands there twice."),
        ("looked_over = 169", "looked_over = 180", "'looked_over' was 180 days ago, before 'arrived'"),
        ('stands = "ready"', 'stands = "agreed"', "its last day is 'ready', not 'agreed'"),
        ('stands = "ready"', 'stands = "resting"', "'resting'. Expected one of: 'arrived'"),
        ("minutes = 130 }", "minutes = 130, amount = 5 }", "needs either minutes or an amount"),
        ('repairer = "Marit Ollevane"\n', "", "'repairer' is missing."),
        ("hourly_rate = 5800", "hourly_rate = ", "Invalid value"),
    ],
)
def test_a_slip_is_shown_with_file_place_and_plain_words(old, new, says):
    assert old in TEXT
    with pytest.raises(TableError) as error:
        read_world(TEXT.replace(old, new, 1), "mine.toml")
    assert says in str(error.value)
    assert str(error.value).startswith("mine.toml")
    assert "\n" not in str(error.value)


def test_the_line_it_names_is_the_line_of_the_slip():
    slip = 'part = "bellows corners"\ncondition = "two pinholes"\ngrade = "two"'
    text = TEXT.replace(slip.replace('"two"', "2"), slip, 1)
    with pytest.raises(TableError) as error:
        read_world(text, "mine.toml")
    line = line_of(text, 'grade = "two"')
    assert f"mine.toml, line {line}: jobs 2, findings 2, grade" in str(error.value)


def test_what_was_weighed_is_known_of_the_cameras_families(here):
    """So that a slip in a word is told here, not after the whole demo was built."""
    families_of = {camera.key: camera.family for camera in here.cameras}
    weighed = [job for job in here.jobs if job.weighing]
    assert len(weighed) >= 3
    for job in weighed:
        causes = family_causes(constructions()[families_of[job.camera]], knowledge())
        for look in job.weighing.looks:
            likelihood(causes.signs[look.sign], look.answer)
        assert {*job.weighing.found, *job.weighing.ruled_out} <= causes.faults.keys()
        for one in job.weighing.mends:
            assert one.mend in {mend.name for mend in causes.faults[one.fault].mends}
