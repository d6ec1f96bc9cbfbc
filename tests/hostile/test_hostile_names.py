"""Names of files that try to be paths, to fool a screen, or to break a header."""

from __future__ import annotations

import pytest
from django.test import Client

from hostile import pictures, recordings
from hostile.conftest import RECORDING_DOORS, Door, files_in
from hostile.sent import Sent, refusals
from pegwood.book.files.store import clean_name
from pegwood.book.models import Job, StoredFile
from pegwood.frame.workshop import WorkshopFolder

#: The name as it stands in the header, without its ending.
NAMES = {
    "a path upwards": "../../../../evil",
    "a path of another system": "..\\..\\..\\evil",
    "a path from the root": "/etc/cron.d/evil",
    "a drive": "C:\\Windows\\evil",
    "a path in percent signs": "..%2f..%2fevil",
    "a path in entities": "..&#47;..&#47;evil",
    "NUL in it": "ev\0il",
    "a bell and an escape": "ev\a\x1b[31mil",
    "written backwards": "ev\u202eil",
    "invisible letters": "e\u200bv\u2066il",
    "a script": "<img src=x onerror=alert(1)>",
    "quotes of a shell": "$(reboot);`reboot`|&evil'",
    "a device": "CON",
    "only dots": "....",
    "nothing": "",
    "a space": " ",
    "very long": "e" * 180,
    "far too long": "e" * 4000,
    "in another script": "фотография снимок",
}
#: The whole of the header, where the name is hidden in its newer form (RFC 5987).
DISPOSITIONS = {
    "a line broken in the header": "filename*=UTF-8''e%0d%0aSet-Cookie:%20evil=1%0d%0a.{}",
    "a path in the newer form": "filename*=UTF-8''..%2f..%2fevil.{}",
    "two names": 'filename="good.{0}"; filename="../../evil.{0}"',
}
#: 400 where the framework itself cannot read the head of a file, which is longer than it takes.
REFUSED = {400, 422}
LONG_ENDINGS = ["w" * 300, "w" * 5000]


def hostile(ending: str) -> dict[str, Sent]:
    by_name = {what: Sent(b"", f"{name}.{ending}") for what, name in NAMES.items()}
    whole = {what: Sent(b"", disposition=told.format(ending)) for what, told in DISPOSITIONS.items()}
    return {**by_name, **whole}


def with_content(file: Sent, content: bytes) -> Sent:
    return Sent(content, file.name, file.media_type, file.disposition)


def said(answer) -> bool:
    return bool(refusals(answer)) or "That could not be read" in answer.content.decode()


def is_plain(name: str) -> bool:
    return name.isprintable() and not set(name) & set('/\\<>:"|?*\0') and len(name) <= 200


@pytest.mark.parametrize("what", [*NAMES, *DISPOSITIONS])
def test_a_picture_lands_nowhere_but_in_the_store_whatever_its_name(
    client: Client, job: Job, photo_door: Door, workshop_folder: WorkshopFolder, what
):
    content = pictures.photograph()
    before = files_in(workshop_folder.root.parent)
    answer = photo_door.send(client, job, with_content(hostile("jpg")[what], content))
    assert answer.status_code in {200, 204, 302, *REFUSED}
    if answer.status_code in REFUSED:
        assert said(answer)
        assert not StoredFile.objects.exists()
        assert files_in(workshop_folder.root.parent) == before
        return
    stored = StoredFile.objects.get()
    place = f"workshop/files/{stored.sha256[:2]}/{stored.sha256}"
    assert set(files_in(workshop_folder.root.parent)) - set(before) == {place}
    assert is_plain(stored.name)


@pytest.mark.parametrize("what", [*NAMES, *DISPOSITIONS])
def test_a_recording_is_handed_out_under_a_plain_name(client: Client, job: Job, read_at_once, what):
    answer = RECORDING_DOORS[0].send(client, job, with_content(hostile("wav")[what], recordings.sound()))
    assert answer.status_code in {302, *REFUSED}
    if answer.status_code in REFUSED:
        assert said(answer)
        assert not StoredFile.objects.exists()
        return
    assert is_plain(StoredFile.objects.get().name)
    handed_out = client.get(f"{answer['Location']}recording")
    assert handed_out["Content-Disposition"].startswith("attachment")
    assert handed_out["Content-Disposition"].isprintable()
    assert "Set-Cookie" not in handed_out.headers
    shown = client.get(answer["Location"]).content.decode()
    assert "<img src=x" not in shown
    assert "\u202e" not in shown


@pytest.mark.parametrize("ending", LONG_ENDINGS, ids=len)
def test_an_ending_longer_than_a_disk_takes_does_not_break_the_bench(
    client: Client, job: Job, photo_door: Door, everything, ending
):
    """The framework gives its temporary file the ending that was sent."""
    answer = photo_door.send(client, job, Sent(pictures.SVG, f"r.{ending}"))
    assert answer.status_code in REFUSED
    answer = RECORDING_DOORS[0].send(client, job, Sent(recordings.sound(), f"r.{ending}"))
    assert answer.status_code in REFUSED
    assert not StoredFile.objects.exists()


def test_a_name_in_no_letters_breaks_nothing(client: Client, job: Job, photo_door: Door, workshop_folder):
    """No browser sends bytes that are not UTF-8; the framework drops such a file."""
    before = files_in(workshop_folder.root.parent)
    answer = photo_door.send(client, job, Sent(pictures.photograph(), "e\udcff\udcfe.jpg"))
    assert answer.status_code < 500
    assert files_in(workshop_folder.root.parent) == before


@pytest.mark.parametrize("name", NAMES.values())
def test_cleaning_a_name_twice_changes_nothing_more(name):
    once = clean_name(f"{name}.jpg")
    assert clean_name(once) == once
    assert is_plain(once)
