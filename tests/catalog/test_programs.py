"""Several programs on one catalogue, and programs that are killed in the middle."""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from catalog.checkup import find_problems
from catalog.errors import CatalogFullError, CatalogLockedError, ReadOnlyCatalogError
from catalog.home import DATABASE_NAME
from catalog.records import PieceDraft
from catalog.search import match_colour
from catalog.store import Catalog
from vision.reading import Lab

LOOP = Path(__file__).parent / "filing_loop.py"
TILES = 3


def start(home, word, count):
    return subprocess.Popen(
        [sys.executable, str(LOOP), str(home), word, str(count)], stdout=subprocess.PIPE, text=True
    )


def assert_whole(home, acknowledged):
    """Nothing half-filed: each photo has all its pieces, each piece its reading, colours, fault and file."""
    with Catalog.open(home) as catalog:
        problems = {p.kind for p in find_problems(catalog)}
        # A file whose row was never written harms nothing and is found by the check.
        assert problems <= {"unknown photo", "unknown view", "unfinished file"}
        pieces = catalog.pieces()
        by_photo = {}
        for piece in pieces:
            (reading,) = piece.readings
            by_photo.setdefault(reading.photo_sha256, []).append(reading.tile_index)
        assert all(sorted(tiles) == list(range(TILES)) for tiles in by_photo.values())
        assert catalog.count_pieces(fault="blistered") == len(pieces)
        names = {catalog.photo(sha256).name for sha256 in by_photo}
        assert acknowledged <= names
        assert len({piece.code for piece in pieces}) == len(pieces)
        found = match_colour(catalog, Lab(40, 0, 0), limit=100_000)
        assert len(found) == len(pieces)
    with sqlite3.connect(home / DATABASE_NAME) as database:
        assert database.execute("SELECT count(*) FROM photo").fetchone() == (len(by_photo),)
        assert database.execute("SELECT count(*) FROM palette").fetchone() == (2 * len(pieces),)
    database.close()
    return names


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_kill_9_in_the_middle_of_filing_leaves_a_whole_catalogue(home):
    rng = random.Random(7)
    acknowledged = set()
    for n in range(5):
        program = start(home, f"run{n}", 1000)
        program.stdout.readline()
        time.sleep(rng.uniform(0.0, 0.15))
        program.send_signal(signal.SIGKILL)
        rest, _ = program.communicate(timeout=30)
        assert program.returncode == -signal.SIGKILL
        # A line cut off by the kill acknowledges nothing.
        lines = [line for line in rest.splitlines(keepends=True) if line.endswith("\n")]
        acknowledged |= {line.split()[0] for line in lines} | {f"run{n}-0"}
        names = assert_whole(home, acknowledged)
    assert len(acknowledged) >= 5
    # Of each run at most the one photo in hand is unacknowledged.
    assert len(names - acknowledged) <= 5


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_kill_9_while_the_catalogue_is_made_leaves_one_that_opens(home):
    for n in range(6):
        program = start(home, "x", 1)
        time.sleep(0.12 + 0.08 * n)
        program.kill()
        program.communicate(timeout=30)
    assert_whole(home, set())


def test_two_programs_make_one_catalogue_and_file_into_it_together(home):
    programs = [start(home, word, 12) for word in ("left", "right")]
    said = [program.communicate(timeout=120)[0].split() for program in programs]
    assert [program.returncode for program in programs] == [0, 0]
    codes = [word for words in said for word in words if word.startswith("T-")]
    assert sorted(codes) == [f"T-{n:04d}" for n in range(1, 2 * 12 * TILES + 1)]
    names = assert_whole(home, set())
    assert len(names) == 24


def test_threads_share_one_catalogue(catalog, photo):
    def file(n):
        return catalog.file_photo(b"photo %d" % n, photo(), [PieceDraft(0)]).added[0]

    with ThreadPoolExecutor(8) as pool:
        codes = list(pool.map(file, range(40)))
    assert sorted(codes) == [f"T-{n:04d}" for n in range(1, 41)]
    assert find_problems(catalog) == ()


def test_threads_filing_the_same_photo_make_no_doubles(catalog, photo):
    with ThreadPoolExecutor(8) as pool:
        filings = list(pool.map(lambda _: catalog.file_photo(b"p", photo(), [PieceDraft(0)]), range(16)))
    assert sum(len(filing.added) for filing in filings) == 1
    assert sum(len(filing.repeated) for filing in filings) == 15


def test_a_catalogue_held_by_another_says_so_after_the_wait_and_can_still_be_read(home, photo):
    with Catalog.open(home) as setup:
        setup.file_photo(b"1", photo(), [PieceDraft(0)])
    other = sqlite3.connect(home / DATABASE_NAME, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with Catalog.open(home, busy_timeout_s=0.2) as catalog:
        with pytest.raises(CatalogLockedError) as caught:
            catalog.file_photo(b"2", photo(), [PieceDraft(0)])
        assert caught.value.waited_s == 0.2
        assert catalog.count_pieces() == 1
        other.execute("ROLLBACK")
        assert catalog.file_photo(b"2", photo(), [PieceDraft(0)]).added == ("T-0002",)
    other.close()


def test_a_catalogue_that_may_not_be_written_says_so(catalog, photo):
    catalog.file_photo(b"1", photo(), [PieceDraft(0)])
    with catalog.database.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA query_only = ON")
    with pytest.raises(ReadOnlyCatalogError):
        catalog.file_photo(b"2", photo(), [PieceDraft(0)])
    assert catalog.count_pieces() == 1


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_read_only_folder_says_so(tmp_path):
    folder = tmp_path / "locked"
    folder.mkdir()
    folder.chmod(0o555)
    with pytest.raises(ReadOnlyCatalogError):
        Catalog.open(folder)
    with pytest.raises(ReadOnlyCatalogError):
        Catalog.open(folder / "inside")


def test_a_folder_that_is_a_file_says_so(tmp_path):
    (tmp_path / "home").write_text("a note")
    with pytest.raises(ReadOnlyCatalogError):
        Catalog.open(tmp_path / "home")
    with pytest.raises(ReadOnlyCatalogError):
        Catalog.open(tmp_path / "home" / "inside")


def test_a_full_database_keeps_nothing_of_the_last_step(catalog, photo, tile):
    catalog.file_photo(b"1", photo(), [PieceDraft(0)])
    with catalog.database.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    many = photo(*(tile(i) for i in range(60)))
    with pytest.raises(CatalogFullError):
        catalog.file_photo(b"2", many, [PieceDraft(i) for i in range(60)])
    assert catalog.count_pieces() == 1
    with catalog.database.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    assert len(catalog.file_photo(b"2", many, [PieceDraft(i) for i in range(60)]).added) == 60
