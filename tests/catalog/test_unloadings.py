"""Unloadings: killed readers, doubles, filing and taking it back. Reading is made up, photos are small."""

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from catalog.errors import UnloadingNotFoundError
from catalog.records import PieceDraft

ROOT = Path(__file__).parents[2]

SLOW_READER = """
import sys, time
from catalog.store import Catalog
from catalog.home import Home
with Catalog.open(sys.argv[1]) as catalog:
    catalog.unloadings.take_up("here")
    while (photo := catalog.unloadings.claim("here")) is not None:
        print("took", photo.name, flush=True)
        time.sleep(0.05)
        from tests.catalog.conftest import make_photo
        catalog.unloadings.finish(photo.id, make_photo(name=photo.name), {}, [{"file": True}], (), 0.05)
        print("done", photo.name, flush=True)
"""


@pytest.fixture
def taken(catalog):
    unloading = catalog.unloadings.begin(catalog.add_load("October").id)
    photos = [catalog.unloadings.take(unloading.id, b"photo %d" % n, f"{n}.jpg")[0] for n in range(8)]
    return unloading, photos


def states(catalog, unloading):
    return dict(catalog.unloadings.state(unloading.id).counts)


def test_a_photo_given_twice_is_there_once(catalog, taken):
    unloading, photos = taken
    again, new = catalog.unloadings.take(unloading.id, b"photo 3", "copy.jpg")
    assert (again.id, new) == (photos[3].id, False)
    assert catalog.unloadings.state(unloading.id).total == 8


def test_each_photo_is_handed_out_once_in_the_order_given(catalog, taken):
    unloading, photos = taken
    handed = [catalog.unloadings.claim("here").id for _ in photos]
    assert handed == [photo.id for photo in photos]
    assert catalog.unloadings.claim("here") is None
    assert states(catalog, unloading) == {"in_hand": 8}


def test_what_a_dead_reader_had_in_hand_is_read_again_and_not_for_ever(catalog, taken):
    _, photos = taken
    first = catalog.unloadings.claim("here")
    catalog.unloadings.take_up("here")
    assert catalog.unloadings.claim("here").id == first.id
    catalog.unloadings.take_up("here")  # it stopped its reader twice
    assert catalog.unloadings.photo(first.id).state == "failed"
    assert catalog.unloadings.photo(first.id).trouble
    assert catalog.unloadings.claim("here").id == photos[1].id


def test_a_stopped_unloading_hands_nothing_out(catalog, taken):
    unloading, _ = taken
    catalog.unloadings.set_stopped(unloading.id, True)
    assert catalog.unloadings.claim("here") is None
    catalog.unloadings.set_stopped(unloading.id, False)
    assert catalog.unloadings.claim("here") is not None


def read_and_filed(catalog, unloading, photo, tile, code=None):
    kept = catalog.unloadings.claim("here")
    reading = photo(tile(0), name=kept.name)
    catalog.unloadings.finish(kept.id, reading, {}, [{"file": True, "code": code}], (), 0.1)
    return kept.id, catalog.unloadings.file(kept.id, [PieceDraft(0, code)], unloading.load_id)


def test_filing_is_taken_back_and_nothing_is_erased(catalog, taken, photo, tile):
    unloading, _ = taken
    first, filing = read_and_filed(catalog, unloading, photo, tile)
    (code,) = filing.added
    assert catalog.count_pieces() == 1
    catalog.unloadings.undo(first)
    assert catalog.count_pieces() == 0
    assert catalog.unloadings.photo(first).state == "read"
    assert catalog.restore_piece(code).code == code


def test_a_reading_added_to_a_piece_filed_before_goes_alone(catalog, taken, photo, tile):
    unloading, _ = taken
    read_and_filed(catalog, unloading, photo, tile, "T-0001")
    second, filing = read_and_filed(catalog, unloading, photo, tile, "T-0001")
    assert filing.extended == ("T-0001",)
    catalog.unloadings.undo(second)
    piece = catalog.piece("T-0001")
    assert [r.superseded for r in piece.readings].count(False) == 1


def test_an_unknown_number_is_refused(catalog):
    with pytest.raises(UnloadingNotFoundError):
        catalog.unloadings.get(7)


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is POSIX")
def test_readers_killed_at_any_moment_leave_each_photo_read_once(home, catalog, taken):
    unloading, _ = taken
    for kill in range(40):
        reader = subprocess.Popen(
            [sys.executable, "-c", SLOW_READER, str(home)], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        if kill < 6:
            reader.stdout.readline()
            time.sleep(0.011 * kill)
            reader.send_signal(signal.SIGKILL)
        reader.wait(timeout=60)
        reader.stdout.close()
        if reader.returncode == 0:
            break
    counts = states(catalog, unloading)
    assert sum(counts.values()) == 8
    assert set(counts) <= {"read", "failed"}
    assert counts["read"] >= 5  # one killed twice in hand is given up, and says so
