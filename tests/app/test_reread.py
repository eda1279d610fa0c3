"""``glostbook reread``: really read by processes and on a Dask cluster; killed, stopped, gone on with."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app.services.rereading import Task, read_again, time_left_words
from catalog.checkup import find_problems
from catalog.records import PieceDraft
from catalog.rereading import outdated_photos
from catalog.store import Catalog
from tests.catalog.conftest import make_photo, make_tile
from vision.reading import METHOD, Subject

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
SAMPLE = ROOT / "sample_images" / "01-slate-white-stairs.jpg"
OLD = {"colour": 1}


def outlines_in(path):
    """Where the present reader finds the pieces."""
    from vision.pipeline import read_file

    return [tile.outline_px for tile in read_file(path).reading.tiles]


@pytest.fixture(scope="module")
def found():
    return outlines_in(SAMPLE)


def an_old_archive(home, outlines, extra=()):
    """File the sample photo as an older version would have: its pieces, and outlines that a person drew."""
    from dataclasses import replace

    with Catalog.open(home) as catalog:
        drawn = [*((outline, False) for outline in outlines), *((outline, True) for outline in extra)]
        tiles = [
            replace(make_tile(), outline_px=tuple(map(tuple, outline)), outlined_by_hand=by_hand)
            for outline, by_hand in drawn
        ]
        codes = [f"T-{n:04d}" for n in range(1, len(tiles) + 1)]
        drafts = [PieceDraft(i, code=code) for i, code in enumerate(codes)]
        catalog.file_photo(SAMPLE.read_bytes(), make_photo(*tiles, name="stairs.jpg", method=OLD), drafts)
        # One that no reader can read: its trouble is told, its old reading stays.
        catalog.file_photo(
            b"no photo", make_photo(name="broken.jpg", method=OLD), [PieceDraft(0, code="T-0100")]
        )
        return codes


def run(home, *words):
    environment = {**os.environ, "GLOSTBOOK_HOME": str(home), "PYTHONPATH": str(ROOT)}
    for name in ("GLOSTBOOK_DATABASE_URL", "GLOSTBOOK_PHOTOS_URL"):
        environment.pop(name, None)
    return subprocess.run(
        [sys.executable, "-m", "app.cli", "reread", *words],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=400,
    )


def read_again_well(home, done, codes):
    assert done.returncode == 1, done.stderr  # the broken one
    assert sorted(done.stdout.split()) == sorted([*codes, *["stairs.jpg"] * len(codes)])
    assert "2 photos to read again" in done.stderr
    assert "2 of 2: " in done.stderr
    assert done.stderr.count("broken.jpg: ") == 1
    assert "Traceback" not in done.stderr
    with Catalog.open(home) as catalog:
        for code in codes:
            new, old = catalog.piece(code).readings
            assert (new.method, old.superseded, old.method) == (METHOD, True, {**METHOD, **OLD})
            assert new.tile.glaze is not None
            assert catalog.view_bytes(new.id)[:2] == b"\xff\xd8"
        assert [reading.method["colour"] for reading in catalog.piece("T-0100").readings] == [1]
        assert find_problems(catalog) == ()


def test_processes_here_read_an_archive_again(tmp_path, found):
    codes = an_old_archive(tmp_path, found)
    read_again_well(tmp_path, run(tmp_path, "--all", "--jobs", "2"), codes)
    again = run(tmp_path, "--piece", *codes)
    assert (again.returncode, again.stdout) == (0, "")
    assert "nothing to read again" in again.stderr


def test_a_dask_cluster_of_two_workers_does_the_same(tmp_path, found):
    pytest.importorskip("distributed", reason="Dask is not installed: pip install 'glostbook[cluster]'")
    codes = an_old_archive(tmp_path, found)
    cluster = subprocess.Popen(
        [sys.executable, str(HERE / "local_cluster.py")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    try:
        address = cluster.stdout.readline().strip()
        read_again_well(tmp_path, run(tmp_path, "--all", "--cluster", address), codes)
    finally:
        cluster.stdin.close()
        cluster.stdout.close()
        cluster.wait(timeout=60)


def test_a_cluster_that_does_not_answer_is_one_sentence(tmp_path, found):
    pytest.importorskip("distributed")
    an_old_archive(tmp_path, found)
    done = run(tmp_path, "--all", "--cluster", "nonsense://nowhere:1")
    assert done.returncode == 1
    assert "No Dask scheduler answers at nonsense://nowhere:1." in done.stderr
    assert "Traceback" not in done.stderr
    with Catalog.open(tmp_path) as catalog:
        assert len(outdated_photos(catalog)) == 2


def test_a_load_that_is_not_there_is_told(tmp_path):
    Catalog.open(tmp_path).close()
    done = run(tmp_path, "--load", "No such load")
    assert (done.returncode, done.stdout) == (1, "")
    assert "There is no load named No such load." in done.stderr


def test_a_piece_outlined_by_hand_or_no_longer_found_is_read_in_its_old_outline(tmp_path, found):
    """Beside the pieces found: a person's outline, and one where the present reader finds nothing."""
    (x0, y0), (x1, y1) = found[0][0], found[0][2]
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    inner = [(x + 0.5 * (middle[0] - x), y + 0.5 * (middle[1] - y)) for x, y in found[0]]
    codes = an_old_archive(tmp_path, found, extra=[inner])
    with Catalog.open(tmp_path) as catalog:
        waiting, _ = outdated_photos(catalog)
        done = read_again(Task(waiting, catalog.photo_bytes(waiting.sha256), ()))
    assert len(done.places) == len(codes)
    by_hand = next(tile.reading_id for tile in waiting.tiles if tile.by_hand)
    index = next(index for index, reading_id in done.places.items() if reading_id == by_hand)
    tile = done.item.reading.tiles[index]
    assert (tile.outlined_by_hand, tile.subject) == (True, Subject.TILE)
    assert set(done.places) <= set(done.item.views)


def made_up_archive(home, count):
    with Catalog.open(home) as catalog:
        for n in range(count):
            tiles = (make_tile(0), make_tile(1))
            reading = make_photo(*tiles, name=f"photo {n}", method=OLD)
            catalog.file_photo(b"%06d" % n, reading, [PieceDraft(0), PieceDraft(1)])


def loop(home, jobs=2):
    return subprocess.Popen(
        [sys.executable, str(HERE / "reread_loop.py"), str(home), str(jobs)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )


def each_has_one_of_both(home):
    with Catalog.open(home) as catalog:
        assert outdated_photos(catalog) == ()
        for piece in catalog.pieces():
            new, old = piece.readings
            assert (new.superseded, old.superseded, old.method["colour"]) == (False, True, 1)
        assert {p.kind for p in find_problems(catalog)} <= {"unknown view"}


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_killed_or_stopped_it_goes_on_with_the_rest_and_makes_no_doubles(tmp_path):
    count, rng = 30, random.Random(3)
    made_up_archive(tmp_path, count)
    said = 0
    for how in (signal.SIGKILL, signal.SIGINT):
        program = loop(tmp_path)
        for _ in range(5):
            assert program.stdout.readline()
        time.sleep(rng.uniform(0, 0.2))
        os.killpg(program.pid, how)  # readers die with it, as when a terminal is closed
        said += 5 + program.communicate(timeout=120)[0].count("\n")
        with Catalog.open(tmp_path) as catalog:
            assert len(outdated_photos(catalog)) <= count - said
    program = loop(tmp_path)
    out, err = program.communicate(timeout=300)
    assert program.returncode == 0, err
    assert out.count("\n") <= count - said
    each_has_one_of_both(tmp_path)


@pytest.mark.parametrize(
    ("seconds", "words"), [(0, "about 1 s left"), (300, "about 5 min left"), (9000, "about 2.5 h left")]
)
def test_time_left_in_words(seconds, words):
    assert time_left_words(seconds) == words
