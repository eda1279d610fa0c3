"""Twenty programs file into one catalogue for a minute, and two hundred are killed while filing."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from catalog.checkup import find_problems
from catalog.store import Catalog
from tests.reliability.figures import write

pytestmark = pytest.mark.reliability
HERE = Path(__file__).parent
WRITERS, SECONDS, KILLS = 20, 60.0, int(os.environ.get("GLOSTBOOK_KILLS", "200"))
TILES = 3
HARMLESS = {"unknown photo", "unknown view", "unfinished file"}


def whole(home, names, *, read=True):
    """Every photo said to be filed is there with all its pieces, and the catalogue is whole."""
    with Catalog.open(home) as catalog:
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


def test_twenty_writers_for_a_minute_lose_nothing(tmp_path):
    home = tmp_path / "home"
    Catalog.open(home).close()
    program = str(HERE / "writer.py")
    programs = [
        subprocess.Popen(
            [sys.executable, program, str(home), f"w{n}", str(SECONDS)], stdout=subprocess.PIPE, text=True
        )
        for n in range(WRITERS)
    ]
    told = [program.communicate(timeout=300)[0] for program in programs]
    lines = [line.split() for text in told for line in text.splitlines()]
    assert [program.returncode for program in programs] == [0] * WRITERS
    filed = [line for line in lines if line[0] == "filed"]
    waits = sorted(float(line[2]) for line in filed)
    kept, _ = whole(home, {line[1] for line in filed})
    assert kept == len(filed)
    write(
        "many_writers",
        writers=WRITERS,
        seconds=SECONDS,
        database="SQLite",
        photos_filed=len(filed),
        photos_per_s=round(len(filed) / SECONDS, 1),
        refused_as_busy=sum(line[0] == "locked" for line in lines),
        wait_median_s=waits[len(waits) // 2],
        wait_p99_s=waits[len(waits) * 99 // 100],
        wait_longest_s=waits[-1],
        lost=0,
    )


def test_two_hundred_kills_lose_nothing_that_was_said_to_be_filed(tmp_path):
    home = tmp_path / "home"
    rng = random.Random(11)
    said = set()
    start = time.monotonic()
    loop = HERE.parent / "catalog" / "filing_loop.py"
    for n in range(KILLS):
        program = subprocess.Popen(
            [sys.executable, str(loop), str(home), f"run{n}", "100000"], stdout=subprocess.PIPE, text=True
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
            whole(home, said, read=False)
    kept, strays = whole(home, said)
    write(
        "kills",
        kills=KILLS,
        photos_said_filed=len(said),
        photos_kept=kept,
        lost=0,
        strays=strays,
        took_s=round(time.monotonic() - start, 1),
    )
