"""Files under the hash of their content."""

import hashlib
import io

import pytest
from django.conf import settings

from pegwood.book.files import Damaged, store
from pegwood.book.refusal import Refused


def put(content: bytes, at_most: int = 1000) -> tuple[str, int]:
    return store().put(io.BytesIO(content), at_most=at_most)


def test_a_file_lies_under_its_sha256():
    # FIPS 180-4's own example: the digest of "abc", from memory of the standard and equal to hashlib's
    sha256, size = put(b"abc")
    assert sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert size == 3
    assert (settings.WORKSHOP.files / "ba" / sha256).read_bytes() == b"abc"


def test_the_same_content_twice_is_one_file():
    assert put(b"abc") == put(b"abc")
    assert len(list(store().names())) == 1


def test_an_empty_file_is_refused():
    with pytest.raises(Refused, match="empty"):
        put(b"")


def test_a_file_too_large_is_refused_and_leaves_nothing():
    with pytest.raises(Refused, match="larger than"):
        put(b"x" * 1001)
    assert list(store().names()) == []
    assert store().unfinished() == []


def test_a_changed_file_is_not_handed_out():
    sha256, _ = put(b"abc")
    store().path(sha256).write_bytes(b"abd")
    with pytest.raises(Damaged, match="damaged"):
        store().verified(sha256)


def test_storing_it_again_mends_a_damaged_copy():
    sha256, _ = put(b"abc")
    store().path(sha256).write_bytes(b"abd")
    put(b"abc")
    assert store().verified(sha256).read_bytes() == b"abc"


def test_a_lost_file_is_named():
    sha256 = hashlib.sha256(b"never came").hexdigest()
    with pytest.raises(Damaged, match=sha256[:12]):
        store().verified(sha256)


@pytest.mark.parametrize("name", ["", "..", "../../etc/passwd", "AB" * 32, "g" * 64, "ab" * 31])
def test_nothing_but_a_hash_is_a_place(name):
    with pytest.raises(ValueError, match="not a SHA-256"):
        store().path(name)
