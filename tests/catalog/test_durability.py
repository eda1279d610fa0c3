"""Disks that are full, locked or far away, clocks that go back, strays and damage: each has its answer."""

import errno
import os
import shutil
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import psutil
import pytest

from catalog import columns, drive, filing, migrate, pieces
from catalog.checkup import PROBLEM_KINDS, find_problems
from catalog.errors import CatalogFullError, DamagedCatalogError, NetworkDriveError, ReadOnlyCatalogError
from catalog.home import DATABASE_NAME
from catalog.mending import mend
from catalog.photos import digest_of
from catalog.records import PieceDraft
from catalog.store import Catalog, effective_faults

FORMATS = Path(__file__).parent / "formats"
ROOT_HERE = sys.platform.startswith("linux") and os.geteuid() == 0


@pytest.fixture
def small_disk(tmp_path):
    """Mount a real disk of 2 MB (a tmpfs); give a function that remounts it read-only."""
    place = tmp_path / "small"
    place.mkdir()
    done = ROOT_HERE and subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=2m", "glostbook-test", str(place)],
        capture_output=True,
        check=False,
    )
    if not done or done.returncode:
        pytest.skip("mounting a small disk wants the superuser")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_disk_that_is_really_full_loses_only_the_photo_at_hand(small_disk, photo):
    home = small_disk / "home"
    data = [os.urandom(150_000) for _ in range(30)]
    filed = 0
    with Catalog.open(home) as catalog:
        try:
            for each in data:
                catalog.file_photo(each, photo(), [PieceDraft(0)])
                filed += 1
        except CatalogFullError:
            pass
        assert 3 <= filed < 30
        assert catalog.count_pieces() == filed
        # The full disk is not the end: with room made, the same photo goes in.
        with pytest.raises(CatalogFullError):
            catalog.file_photo(data[filed], photo(), [PieceDraft(0)])
    subprocess.run(["mount", "-o", "remount,size=8m", str(small_disk)], check=True)
    with Catalog.open(home) as catalog:
        assert catalog.count_pieces() == filed
        catalog.file_photo(data[filed], photo(), [PieceDraft(0)])
        assert {p.kind for p in find_problems(catalog)} <= {"unknown photo"}
        assert catalog.count_pieces() == filed + 1


def test_a_disk_that_is_really_full_of_rows_keeps_none_of_the_last_filing(small_disk, photo, tile):
    home = small_disk / "home"
    with Catalog.open(home) as catalog:
        catalog.file_photo(b"first", photo(), [PieceDraft(0)])
        free = shutil.disk_usage(small_disk).free
        (small_disk / "ballast").write_bytes(b"0" * (free - 20_000))
        many = photo(*(tile(i) for i in range(100)))
        with pytest.raises(CatalogFullError):
            catalog.file_photo(b"second", many, [PieceDraft(i) for i in range(100)])
        (small_disk / "ballast").unlink()
        assert catalog.count_pieces() == 1
        assert len(catalog.file_photo(b"second", many, [PieceDraft(i) for i in range(100)]).added) == 100
        assert find_problems(catalog) == ()


def test_a_disk_mounted_read_only_says_so_and_harms_nothing(small_disk, photo):
    home = small_disk / "home"
    with Catalog.open(home) as catalog:
        catalog.file_photo(b"first", photo(), [PieceDraft(0)])
    before = (home / DATABASE_NAME).read_bytes()
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(ReadOnlyCatalogError), Catalog.open(home) as catalog:
        catalog.file_photo(b"second", photo(), [PieceDraft(0)])
    with pytest.raises(ReadOnlyCatalogError):
        Catalog.open(small_disk / "another")
    subprocess.run(["mount", "-o", "remount,rw", str(small_disk)], check=True)
    assert (home / DATABASE_NAME).read_bytes() == before
    with Catalog.open(home) as catalog:
        assert find_problems(catalog) == ()


@pytest.mark.skipif(not ROOT_HERE, reason="becoming nobody wants the superuser")
def test_a_folder_of_another_owner_says_so(tmp_path):
    """As uid 65534, who may read the folder and not write it."""
    home = tmp_path / "home"
    Catalog.open(home).close()
    for place in (home, *home.parents):
        if place.is_relative_to("/tmp") and place != Path("/tmp"):  # noqa: S108 - the tests' own folders
            place.chmod(0o755)
    script = (
        "import os, sys\n"
        "from catalog.errors import ReadOnlyCatalogError\n"
        "from catalog.store import Catalog\n"
        "Catalog.open(sys.argv[2]).close()\n"  # all is imported while all may be read
        "os.setuid(65534)\n"
        "try:\n"
        "    with Catalog.open(sys.argv[1]) as c: c.add_body('White')\n"
        "except ReadOnlyCatalogError: print('read-only')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(home), str(tmp_path / "other")], capture_output=True, text=True
    )
    assert done.stdout == "read-only\n", done.stderr


# --- network drives


def mounts(*pairs):
    return lambda **_: [SimpleNamespace(mountpoint=p, fstype=k, opts="rw") for p, k in pairs]


@pytest.mark.parametrize("kind", ["nfs4", "cifs", "fuse.sshfs", "smb3", "9p"])
def test_a_catalogue_on_a_network_drive_is_refused_before_anything_is_made(tmp_path, monkeypatch, kind):
    shared = tmp_path / "shared"
    monkeypatch.setattr(psutil, "disk_partitions", mounts(("/", "ext4"), (str(shared), kind)))
    shared.mkdir()
    with pytest.raises(NetworkDriveError) as caught:
        Catalog.open(shared / "studio")
    assert (caught.value.kind, list(shared.iterdir())) == (kind, [])


def test_a_network_drive_may_be_insisted_on_and_does_without_the_shared_memory(tmp_path, monkeypatch, photo):
    monkeypatch.setattr(psutil, "disk_partitions", mounts(("/", "nfs")))
    monkeypatch.setenv(drive.ALLOW, "yes")
    for _ in range(2):
        with Catalog.open(tmp_path / "home") as catalog:
            catalog.file_photo(b"one", photo(), [PieceDraft(0)])
            with catalog.database.engine.connect() as connection:
                assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "delete"


def test_the_nearest_mount_counts(tmp_path, monkeypatch):
    inner = tmp_path / "local"
    monkeypatch.setattr(psutil, "disk_partitions", mounts(("/", "nfs"), (str(inner), "ext4")))
    inner.mkdir()
    assert drive.network_kind(inner / "home") is None
    assert drive.network_kind(tmp_path / "local-not") == "nfs"


def test_this_computers_own_drives_are_no_network_drives(tmp_path):
    assert drive.network_kind(tmp_path) is None


# --- a clock that goes back


def test_a_clock_going_back_changes_no_word_and_is_told(catalog, photo, monkeypatch):
    real = columns.now()

    def at(moment):
        for module in (pieces, filing):
            monkeypatch.setattr(module, "now", lambda: moment)

    at(real + timedelta(days=400))
    catalog.file_photo(b"one", photo(), [PieceDraft(0, code="T-0001")])
    catalog.add_judgement("T-0001", "fault", "crazed", "present")
    at(real - timedelta(days=400))
    catalog.add_judgement("T-0001", "fault", "crazed", "absent")
    assert effective_faults(catalog.piece("T-0001")) == ()
    at(real + timedelta(days=400))
    catalog.delete_piece("T-0001")
    catalog.file_photo(b"two", photo(), [PieceDraft(0, code="T-0001")])
    at(real - timedelta(days=400))
    catalog.delete_piece("T-0001")
    back = catalog.restore_piece("T-0001")
    assert back.readings[0].photo_sha256 == digest_of(b"two")
    (problem,) = find_problems(catalog)
    assert problem.kind == "clock"
    assert problem.what.startswith(f"{real + timedelta(days=400):%Y-%m-%d}")


# --- found and mended


def spoil(catalog, photo):
    """File two photos with views, lose one of each, damage one, leave a stray and half a file."""
    lost = catalog.file_photo(b"lost", photo(), [PieceDraft(0)], views={0: b"lost view"})[0]
    hurt = catalog.file_photo(b"hurt", photo(), [PieceDraft(0)], views={0: b"hurt view"})[0]
    catalog.photos.path(lost.readings[0].photo_sha256).unlink()
    catalog.views.path(lost.readings[0].view_sha256).unlink()
    catalog.photos.path(hurt.readings[0].photo_sha256).write_bytes(b"HURT")
    catalog.photos.keep(b"stray")
    catalog.workshop.logs.keep(b"stray log")
    half = catalog.views.folder / "aa" / "half.part"
    half.parent.mkdir(parents=True, exist_ok=True)
    half.write_bytes(b"ha")
    os.utime(half, (0, 0))


def test_strays_and_halves_go_aside_and_nothing_is_deleted(catalog, photo):
    spoil(catalog, photo)
    kinds = ["missing photo", "missing view", "damaged photo", "unknown photo", "unknown log"]
    assert {p.kind for p in find_problems(catalog)} == {*kinds, "unfinished file"}
    done = mend(catalog)
    assert {p.kind for p in done.left} == {"missing photo", "missing view", "damaged photo"}
    kept = {path.read_bytes() for path in done.aside.rglob("*") if path.is_file()}
    assert kept == {b"stray", b"stray log", b"ha"}
    assert mend(catalog).aside is None


def test_lost_and_damaged_files_come_back_from_a_backup(catalog, photo, tmp_path):
    spoil(catalog, photo)
    backup = tmp_path / "backup"
    for folder, data in (("photos", b"lost"), ("photos", b"hurt"), ("views", b"lost view")):
        type(catalog.photos)(backup / folder).keep(data)
    done = mend(catalog, backup=backup)
    assert done.left == ()
    assert b"HURT" in {path.read_bytes() for path in done.aside.rglob("*") if path.is_file()}
    assert {catalog.photo_bytes(digest_of(data)) for data in (b"lost", b"hurt")} == {b"lost", b"hurt"}


def test_a_stray_put_aside_during_its_filing_is_kept_again(catalog, photo, monkeypatch):
    """The photo's file is there, its row not yet: just then the catalogue is mended."""
    written = filing.file_rows
    real_writing = catalog.database.writing
    mended = []

    def mend_first():
        monkeypatch.setattr(catalog.database, "writing", real_writing)
        mended.append(mend(catalog))
        return real_writing()

    monkeypatch.setattr(catalog.database, "writing", mend_first)
    catalog.file_photo(b"one", photo(), [PieceDraft(0)], views={0: b"view"})
    assert {p.kind for p in mended[0].found} == {"unknown photo", "unknown view"}
    assert find_problems(catalog) == ()
    assert filing.file_rows is written


def test_a_broken_reference_and_a_broken_index_are_found(home, catalog, photo):
    catalog.file_photo(b"one", photo(), [PieceDraft(0)])
    catalog.close()
    # Written while the index is hidden: afterwards it no longer says what the table holds.
    hidden = "name LIKE 'ix_piece_filed%'"
    steps = (
        "DELETE FROM photo",
        f"CREATE TEMP TABLE kept AS SELECT * FROM sqlite_master WHERE {hidden}",  # noqa: S608
        f"DELETE FROM sqlite_master WHERE {hidden}",  # noqa: S608
    )
    database = sqlite3.connect(home / DATABASE_NAME)
    for step in ("PRAGMA foreign_keys = OFF", "PRAGMA writable_schema = ON", *steps):
        database.execute(step)
    database.commit()
    kept = database.execute("SELECT * FROM kept").fetchall()
    database.close()
    database = sqlite3.connect(home / DATABASE_NAME)
    database.execute("UPDATE piece SET filed_at = '2020-01-01 00:00:00.000000'")
    database.execute("PRAGMA writable_schema = ON")
    database.executemany("INSERT INTO sqlite_master VALUES (?, ?, ?, ?, ?)", kept)
    database.commit()
    database.close()
    with Catalog.open(home) as again:
        found = {p.kind for p in find_problems(again)}
        assert found == {"reference", "database", "unknown photo"}
        left = {p.kind for p in mend(again).left}
        assert left == {"reference"}


def test_a_file_cut_off_in_the_middle_is_told(home, catalog, photo, tile):
    catalog.file_photo(b"1", photo(*(tile(i) for i in range(60))), [PieceDraft(i) for i in range(60)])
    with catalog.database.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    catalog.close()
    place = home / DATABASE_NAME
    os.truncate(place, place.stat().st_size // 2)
    with pytest.raises(DamagedCatalogError), Catalog.open(home) as again:
        again.pieces()


def test_the_kinds_are_the_ones_named():
    assert len(set(PROBLEM_KINDS)) == len(PROBLEM_KINDS) == 13


OLD_FORMATS = sorted((Path(__file__).parent / "formats").glob("*.sql"))
KILLED_AFTER_S = (0.02, 0.06, 0.12)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
@pytest.mark.parametrize(
    ("kept", "waits"),
    [
        *((kept, (KILLED_AFTER_S[n % 3],)) for n, kept in enumerate(OLD_FORMATS)),
        *(pytest.param(kept, KILLED_AFTER_S, marks=pytest.mark.reliability) for kept in OLD_FORMATS),
    ],
    ids=lambda given: given.stem if isinstance(given, Path) else "-".join(map(str, given)),
)
def test_an_upgrade_killed_anywhere_can_be_done_again(tmp_path, kept, waits):
    """From every earlier format, with rows in it: afterwards it opens, whole, at the present one."""
    script = "import sys; import catalog.store as s; import alembic.command; print('go', flush=True); "
    script += "s.Catalog.open(sys.argv[1])"
    for number, wait in enumerate(waits):
        home = tmp_path / str(number)
        home.mkdir()
        database = sqlite3.connect(home / DATABASE_NAME)
        database.executescript(kept.read_text(encoding="utf-8"))
        database.close()
        program = subprocess.Popen([sys.executable, "-c", script, str(home)], stdout=subprocess.PIPE)
        program.stdout.readline()
        time.sleep(wait)
        program.kill()
        program.communicate(timeout=30)
        with Catalog.open(home) as catalog:
            assert catalog.count_pieces() == 1
            assert {p.kind for p in find_problems(catalog)} == {"missing photo", "missing view"}
            with catalog.database.engine.connect() as connection:
                assert migrate.format_of(connection) == migrate.HEAD


def test_an_upgrade_on_a_full_disk_leaves_the_old_format_alone(home, monkeypatch):
    """The copy comes first: where it cannot be written, no step is taken."""
    dump = FORMATS / "0001.sql"
    home.mkdir()
    database = sqlite3.connect(home / DATABASE_NAME)
    database.executescript(dump.read_text(encoding="utf-8"))
    database.close()

    def full(_descriptor):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        with pytest.raises(CatalogFullError):
            Catalog.open(home)
    database = sqlite3.connect(home / DATABASE_NAME)
    assert database.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)
    database.close()
    with Catalog.open(home) as catalog:
        assert catalog.count_pieces() == 1
        assert datetime.now(UTC) > catalog.pieces()[0].filed_at
