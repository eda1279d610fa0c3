"""Photos on disk: whole or not there, found by digest, never outside their folder."""

import errno
import hashlib
import os
from concurrent.futures import ThreadPoolExecutor

import pytest

from catalog.checkup import find_problems
from catalog.errors import (
    CatalogFullError,
    InvalidRecordError,
    PhotoDamagedError,
    PhotoMissingError,
    ReadOnlyCatalogError,
)
from catalog.photos import PhotoFiles, digest_of
from catalog.records import PieceDraft

# SHA-256 of "abc": NIST, FIPS 180-2 (2002), appendix B.1.
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.fixture
def files(tmp_path):
    return PhotoFiles(tmp_path / "photos")


def test_the_digest_is_sha_256():
    assert digest_of(b"abc") == ABC


def test_bytes_come_back_from_the_place_named_by_their_digest(files):
    assert files.keep(b"abc") == ABC
    assert (files.folder / "ba" / ABC[2:]).read_bytes() == b"abc"
    assert files.read(ABC) == b"abc"
    assert list(files.digests()) == [ABC]
    assert files.unfinished() == ()


def test_bytes_kept_before_are_not_written_again(files):
    files.keep(b"abc")
    before = files.path(ABC).stat()
    files.keep(b"abc")
    after = files.path(ABC).stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)


@pytest.mark.parametrize(
    "name", ["", "../../etc/passwd", "BA" + ABC[2:], ABC[:-1], ABC + "0", "/" + ABC[1:], ABC + "\n"]
)
def test_no_name_leads_out_of_the_folder(files, name):
    with pytest.raises(InvalidRecordError):
        files.path(name)


def test_missing_and_changed_files_are_told(files):
    with pytest.raises(PhotoMissingError) as caught:
        files.read(ABC)
    assert caught.value.path == files.path(ABC)
    files.keep(b"abc")
    files.path(ABC).write_bytes(b"xyz")
    with pytest.raises(PhotoDamagedError):
        files.read(ABC)
    assert files.fault_of(ABC) == "damaged"
    assert files.fault_of(ABC, read=False) is None
    files.keep(b"abc")
    assert files.read(ABC) == b"abc"


@pytest.mark.parametrize(
    ("number", "error"),
    [(errno.ENOSPC, CatalogFullError), (errno.EROFS, ReadOnlyCatalogError), (errno.EIO, OSError)],
)
def test_when_the_disk_says_no_nothing_stands_under_the_name(files, monkeypatch, number, error):
    def fail(_descriptor):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(error):
        files.keep(b"abc")
    assert list(files.digests()) == []
    assert files.unfinished() == ()


def test_many_may_keep_the_same_photo_at_once(files):
    data = os.urandom(300_000)
    with ThreadPoolExecutor(8) as pool:
        names = set(pool.map(files.keep, [data] * 40))
    assert names == {hashlib.sha256(data).hexdigest()}
    assert files.read(names.pop()) == data
    assert files.unfinished() == ()


def test_a_lost_photo_is_healed_by_filing_it_again(catalog, photo):
    piece = catalog.file_photo(b"abc", photo(), [PieceDraft(0)], views={0: b"view"})[0]
    catalog.photos.path(ABC).unlink()
    catalog.views.path(piece.readings[0].view_sha256).write_bytes(b"other")
    assert {(p.kind, p.what) for p in find_problems(catalog)} == {
        ("missing photo", ABC),
        ("damaged view", piece.readings[0].view_sha256),
    }
    with pytest.raises(PhotoMissingError):
        catalog.photo_bytes(ABC)
    assert catalog.file_photo(b"abc", photo(), [PieceDraft(0)], views={0: b"view"}).repeated == ("T-0001",)
    assert find_problems(catalog) == ()


def test_a_full_disk_loses_only_the_photo_at_hand(catalog, photo, monkeypatch):
    catalog.file_photo(b"one", photo(), [PieceDraft(0)])

    def full(_descriptor):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        with pytest.raises(CatalogFullError):
            catalog.file_photo(b"two", photo(), [PieceDraft(0)])
    assert catalog.count_pieces() == 1
    assert catalog.file_photo(b"two", photo(), [PieceDraft(0)]).added == ("T-0002",)
    assert find_problems(catalog) == ()


def test_a_forgotten_part_file_is_told_and_harms_nothing(catalog, photo):
    catalog.file_photo(b"abc", photo(), [PieceDraft(0)])
    part = catalog.photos.folder / "ba" / "forgotten.part"
    part.write_bytes(b"ab")
    os.utime(part, (0, 0))
    (problem,) = find_problems(catalog)
    assert (problem.kind, problem.what) == ("unfinished file", str(part))
    assert catalog.photo_bytes(ABC) == b"abc"
