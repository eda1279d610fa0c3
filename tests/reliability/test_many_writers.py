"""Twenty programs file into one catalogue for a minute, and two hundred are killed while filing: on SQLite,
and on a PostgreSQL server of the tests' own that writes through to the disk. A restore is killed at random.
"""

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from catalog.backup import back_up
from catalog.checkup import find_problems
from catalog.store import Catalog
from tests.catalog.postgresql import running
from tests.reliability.figures import write

pytestmark = pytest.mark.reliability
HERE = Path(__file__).parent
WRITERS, SECONDS, KILLS = 20, 60.0, int(os.environ.get("GLOSTBOOK_KILLS", "200"))
RESTORE_KILLS = int(os.environ.get("GLOSTBOOK_RESTORE_KILLS", "60"))
TILES = 3
RESTORE = (
    "import sys; import app.cli, app.commands.keeping, catalog.restore; print('go', flush=True); "
    "sys.exit(app.cli.main(sys.argv[1:]))"
)
"""The command itself, saying when all is imported."""
HARMLESS = {"unknown photo", "unknown view", "unfinished file"}


@pytest.fixture(params=["SQLite", "PostgreSQL"])
def database(request, tmp_path, monkeypatch):
    """Name a fresh catalogue by the environment; give the database and the ending of its figures' names."""
    monkeypatch.setenv("GLOSTBOOK_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("GLOSTBOOK_PHOTOS_URL", raising=False)
    if request.param == "SQLite":
        monkeypatch.delenv("GLOSTBOOK_DATABASE_URL", raising=False)
        yield request.param, ""
        return
    with running(fsync="on") as server:
        server.make("studio")
        monkeypatch.setenv("GLOSTBOOK_DATABASE_URL", server.url("studio"))
        yield request.param, "_postgresql"


def whole(names, *, read=True):
    """Every photo said to be filed is there with all its pieces, and the catalogue is whole."""
    with Catalog.open() as catalog:
        problems = find_problems(catalog, read_photos=read)
        assert {p.kind for p in problems} <= HARMLESS, problems[:5]
        pieces = catalog.pieces()
        by_photo = {}
        for piece in pieces:
            (reading,) = piece.readings
            by_photo.setdefault(reading.photo_sha256, []).append(reading.tile_index)
        assert all(sorted(tiles) == list(range(TILES)) for tiles in by_photo.values())
        kept = {catalog.photo(sha256).name for sha256 in by_photo}
        assert names <= kept, sorted(names - kept)[:5]
        assert len({piece.code for piece in pieces}) == len(pieces)
        return len(kept), len(problems)


def test_twenty_writers_for_a_minute_lose_nothing(database):
    name, ending = database
    Catalog.open().close()
    program = str(HERE / "writer.py")
    programs = [
        subprocess.Popen(
            [sys.executable, program, "-", f"w{n}", str(SECONDS)], stdout=subprocess.PIPE, text=True
        )
        for n in range(WRITERS)
    ]
    told = [program.communicate(timeout=300)[0] for program in programs]
    lines = [line.split() for text in told for line in text.splitlines()]
    assert [program.returncode for program in programs] == [0] * WRITERS
    filed = [line for line in lines if line[0] == "filed"]
    waits = sorted(float(line[2]) for line in filed)
    kept, _ = whole({line[1] for line in filed})
    assert kept == len(filed)
    write(
        f"many_writers{ending}",
        writers=WRITERS,
        seconds=SECONDS,
        database=name,
        photos_filed=len(filed),
        photos_per_s=round(len(filed) / SECONDS, 1),
        refused_as_busy=sum(line[0] == "locked" for line in lines),
        wait_median_s=waits[len(waits) // 2],
        wait_p99_s=waits[len(waits) * 99 // 100],
        wait_longest_s=waits[-1],
        lost=0,
    )


def test_two_hundred_kills_lose_nothing_that_was_said_to_be_filed(database):
    name, ending = database
    rng = random.Random(11)
    said = set()
    start = time.monotonic()
    loop = HERE.parent / "catalog" / "filing_loop.py"
    for n in range(KILLS):
        program = subprocess.Popen(
            [sys.executable, str(loop), "-", f"run{n}", "100000"], stdout=subprocess.PIPE, text=True
        )
        if n % 4:
            program.stdout.readline()
            said.add(f"run{n}-0")
            time.sleep(rng.uniform(0, 0.1))
        else:
            time.sleep(rng.uniform(0.1, 0.9))  # anywhere: while it imports, opens, makes or upgrades
        program.send_signal(signal.SIGKILL)
        rest, _ = program.communicate(timeout=60)
        said |= {line.split()[0] for line in rest.splitlines(keepends=True) if line.endswith("\n")}
        if n % 20 == 19:
            whole(said, read=False)
    kept, strays = whole(said)
    write(
        f"kills{ending}",
        kills=KILLS,
        database=name,
        photos_said_filed=len(said),
        photos_kept=kept,
        lost=0,
        strays=strays,
        took_s=round(time.monotonic() - start, 1),
    )


def test_a_restore_killed_at_random_leaves_the_old_or_the_new_catalogue_whole(tmp_path):
    """Old: 3 photos. New, from the backup: 12. Whatever is killed when, one of them opens, whole."""
    loop = str(HERE.parent / "catalog" / "filing_loop.py")
    home, old = tmp_path / "home", tmp_path / "old"
    for folder, word, count in ((home, "new", 12), (old, "old", 3)):
        subprocess.run([sys.executable, loop, str(folder), word, str(count)], check=True, capture_output=True)
    with Catalog.open(home) as catalog:
        back_up(catalog, tmp_path / "backup")
    shutil.rmtree(home)
    shutil.copytree(old, home)
    rng, found = random.Random(13), {"old": 0, "new": 0, "between": 0}
    environment = {**os.environ, "GLOSTBOOK_HOME": str(home)}
    command = [sys.executable, "-c", RESTORE, "restore", str(tmp_path / "backup"), "--set-aside"]
    takes_s = 0.0
    for n in range(RESTORE_KILLS + 1):
        program = subprocess.Popen(
            command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        program.stdout.readline()
        start = time.monotonic()
        if n == 0:  # one to its end, to know how long that takes here
            program.communicate(timeout=600)
            takes_s = time.monotonic() - start
        else:
            time.sleep(rng.uniform(0, 1.2 * takes_s))
            program.send_signal(signal.SIGKILL)
            program.communicate(timeout=60)
        # Between the two renames: nothing is in its place, and who opens it next does the second.
        found["between"] += not home.is_dir()
        with Catalog.open(home) as catalog:
            assert find_problems(catalog) == ()
            count = catalog.count_pieces()
        assert count in (3 * TILES, 12 * TILES)
        assert {path.name for path in tmp_path.glob("home*")} <= {"home", "home-set-aside-1"}
        found["old" if count == 3 * TILES else "new"] += n > 0
        for left in tmp_path.glob("home*"):
            shutil.rmtree(left)
        shutil.copytree(old, home)
    write("restore_kills", kills=RESTORE_KILLS, lost=0, **found)
