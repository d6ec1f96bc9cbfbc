"""One archive with everything, and a workshop out of it."""

import hashlib
import json
import random
import sqlite3
import zipfile
from datetime import UTC, datetime

import pytest

from pegwood.book.files import store
from pegwood.book.keeping import restore as restoring
from pegwood.book.keeping.backup import back_up
from pegwood.book.models import StoredFile
from pegwood.book.refusal import Refused
from pegwood.book.spares.donors import DonorDetails, keep_donor, take_out
from pegwood.book.spares.putting import SpareDetails
from pegwood.book.spares.taking import use

NOW = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)


@pytest.fixture
def archive(job, tmp_path):
    return back_up(tmp_path / "out" / "backup.zip", at=NOW).path


def rewritten(archive, tmp_path, **replaced):
    """The archive with some of its files replaced, left out (None) or added."""
    changed = tmp_path / "changed.zip"
    with zipfile.ZipFile(archive) as old, zipfile.ZipFile(changed, "w") as new:
        for name in old.namelist():
            if name not in replaced:
                new.writestr(name, old.read(name))
        for name, content in replaced.items():
            if content is not None:
                new.writestr(name, content)
    return changed


def restore_and_expect_nothing(archive, tmp_path, says):
    target = tmp_path / "restored"
    with pytest.raises(Refused, match=says):
        restoring.restore(archive, target)
    assert not target.exists()
    assert not list(tmp_path.glob(".restored-coming-*"))


def test_a_backup_holds_the_book_the_files_and_their_hashes(archive):
    with zipfile.ZipFile(archive) as packed:
        manifest = json.loads(packed.read("manifest.json"))
        for name, entry in manifest["entries"].items():
            content = packed.read(name)
            # hashlib alone decides: the archive must be checkable without Pegwood
            assert hashlib.sha256(content).hexdigest() == entry["sha256"]
            assert len(content) == entry["size"]
        assert set(packed.namelist()) == {*manifest["entries"], "manifest.json"}
    assert "book.0001_the_book" in manifest["schema"]


def test_any_script_can_read_the_jobs(archive):
    with zipfile.ZipFile(archive) as packed:
        lines = packed.read("jobs.jsonl").decode().splitlines()
    (job,) = [json.loads(line) for line in lines]
    assert (job["number"], job["owner"]["name"], job["camera"]["serial"]) == (1, "Ilse Marrick", "A-20417")
    assert [entry["what"] for entry in job["diary"]] == ["took in", "added a photograph"]


def test_a_backup_overwrites_nothing(archive):
    before = archive.read_bytes()
    with pytest.raises(Refused, match="exists already"):
        back_up(archive, at=NOW)
    assert archive.read_bytes() == before


def test_a_damaged_file_is_named_and_the_rest_is_backed_up(job, tmp_path):
    sha256 = StoredFile.objects.get().sha256
    store().path(sha256).write_bytes(b"rotten")
    made = back_up(tmp_path / "backup.zip", at=NOW)
    assert (made.damaged, made.files) == ((sha256,), 0)


def test_a_backup_without_a_damaged_file_can_be_restored(job, tmp_path):
    sha256 = StoredFile.objects.get().sha256
    store().path(sha256).write_bytes(b"rotten")
    made = back_up(tmp_path / "backup.zip", at=NOW)
    manifest = restoring.restore(made.path, tmp_path / "restored")
    assert manifest.damaged == [sha256]
    assert (tmp_path / "restored" / "book.sqlite3").exists()
    assert not (tmp_path / "restored" / "files").exists()


def test_a_file_the_disk_cannot_read_is_left_out_and_named(job, tmp_path, monkeypatch):
    sha256 = StoredFile.objects.get().sha256
    path = store().path(sha256)
    path.unlink()
    path.mkdir()  # opening it fails as a failing disk does: with an OSError that is not "not found"
    assert back_up(tmp_path / "backup.zip", at=NOW).damaged == (sha256,)


@pytest.mark.parametrize("seed", range(40))
def test_a_bit_that_flipped_restores_all_or_nothing(archive, tmp_path, seed):
    chance = random.Random(seed)
    content = bytearray(archive.read_bytes())
    content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    flipped = tmp_path / "flipped.zip"
    flipped.write_bytes(content)
    target = tmp_path / "restored"
    try:
        restoring.restore(flipped, target)
    except Refused:
        assert not target.exists()
    else:  # it fell on a byte that means nothing, such as a date inside the archive
        sha256 = StoredFile.objects.get().sha256
        assert hashlib.sha256((target / "files" / sha256[:2] / sha256).read_bytes()).hexdigest() == sha256


def test_restoring_brings_back_every_row_and_file(archive, tmp_path):
    target = tmp_path / "restored"
    restoring.restore(archive, target)
    book = sqlite3.connect(target / "book.sqlite3")
    assert book.execute("SELECT number, story FROM book_job").fetchall() == [(1, "found in a cellar")]
    sha256 = StoredFile.objects.get().sha256
    content = (target / "files" / sha256[:2] / sha256).read_bytes()
    assert hashlib.sha256(content).hexdigest() == sha256
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        book.execute("DELETE FROM book_diaryentry")
    book.close()


def test_the_shelf_and_the_donors_travel_along_guards_and_all(job, tmp_path):
    donor = keep_donor(DonorDetails(family="box", serial="D-7"), by="bench")
    spare = take_out(donor, SpareDetails(name="drive spring", place="tin 2"), by="bench")
    use(spare, job, by="bench")
    archive = back_up(tmp_path / "out" / "backup.zip", at=NOW).path
    with zipfile.ZipFile(archive) as packed:
        (told,) = [json.loads(line) for line in packed.read("jobs.jsonl").decode().splitlines()]
    assert [(move["kind"], move["lies"], move["spare"]) for move in told["spare_moves"]] == [
        ("used", -1, spare.pk)
    ]
    target = tmp_path / "restored"
    restoring.restore(archive, target)
    book = sqlite3.connect(target / "book.sqlite3")
    assert book.execute("SELECT name, place FROM book_spare").fetchall() == [("drive spring", "tin 2")]
    assert book.execute("SELECT serial FROM book_donor").fetchall() == [("D-7",)]
    assert book.execute("SELECT part FROM book_donorpart").fetchall() == [("shutter.drive-spring",)]
    assert book.execute("SELECT sum(lies) FROM book_sparemove").fetchall() == [(0,)]
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        book.execute("UPDATE book_sparemove SET lies = 1")
    book.close()


def test_restoring_never_overwrites(archive, tmp_path):
    target = tmp_path / "restored"
    target.mkdir()
    (target / "mine.txt").write_text("mine")
    with pytest.raises(Refused, match="not empty"):
        restoring.restore(archive, target)
    assert [path.name for path in target.iterdir()] == ["mine.txt"]


def test_a_changed_file_is_refused(archive, tmp_path):
    sha256 = StoredFile.objects.get().sha256
    name = f"files/{sha256[:2]}/{sha256}"
    size = StoredFile.objects.get().size
    changed = rewritten(archive, tmp_path, **{name: b"x" * size})
    restore_and_expect_nothing(changed, tmp_path, "is damaged")


def test_a_file_that_unpacks_to_more_than_it_says_is_stopped(archive, tmp_path):
    changed = rewritten(archive, tmp_path, **{"jobs.jsonl": b"0" * 50_000_000})
    restore_and_expect_nothing(changed, tmp_path, "is damaged")


def test_a_missing_file_is_refused(archive, tmp_path):
    restore_and_expect_nothing(
        rewritten(archive, tmp_path, **{"jobs.jsonl": None}), tmp_path, "lacks jobs.jsonl"
    )


def test_a_truncated_archive_is_refused(archive, tmp_path):
    short = tmp_path / "short.zip"
    short.write_bytes(archive.read_bytes()[:-200])
    restore_and_expect_nothing(short, tmp_path, "not a whole backup")


def test_something_else_is_refused(tmp_path):
    other = tmp_path / "other.zip"
    with zipfile.ZipFile(other, "w") as packed:
        packed.writestr("hello.txt", "hello")
    restore_and_expect_nothing(other, tmp_path, "no manifest")


@pytest.mark.parametrize("name", ["../../outside", "/etc/outside", "files/../x", "book.sqlite3/../x"])
def test_a_manifest_that_points_outside_is_refused(archive, tmp_path, name):
    with zipfile.ZipFile(archive) as packed:
        manifest = json.loads(packed.read("manifest.json"))
    manifest["entries"][name] = {"sha256": hashlib.sha256(b"x").hexdigest(), "size": 1}
    changed = rewritten(archive, tmp_path, **{"manifest.json": json.dumps(manifest), name: b"x"})
    restore_and_expect_nothing(changed, tmp_path, "which no backup holds")
    assert not (tmp_path.parent / "outside").exists()


def test_a_newer_programs_backup_is_refused(archive, tmp_path):
    with zipfile.ZipFile(archive) as packed:
        manifest = json.loads(packed.read("manifest.json"))
    manifest["schema"].append("book.9999_from_the_future")
    changed = rewritten(archive, tmp_path, **{"manifest.json": json.dumps(manifest)})
    restore_and_expect_nothing(changed, tmp_path, "newer Pegwood")


def test_a_book_that_lists_a_file_the_archive_lacks_is_refused(archive, tmp_path):
    sha256 = StoredFile.objects.get().sha256
    name = f"files/{sha256[:2]}/{sha256}"
    with zipfile.ZipFile(archive) as packed:
        manifest = json.loads(packed.read("manifest.json"))
    del manifest["entries"][name]
    changed = rewritten(archive, tmp_path, **{"manifest.json": json.dumps(manifest), name: None})
    restore_and_expect_nothing(changed, tmp_path, "lacks 1 files")


def test_what_the_workshop_wrote_itself_travels_along_broken_files_too(job, tmp_path, settings):
    root = settings.WORKSHOP.root
    own = {
        "tables/materials.toml": 'source = "my bench"\nmark = "practice"\n',
        "families/Half-frame, 35.toml": 'id = "half',
        "mechanisms/my-latch.toml": 'id = "my-latch"\n',
        "knowledge/my-latch.toml": 'mechanism = "my-latch"\n',
        "lessons/harbour bench.toml": "use = []\n",
    }
    for name, text in own.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, "utf-8")
    nowhere = root / "families/gone.toml"
    nowhere.symlink_to(root / "families/never.toml")
    try:
        archive = back_up(tmp_path / "backup.zip", at=NOW).path
    finally:
        for name in own:
            (root / name).unlink()
        nowhere.unlink()
    restoring.restore(archive, tmp_path / "restored")
    for name, text in own.items():
        assert (tmp_path / "restored" / name).read_text("utf-8") == text
    assert not (tmp_path / "restored/families/gone.toml").is_symlink()


@pytest.mark.parametrize(
    "name",
    [
        "families/../../out.toml",
        "families/.hidden.toml",
        "mechanisms/a/b.toml",
        "families/x.py",
        "other/x.toml",
    ],
)
def test_a_name_that_no_backup_holds_is_refused(archive, tmp_path, name):
    with zipfile.ZipFile(archive) as packed:
        manifest = json.loads(packed.read("manifest.json"))
    manifest["entries"][name] = {"sha256": "0" * 64, "size": 0}
    changed = rewritten(archive, tmp_path, **{"manifest.json": json.dumps(manifest), name: ""})
    restore_and_expect_nothing(changed, tmp_path, "which no backup holds")
