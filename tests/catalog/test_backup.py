"""Backups: whole while others write, only new files copied, read back, and put back as they were."""

import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from datetime import datetime
from pathlib import Path

import pytest

from catalog.backup import CONTENTS, DATABASE, back_up, backup_copies
from catalog.checkup import find_problems
from catalog.errors import (
    BackupDamagedError,
    BackupNotFoundError,
    BackupPlaceError,
    DatabaseElsewhereError,
    NotEmptyError,
)
from catalog.home import DATABASE_NAME, Home, find_home
from catalog.photos import PhotoFiles
from catalog.records import PieceDraft
from catalog.restore import restore
from catalog.store import Catalog

LOOP = Path(__file__).parent / "filing_loop.py"


def everything(home):
    """The rows of every table, and every file with its bytes."""
    with sqlite3.connect(f"file:{home / DATABASE_NAME}?mode=ro", uri=True) as database:
        rows = list(database.iterdump())
    database.close()
    files = {
        str(p.relative_to(home)): p.read_bytes()
        for folder in ("photos", "views", "logs")
        for p in (home / folder).rglob("*")
        if p.is_file()
    }
    return rows, files


def file_one(catalog, photo, word):
    return catalog.file_photo(word.encode(), photo(), [PieceDraft(0)], views={0: b"view of " + word.encode()})


def test_a_backup_put_back_is_the_catalogue_row_for_row_and_byte_for_byte(catalog, photo, home, tmp_path):
    for word in ("one", "two"):
        file_one(catalog, photo, word)
    catalog.add_judgement("T-0001", "fault", "crazed", "present", "Ana")
    done = back_up(catalog, tmp_path / "backup")
    assert (done.copied, done.there, done.copy.pieces, done.lost) == (4, 0, 2, ())
    assert done.same_disk
    before = everything(home)
    back = restore(tmp_path / "backup", Home(tmp_path / "again"))
    assert (back.files, back.lost, back.set_aside) == (4, (), None)
    assert everything(tmp_path / "again") == before
    with Catalog.open(tmp_path / "again") as again:
        assert find_problems(again) == ()
        assert again.pieces() == catalog.pieces()


def test_only_new_files_are_copied_and_old_copies_let_go(catalog, photo, tmp_path):
    folder = tmp_path / "backup"
    told = []
    for word in ("one", "two", "three", "four"):
        file_one(catalog, photo, word)
        done = back_up(catalog, folder, keep=2)
        told.append((done.copied, done.there, len(done.kept), len(done.dropped)))
    assert told == [(2, 0, 1, 0), (2, 2, 2, 0), (2, 4, 2, 1), (2, 6, 2, 1)]
    assert [copy.pieces for copy in backup_copies(folder)] == [4, 3]
    assert len(list((folder / "copies").iterdir())) == 2


def test_files_no_copy_names_go_with_the_copies(catalog, photo, tmp_path):
    folder = tmp_path / "backup"
    file_one(catalog, photo, "one")
    back_up(catalog, folder)
    with catalog.database.writing() as session:
        for table in ("palette", "piece_fault", "reading", "piece", "photo"):
            session.connection().exec_driver_sql(f"DELETE FROM {table}")  # noqa: S608
    back_up(catalog, folder, keep=2)
    assert len(list(PhotoFiles(folder / "photos").digests())) == 1
    back_up(catalog, folder, keep=2)
    assert list(PhotoFiles(folder / "photos").digests()) == []


def test_a_file_damaged_in_the_backup_is_copied_anew(catalog, photo, tmp_path):
    folder = tmp_path / "backup"
    file_one(catalog, photo, "one")
    back_up(catalog, folder)
    files = PhotoFiles(folder / "photos")
    (sha256,) = files.digests()
    files.path(sha256).write_bytes(b"ONE")
    assert back_up(catalog, folder, read_all=False).copied == 0
    assert back_up(catalog, folder).copied == 1
    assert files.read(sha256) == b"one"


def test_a_file_the_catalogue_lost_is_told_and_kept_where_an_earlier_backup_has_it(catalog, photo, tmp_path):
    folder = tmp_path / "backup"
    first = file_one(catalog, photo, "one")[0].readings[0].photo_sha256
    back_up(catalog, folder)
    second = file_one(catalog, photo, "two")[0].readings[0].photo_sha256
    for sha256 in (first, second):
        catalog.photos.path(sha256).unlink()
    done = back_up(catalog, folder)
    assert done.lost == (f"photos/{second}",)
    back = restore(folder, Home(tmp_path / "again"))
    assert back.lost == (f"photos/{second}",)
    assert PhotoFiles(tmp_path / "again" / "photos").read(first) == b"one"


def test_a_backup_while_another_program_files_is_one_state_of_the_catalogue(home, tmp_path):
    program = subprocess.Popen(
        [sys.executable, str(LOOP), str(home), "busy", "60"], stdout=subprocess.PIPE, text=True
    )
    program.stdout.readline()
    states = []
    with Catalog.open(home) as catalog:
        for n in range(4):
            states.append(back_up(catalog, tmp_path / "backup").copy)
            assert n < 3 or states[0].pieces < states[-1].pieces
    program.communicate(timeout=60)
    for copy in states:
        back = restore(tmp_path / "backup", Home(tmp_path / copy.name), name=copy.name)
        assert back.lost == ()
        with Catalog.open(tmp_path / copy.name) as again:
            assert again.count_pieces() == copy.pieces
            assert copy.pieces % 3 == 0  # a photo of the loop has three tiles
            assert find_problems(again) == ()


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_a_backup_killed_in_the_middle_leaves_the_earlier_one_whole(catalog, photo, home, tmp_path):
    file_one(catalog, photo, "one")
    first = back_up(catalog, tmp_path / "backup").copy
    for n in range(200):
        catalog.file_photo(os.urandom(20_000), photo(name=f"{n}.jpg"), [PieceDraft(0)])
    script = "import sys; from pathlib import Path; from catalog.store import Catalog; "
    script += "from catalog.backup import back_up; c = Catalog.open(sys.argv[1]); print('go', flush=True); "
    script += "back_up(c, Path(sys.argv[2]))"
    for wait in (0.0, 0.05, 0.15):
        program = subprocess.Popen(
            [sys.executable, "-c", script, str(home), str(tmp_path / "backup")], stdout=subprocess.PIPE
        )
        program.stdout.readline()
        time.sleep(wait)
        program.send_signal(signal.SIGKILL)
        program.communicate(timeout=30)
        for copy in backup_copies(tmp_path / "backup"):
            again = tmp_path / f"{copy.name}-{wait}"
            assert restore(tmp_path / "backup", Home(again), name=copy.name).lost == ()
    assert first.name in {copy.name for copy in backup_copies(tmp_path / "backup")}
    done = back_up(catalog, tmp_path / "backup")
    assert done.copy.pieces == 201
    names = [path.name for path in (tmp_path / "backup" / "copies").iterdir()]
    assert all(not name.startswith(".") for name in names)


def test_a_backup_begins_anew_within_the_second_of_a_stopped_one(catalog, photo, tmp_path, monkeypatch):
    class StoppedClock(datetime):
        @classmethod
        def now(cls, tz=None):
            return datetime(2026, 3, 1, 9, 30, tzinfo=tz)

    monkeypatch.setattr("catalog.backup.datetime", StoppedClock)
    file_one(catalog, photo, "one")
    copies = tmp_path / "backup" / "copies"
    (copies / ".000001-20260301T093000Z.part").mkdir(parents=True)
    (copies / ".000001-20260301T093000Z.part" / "contents.json").write_text("{")
    assert back_up(catalog, tmp_path / "backup").copy.name == "000001-20260301T093000Z"
    assert [path.name for path in copies.iterdir()] == ["000001-20260301T093000Z"]
    assert restore(tmp_path / "backup", Home(tmp_path / "again")).lost == ()


def test_two_backups_to_one_folder_take_turns(catalog, photo, tmp_path):
    file_one(catalog, photo, "one")
    folder = tmp_path / "backup"
    threads = [threading.Thread(target=back_up, args=(catalog, folder), kwargs={"keep": 2}) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(backup_copies(folder)) == 2
    assert restore(folder, Home(tmp_path / "again")).lost == ()


# --- places and damage


def test_a_backup_does_not_go_into_the_catalogue_nor_among_other_things(catalog, home, tmp_path):
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "to a friend.txt").write_text("Dear")
    (tmp_path / "file").write_text("x")
    for place in (home, home / "backup", home.parent, tmp_path / "letters", tmp_path / "file"):
        with pytest.raises(BackupPlaceError):
            back_up(catalog, place)
    assert not (home / "backup").exists()


def test_restoring_never_writes_over_a_catalogue(catalog, photo, home, tmp_path):
    file_one(catalog, photo, "one")
    back_up(catalog, tmp_path / "backup")
    file_one(catalog, photo, "two")
    catalog.close()
    before = everything(home)
    with pytest.raises(NotEmptyError):
        restore(tmp_path / "backup", Home(home))
    assert everything(home) == before
    done = restore(tmp_path / "backup", Home(home), move_present=True)
    assert everything(done.set_aside) == before
    with Catalog.open(home) as again:
        assert again.count_pieces() == 1


def test_a_damaged_copy_is_refused_and_the_earlier_one_still_serves(catalog, photo, tmp_path):
    folder = tmp_path / "backup"
    file_one(catalog, photo, "one")
    first = back_up(catalog, folder).copy
    file_one(catalog, photo, "two")
    second = back_up(catalog, folder).copy
    place = second.folder / DATABASE
    data = bytearray(place.read_bytes())
    data[len(data) // 2] ^= 0xFF
    place.write_bytes(data)
    with pytest.raises(BackupDamagedError):
        restore(folder, Home(tmp_path / "again"))
    assert not (tmp_path / "again").exists()
    assert restore(folder, Home(tmp_path / "again"), name=first.name).copy.pieces == 1
    (second.folder / CONTENTS).write_text("{")
    with pytest.raises(BackupDamagedError):
        back_up(catalog, folder, keep=1)
    assert PhotoFiles(folder / "photos").digests()


def test_a_full_disk_while_restoring_leaves_nothing_behind(catalog, photo, tmp_path, monkeypatch):
    file_one(catalog, photo, "one")
    back_up(catalog, tmp_path / "backup")

    def full(_descriptor):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        with pytest.raises(Exception, match="no room left"):
            restore(tmp_path / "backup", Home(tmp_path / "again"))
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith("again")] == []


def test_what_is_no_backup_says_so(tmp_path, catalog):
    with pytest.raises(BackupNotFoundError):
        backup_copies(tmp_path)
    back_up(catalog, tmp_path / "b" / "c")
    with pytest.raises(BackupNotFoundError) as caught:
        restore(tmp_path / "b" / "c", Home(tmp_path / "again"), name="000009")
    assert len(caught.value.known) == 1


def test_a_catalogue_in_a_server_has_its_own_tools(tmp_path, catalog, monkeypatch):
    back_up(catalog, tmp_path / "backup")
    elsewhere = find_home(environment={"GLOSTBOOK_DATABASE_URL": "postgresql+psycopg://studio/pots"})
    with pytest.raises(DatabaseElsewhereError):
        restore(tmp_path / "backup", elsewhere)
    monkeypatch.setattr(catalog, "home", elsewhere)
    with pytest.raises(DatabaseElsewhereError):
        back_up(catalog, tmp_path / "backup")


def test_the_contents_are_plain_json(catalog, photo, tmp_path):
    file_one(catalog, photo, "one")
    copy = back_up(catalog, tmp_path / "backup").copy
    told = json.loads((copy.folder / CONTENTS).read_text())
    assert set(told) == {"made_at", "catalogue_format", "pieces", "database", "files", "lost"}
    shutil.rmtree(copy.folder)
    assert backup_copies(tmp_path / "backup") == ()
