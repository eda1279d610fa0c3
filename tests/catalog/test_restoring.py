"""A restore killed at each of its steps: who opens the catalogue next finds the old or the new one, whole."""

import os
import signal
import subprocess
import sys
import threading

import pytest
from filelock import FileLock

from app import cli
from catalog import restoring
from catalog.backup import back_up
from catalog.checkup import find_problems
from catalog.errors import CatalogLockedError
from catalog.home import Home
from catalog.records import PieceDraft
from catalog.restore import restore
from catalog.store import Catalog

KILLED = """
import os, signal, sys
from pathlib import Path
from catalog import restore, restoring
from catalog.home import Home

def die(*_):
    os.kill(os.getpid(), signal.SIGKILL)

step, backup, home = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
rename = Path.rename
if step == "while copying":
    restore.sync_folder = die
elif step == "before the plan":
    restore.make_ready = die
elif step == "before the first rename":
    restore.set_aside = die
elif step == "between the renames":
    Path.rename = lambda self, to: die() if self.name == "new" else rename(self, to)
elif step == "after the second":
    restore.sync_folder = lambda folder: die() if folder == home.parent else None
restore.restore(backup, Home(home), move_present=True)
"""

BECOMES = {
    "while copying": (restoring.DROPPED, 2),
    "before the plan": (restoring.DROPPED, 2),
    "before the first rename": (restoring.DROPPED, 2),
    "between the renames": (restoring.FINISHED, 1),
    "after the second": (None, 1),
}
"""What becomes of a restore killed there, and the pieces in the catalogue: 2 before, 1 in the backup."""


@pytest.fixture
def backed_up(catalog, photo, home, tmp_path):
    """A backup of one piece, and a catalogue of two."""
    for number in (1, 2):
        catalog.file_photo(b"photo %d" % number, photo(), [PieceDraft(0)])
        if number == 1:
            back_up(catalog, tmp_path / "backup")
    catalog.close()
    return home


def killed(step, home):
    done = subprocess.run(
        [sys.executable, "-c", KILLED, step, str(home.parent / "backup"), str(home)],
        capture_output=True,
        check=False,
    )
    assert done.returncode == -signal.SIGKILL, done.stderr.decode()


@pytest.mark.parametrize("step", BECOMES)
def test_a_restore_killed_at_a_step_is_settled_by_the_next_to_open(backed_up, step):
    killed(step, backed_up)
    assert backed_up.exists() is (step != "between the renames")
    _, pieces = BECOMES[step]
    with Catalog.open(backed_up) as catalog:
        assert catalog.count_pieces() == pieces
        assert find_problems(catalog) == ()
    beside = sorted(path.name for path in backed_up.parent.iterdir())
    assert beside == ["backup", "home"] + (["home-set-aside-1"] if pieces == 1 else [])
    if pieces == 1:
        with Catalog.open(backed_up.with_name("home-set-aside-1")) as before:
            assert before.count_pieces() == 2


@pytest.mark.parametrize("step", ["before the plan", "between the renames"])
def test_check_says_what_became_of_it(backed_up, monkeypatch, capsys, step):
    killed(step, backed_up)
    monkeypatch.setenv("GLOSTBOOK_HOME", str(backed_up))
    assert cli.main(["check"]) == 0
    out, err = capsys.readouterr()
    assert "The catalogue is whole." in out
    assert ("It is finished now" in err) is (step == "between the renames")
    assert ("run it again" in err) is (step == "before the plan")
    assert cli.main(["check"]) == 0
    assert capsys.readouterr().err == ""


def test_a_restore_run_again_after_a_kill_settles_the_first(backed_up):
    killed("between the renames", backed_up)
    restore(backed_up.parent / "backup", Home(backed_up), move_present=True)
    asides = [backed_up.with_name(f"home-set-aside-{number}") for number in (1, 2)]
    counts = []
    for folder in (backed_up, *asides):
        with Catalog.open(folder) as catalog:
            counts.append(catalog.count_pieces())
    assert counts == [1, 2, 1]


def test_a_restore_still_at_work_is_not_settled(backed_up, monkeypatch):
    monkeypatch.setattr(restoring, "_WAIT_S", 0.05)
    held, seen = threading.Event(), threading.Event()

    def at_work():
        with restoring.restoring(backed_up):
            held.set()
            seen.wait(30)

    worker = threading.Thread(target=at_work)
    worker.start()
    try:
        assert held.wait(30)
        with pytest.raises(CatalogLockedError):
            Catalog.open(backed_up)
        with pytest.raises(CatalogLockedError):
            restore(backed_up.parent / "backup", Home(backed_up), move_present=True)
        assert restoring.new_catalogue(backed_up).is_dir()
    finally:
        seen.set()
        worker.join()
    with Catalog.open(backed_up) as catalog:
        assert catalog.count_pieces() == 2


def test_a_failed_second_rename_is_made_up_for(backed_up, monkeypatch):
    """Not killed, but refused by the system once."""
    rename, refused = os.rename, []

    def once(source, target, **more):
        if str(source).endswith("new") and not refused:
            refused.append(source)
            raise OSError(5, "Input/output error")
        return rename(source, target, **more)

    monkeypatch.setattr(os, "rename", once)
    with pytest.raises(OSError, match="Input/output"):
        restore(backed_up.parent / "backup", Home(backed_up), move_present=True)
    assert refused
    with Catalog.open(backed_up) as catalog:
        assert catalog.count_pieces() == 1
    assert not restoring.new_catalogue(backed_up).parent.exists()


def test_a_lock_left_by_a_killed_program_is_free(tmp_path):
    home = tmp_path / "home"
    place = restoring.new_catalogue(home).parent
    place.mkdir()
    with FileLock(place / "lock"):
        pass
    assert restoring.finish_restore(home) is None
    assert not place.exists()
