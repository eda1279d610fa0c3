"""Unloadings: each photo once, in one state, whatever is killed; filing and its undoing."""

import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from catalog.checkup import find_problems
from catalog.errors import CodeTakenError, InvalidRecordError
from catalog.records import Layer, PieceDraft
from catalog.search import match_colour
from catalog.store import Catalog
from catalog.unloading.records import Told
from catalog.unloading.unloadings import MOST_TRIES
from vision.reading import Lab

LOOP = Path(__file__).parent / "reading_loop.py"
PHOTOS, TILES = 60, 2


def start(home):
    return subprocess.Popen([sys.executable, str(LOOP), str(home)], stdout=subprocess.PIPE, text=True)


def doubles_and_losses(catalog, unloading):
    """What must never be: a photo twice, a piece twice, a photo filed but not its pieces, or the reverse."""
    photos = catalog.unloadings.photos_of(unloading.id)
    assert len({photo.sha256 for photo in photos}) == len(photos) == PHOTOS
    filed = {photo.sha256 for photo in photos if photo.state == "filed"}
    by_photo = {}
    for piece in catalog.pieces():
        (reading,) = piece.readings
        by_photo.setdefault(reading.photo_sha256, []).append(reading.tile_index)
    assert set(by_photo) == filed
    assert all(sorted(tiles) == [0, 1] for tiles in by_photo.values())
    return len(filed)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
@pytest.mark.parametrize("most", [4, pytest.param(12, marks=pytest.mark.reliability)])
def test_kill_9_at_random_moments_time_after_time_then_all_is_filed_once(home, most):
    rng = random.Random(5)
    with Catalog.open(home) as catalog:
        unloading = catalog.unloadings.begin(catalog.add_load("October").id, files_itself=True)
        for n in range(PHOTOS):
            catalog.unloadings.take(unloading.id, b"%06d" % n + os.urandom(20_000), f"{n}.jpg")
        kills, seen = 0, []
        while kills < most:
            program = start(home)
            assert program.stdout.readline() == "ready\n"
            for _ in range(rng.randrange(3)):
                program.stdout.readline()
            time.sleep(rng.uniform(0.0, 0.02))
            program.send_signal(signal.SIGKILL)
            program.communicate(timeout=30)
            assert program.returncode == -signal.SIGKILL, "it ended before it could be killed"
            kills += 1
            seen.append(doubles_and_losses(catalog, unloading))
        assert seen == sorted(seen)
        assert 0 < seen[-1] < PHOTOS, seen
        program = start(home)
        program.communicate(timeout=60)
        assert program.returncode == 0
        state = catalog.unloadings.state(unloading.id)
        failed = state.counts.get("failed", 0)
        # A photo in hand at two kills is set aside and told; taking it in again brings it back.
        for photo in catalog.unloadings.photos_of(unloading.id):
            if photo.state == "failed":
                assert photo.tries == MOST_TRIES
                catalog.unloadings.read_again(photo.id)
        if failed:
            start(home).communicate(timeout=60)
        assert catalog.unloadings.state(unloading.id).counts == {"filed": PHOTOS}
        assert doubles_and_losses(catalog, unloading) == PHOTOS
        assert catalog.count_pieces() == PHOTOS * TILES
        assert {p.kind for p in find_problems(catalog)} <= {"unknown view", "unfinished file"}


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_of_two_readers_one_works(home):
    with Catalog.open(home) as catalog:
        unloading = catalog.unloadings.begin(files_itself=True)
        for n in range(PHOTOS):
            catalog.unloadings.take(unloading.id, b"%06d" % n, f"{n}.jpg")
        programs = [start(home) for _ in range(2)]
        assert [(program.communicate(timeout=60), program.returncode)[1] for program in programs] == [0, 0]
        assert doubles_and_losses(catalog, unloading) == PHOTOS


@pytest.fixture
def unloading(catalog):
    return catalog.unloadings.begin(catalog.add_load("October").id)


def read_photo(catalog, unloading, data, reading):
    taken, _ = catalog.unloadings.take(unloading.id, data, reading.photo)
    claimed = catalog.unloadings.claim("me")
    assert claimed.id == taken.id
    pictures = {str(i): data + b"%d" % i for i in range(len(reading.tiles))}
    return catalog.unloadings.finish(taken.id, reading, pictures, [])


def test_the_same_photo_taken_in_twice_is_there_once(catalog, unloading):
    first, new = catalog.unloadings.take(unloading.id, b"one", "one.jpg")
    second, again = catalog.unloadings.take(unloading.id, b"one", "copy.jpg")
    assert (new, again, first.id) == (True, False, second.id)
    assert catalog.photo_bytes(first.sha256) == b"one"


def test_a_photo_that_stops_its_reader_twice_is_set_aside_and_the_rest_goes_on(catalog, unloading):
    bad, _ = catalog.unloadings.take(unloading.id, b"bad", "bad.jpg")
    good, _ = catalog.unloadings.take(unloading.id, b"good", "good.jpg")
    for _ in range(MOST_TRIES):
        assert catalog.unloadings.claim("me").id == bad.id
        assert catalog.unloadings.take_up("me") == 1
    assert catalog.unloadings.photo(bad.id).state == "failed"
    assert catalog.unloadings.photo(bad.id).trouble
    assert catalog.unloadings.claim("me").id == good.id


def test_stopped_is_stopped_and_goes_on_when_told(catalog, unloading):
    photo, _ = catalog.unloadings.take(unloading.id, b"one", "one.jpg")
    catalog.unloadings.set_stopped(unloading.id, True)
    assert catalog.unloadings.claim("me") is None
    assert catalog.unloadings.unread() == 0
    catalog.unloadings.set_stopped(unloading.id, False)
    assert catalog.unloadings.claim("me").id == photo.id


def test_one_left_out_while_it_is_read_stays_out(catalog, unloading, photo):
    taken, _ = catalog.unloadings.take(unloading.id, b"one", "one.jpg")
    catalog.unloadings.claim("me")
    catalog.unloadings.leave_out(taken.id)
    assert catalog.unloadings.finish(taken.id, photo(), {}, []).state == "left_out"


def test_undo_takes_new_pieces_off_and_filing_again_brings_no_doubles(catalog, unloading, photo, tile):
    kept = read_photo(catalog, unloading, b"one", photo(tile(0), tile(1)))
    drafts = [PieceDraft(0, "T-0007"), PieceDraft(1, "T-0008")]
    catalog.unloadings.file(kept.id, drafts, unloading.load_id)
    assert catalog.unloadings.file(kept.id, drafts, unloading.load_id).repeated == ("T-0007", "T-0008")
    assert catalog.unloadings.undo(kept.id) == 2
    assert catalog.count_pieces() == 0
    assert match_colour(catalog, Lab(40, -2, -20)) == ()
    assert catalog.unloadings.photo(kept.id).state == "read"
    assert catalog.unloadings.file(kept.id, drafts, unloading.load_id).added == ("T-0007", "T-0008")
    assert catalog.count_pieces() == 2
    assert find_problems(catalog) == ()


def test_undo_gives_a_planned_piece_back_as_it_was(catalog, unloading, photo, tile):
    """Filed once without load, clay or glaze; a second photo adds a reading and fills those gaps."""
    body = catalog.add_body("White")
    catalog.file_photo(b"zero", photo(name="zero.jpg"), [PieceDraft(0, "T-0001")])
    before = catalog.piece("T-0001")
    kept = read_photo(catalog, unloading, b"one", photo(tile(0, (((60.0, 5.0, 5.0), 1.0),))))
    draft = PieceDraft(0, "T-0001", body_id=body.id, layers=(Layer(None, "Moss", 2),), shelf="top")
    assert catalog.unloadings.file(kept.id, [draft], unloading.load_id).extended == ("T-0001",)
    between = catalog.piece("T-0001")
    assert (between.body, between.shelf, len(between.readings)) == (body, "top", 2)
    assert catalog.unloadings.undo_all(unloading.id) == 1
    assert catalog.piece("T-0001") == before
    (found,) = match_colour(catalog, Lab(60, 5, 5), limit=5)
    assert found.lab.lightness == 40, "the colour taken back is no longer found"
    catalog.unloadings.file(kept.id, [draft], unloading.load_id)
    assert catalog.piece("T-0001").readings[0].tile.glaze.lab.lightness == 60


def test_undo_takes_back_all_filings_of_a_photo_that_was_read_and_filed_again(
    catalog, unloading, photo, tile
):
    planned = catalog.file_photo(b"zero", photo(name="zero.jpg"), [PieceDraft(0, "T-0001")]).pieces[0]
    drafts = [PieceDraft(0, "T-0001", shelf="top"), PieceDraft(1, "T-0002")]
    kept = read_photo(catalog, unloading, b"one", photo(tile(0), tile(1)))
    assert catalog.unloadings.file(kept.id, drafts, unloading.load_id).added == ("T-0002",)
    catalog.unloadings.read_again(kept.id)
    catalog.unloadings.claim("me")
    again = photo(tile(0), tile(1), method={"two_lamps": 9})
    catalog.unloadings.finish(kept.id, again, {"0": b"0", "1": b"1"}, [])
    assert catalog.unloadings.file(kept.id, drafts, unloading.load_id).extended == ("T-0001", "T-0002")
    assert catalog.unloadings.undo(kept.id) == 2
    assert [piece.code for piece in catalog.pieces()] == ["T-0001"]
    assert catalog.piece("T-0001") == planned
    assert find_problems(catalog) == ()


def test_undo_keeps_a_piece_that_was_photographed_since(catalog, unloading, photo):
    kept = read_photo(catalog, unloading, b"one", photo())
    catalog.unloadings.file(kept.id, [PieceDraft(0, "T-0001")], unloading.load_id)
    catalog.file_photo(b"two", photo(name="two.jpg"), [PieceDraft(0, "T-0001")])
    catalog.unloadings.undo(kept.id)
    assert [reading.tile_index for reading in catalog.piece("T-0001").readings] == [0]


def test_another_load_takes_along_what_this_unloading_filed(catalog, unloading, photo):
    other = catalog.add_load("November")
    kept = read_photo(catalog, unloading, b"one", photo())
    catalog.unloadings.file(kept.id, [PieceDraft(0, "T-0001")], unloading.load_id)
    catalog.unloadings.set_load(unloading.id, other.id)
    assert catalog.piece("T-0001").load.name == "November"
    catalog.unloadings.undo(kept.id)
    assert catalog.count_pieces() == 0


def test_a_clash_files_nothing_of_its_photo(catalog, unloading, photo, tile):
    white, dark = catalog.add_body("White"), catalog.add_body("Dark")
    catalog.file_photo(b"zero", photo(name="zero.jpg"), [PieceDraft(0, "T-0001", body_id=white.id)])
    kept = read_photo(catalog, unloading, b"one", photo(tile(0), tile(1)))
    with pytest.raises(CodeTakenError):
        catalog.unloadings.file(
            kept.id, [PieceDraft(0, "T-0009"), PieceDraft(1, "T-0001", body_id=dark.id)], unloading.load_id
        )
    assert [piece.code for piece in catalog.pieces()] == ["T-0001"]
    assert catalog.unloadings.photo(kept.id).state == "read"


def test_an_outline_drawn_anew_is_kept_beside_the_one_found(catalog, photo, tile):
    catalog.file_photo(b"one", photo(tile(0)), [PieceDraft(0, "T-0001")])
    (found,) = catalog.piece("T-0001").readings
    drawn = replace(tile(5), outlined_by_hand=True)
    filing = catalog.file_photo(b"one", photo(drawn), [PieceDraft(0, "T-0001", replaces=found.id)])
    assert filing.extended == ("T-0001",)
    now, before = catalog.piece("T-0001").readings
    assert now.tile.outline_px[0] == (500.0, 0.0)
    assert (before.id, before.superseded) == (found.id, True)


def test_expected_are_the_pieces_of_the_load_without_a_photo(catalog, unloading, photo):
    kept = read_photo(catalog, unloading, b"one", photo())
    catalog.unloadings.file(kept.id, [PieceDraft(0, "T-0001")], unloading.load_id)
    assert catalog.unloadings.expected(unloading.load_id) == ()
    assert catalog.unloadings.loads_of(["t-0001", "T-0002"]) == {"t-0001": unloading.load_id}


def test_left_out_and_brought_back_it_is_where_it_was(catalog, unloading, photo):
    kept = read_photo(catalog, unloading, b"one", photo())
    fresh, _ = catalog.unloadings.take(unloading.id, b"two", "two.jpg")
    for one, then in ((kept, "read"), (fresh, "waiting")):
        catalog.unloadings.leave_out(one.id)
        catalog.unloadings.bring_back(one.id)
        assert catalog.unloadings.photo(one.id).state == then


def test_undoing_a_closed_unloading_makes_it_work_in_hand_again(catalog, unloading, photo):
    kept = read_photo(catalog, unloading, b"one", photo())
    catalog.unloadings.set_files_itself(unloading.id, True)
    catalog.unloadings.file(kept.id, [PieceDraft(0, "T-0001")], unloading.load_id)
    catalog.unloadings.close(unloading.id)
    assert catalog.unloadings.list() == ()
    catalog.unloadings.undo(kept.id)
    (again,) = catalog.unloadings.list()
    assert (again.id, again.files_itself) == (unloading.id, False), "or it would be filed anew at once"
    assert catalog.unloadings.undo(kept.id) == 0, "nothing is filed any more"


def test_two_photos_joined_wait_as_one_and_part_again(catalog, unloading):
    """The second of a pair is read with the first: never by itself, never lost."""
    first, _ = catalog.unloadings.take(unloading.id, b"left", "left.jpg", told=Told(thickness_mm=8.0))
    second, _ = catalog.unloadings.take(unloading.id, b"right", "right.jpg")
    catalog.unloadings.join(first.id, second.id)
    assert catalog.unloadings.photo(first.id).told == Told(thickness_mm=8.0, beside=second.id)
    assert catalog.unloadings.state(unloading.id).to_read == 1
    again, new = catalog.unloadings.take(unloading.id, b"right", "right.jpg")
    assert (again.state, new) == ("left_out", False)
    for one, other in ((first, second), (second, first), (first, first)):
        with pytest.raises(InvalidRecordError):
            catalog.unloadings.join(one.id, other.id)
    catalog.unloadings.read_again(first.id, outlines={"0": [[0, 0], [9, 0], [9, 9]]})
    kept = catalog.unloadings.photo(first.id)
    assert (set(kept.outlines), kept.told.beside) == ({"0"}, second.id)
    catalog.unloadings.part(first.id)
    assert catalog.unloadings.photo(first.id).told == Told(thickness_mm=8.0, apart=True)
    assert [photo.state for photo in catalog.unloadings.photos_of(unloading.id)] == ["waiting", "waiting"]
