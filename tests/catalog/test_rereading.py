"""Which filed photos want reading again, and what filing a new reading does to the old one."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from catalog.checkup import find_problems
from catalog.errors import PhotoMismatchError, PieceNotFoundError
from catalog.photos import digest_of
from catalog.records import PieceDraft
from catalog.rereading import file_again, is_outdated, outdated_photos, pair_tiles, present_method
from catalog.search import match_colour
from catalog.store import Catalog, effective_faults
from vision.reading import METHOD, TWO_LAMPS_METHOD, Lab

OLD = {"colour": 1}
RED = (40.0, 50.0, 30.0)


def filed(catalog, photo, tile, data=b"one", codes=("T-0001", "T-0002"), load_id=None, method=OLD):
    tiles = [tile(i) for i in range(len(codes))]
    drafts = [PieceDraft(i, code=code) for i, code in enumerate(codes)]
    catalog.file_photo(data, photo(*tiles, method=method), drafts, load_id)
    return digest_of(data)


def now(photo, sha256, *tiles):
    return photo(*tiles, sha256=sha256)


@pytest.mark.parametrize(
    ("method", "outdated"),
    [
        ({}, False),
        ({"colour": 1}, True),
        ({"a stage of a later version": 1}, False),
        ({"colour": 1, "marks": 99}, False),
    ],
)
def test_a_method_is_outdated_where_a_stage_is_older_and_none_newer(method, outdated):
    assert is_outdated({**METHOD, **method}) is outdated


def test_a_reading_from_before_a_stage_was_there_is_outdated():
    assert is_outdated({stage: number for stage, number in METHOD.items() if stage != "crazing"})


def test_only_readings_of_an_older_method_that_stand_are_given(catalog, photo, tile):
    load = catalog.add_load("September")
    one = filed(catalog, photo, tile, b"one", load_id=load.id)
    two = filed(catalog, photo, tile, b"two", ("T-0003",))
    filed(catalog, photo, tile, b"three", ("T-0004",), method={})
    filed(catalog, photo, tile, b"four", ("T-0005",))
    catalog.delete_piece("T-0005")
    assert [(p.sha256, [t.code for t in p.tiles]) for p in outdated_photos(catalog)] == [
        (one, ["T-0001", "T-0002"]),
        (two, ["T-0003"]),
    ]
    assert [p.sha256 for p in outdated_photos(catalog, load_id=load.id)] == [one]
    # a photo is read as a whole, whichever of its pieces is named
    (photo_of_both,) = outdated_photos(catalog, codes=["t-0002"])
    assert [t.code for t in photo_of_both.tiles] == ["T-0001", "T-0002"]
    assert photo_of_both.subject == "tile"
    with pytest.raises(PieceNotFoundError):
        outdated_photos(catalog, codes=["T-0009"])


def test_a_new_reading_speaks_and_the_old_one_stays(catalog, photo, tile):
    sha256 = filed(catalog, photo, tile, codes=("T-0001",))
    catalog.add_judgement("T-0001", "fault", "crazed", "present", by="Ada")
    old = catalog.piece("T-0001").readings[0]
    codes = file_again(
        catalog,
        sha256,
        now(photo, sha256, tile(0, palette=((RED, 1.0),), faults={"blistered": 0.9})),
        {0: old.id},
        {0: b"new view"},
    )
    assert codes == ("T-0001",)
    piece = catalog.piece("T-0001")
    new, kept = piece.readings
    assert (kept.id, kept.superseded, kept.tile) == (old.id, True, old.tile)
    assert (new.superseded, new.method, new.photo_sha256) == (False, METHOD, sha256)
    assert catalog.view_bytes(new.id) == b"new view"
    assert {fault.fault for fault in effective_faults(piece)} == {"crazed", "blistered"}
    (match,) = match_colour(catalog, Lab(*RED), limit=5)
    assert (match.piece.code, round(match.delta_e_00, 3)) == ("T-0001", 0.0)
    assert outdated_photos(catalog) == ()
    assert find_problems(catalog) == ()


def test_a_pair_of_photos_waits_as_a_pair(catalog, photo, tile):
    """Lamp left, lamp right: what two photos said must not be said again by one alone."""
    catalog.unloadings.keep_beside(b"right", "right.jpg")
    pair = replace(tile(0), beside_sha256=digest_of(b"right"))
    told = photo(pair, method={**OLD, "two_lamps": TWO_LAMPS_METHOD})
    catalog.file_photo(b"left", told, [PieceDraft(0, code="T-0001")])
    (waiting,) = outdated_photos(catalog)
    assert waiting.beside == (digest_of(b"right"), "right.jpg")
    old = waiting.tiles[0].reading_id
    alone = now(photo, digest_of(b"left"), tile(0))
    assert file_again(catalog, digest_of(b"left"), alone, {0: old}) == ()
    both = replace(alone, tiles=(pair,), method=present_method(beside=True))
    assert file_again(catalog, digest_of(b"left"), both, {0: old}) == ("T-0001",)
    assert outdated_photos(catalog) == ()


def test_filed_twice_there_is_one_new_reading(catalog, photo, tile):
    sha256 = filed(catalog, photo, tile)
    places = {i: t.reading_id for i, t in enumerate(outdated_photos(catalog)[0].tiles)}
    reading = now(photo, sha256, tile(0), tile(1))

    def again(_):
        with Catalog.open(catalog.home.folder) as other:
            return file_again(other, sha256, reading, places)

    with ThreadPoolExecutor(6) as pool:
        told = list(pool.map(again, range(6)))
    assert sorted(told) == [(), (), (), (), (), ("T-0001", "T-0002")]
    assert [len(piece.readings) for piece in catalog.pieces()] == [2, 2]


def test_a_piece_removed_meanwhile_and_another_photos_reading_gain_nothing(catalog, photo, tile):
    sha256 = filed(catalog, photo, tile, codes=("T-0001",))
    old = catalog.piece("T-0001").readings[0]
    with pytest.raises(PhotoMismatchError):
        file_again(catalog, sha256, now(photo, digest_of(b"other"), tile(0)), {0: old.id})
    catalog.delete_piece("T-0001")
    assert file_again(catalog, sha256, now(photo, sha256, tile(0)), {0: old.id}) == ()
    assert len(catalog.restore_piece("T-0001").readings) == 1


def test_tiles_are_told_by_where_they_lie(catalog, photo, tile):
    filed(catalog, photo, tile, codes=("T-0001", "T-0002", "T-0003"))
    (waiting,) = outdated_photos(catalog)
    ids = {t.code: t.reading_id for t in waiting.tiles}
    # found in another order, the third not at all, and something new far to the right
    found = [tile(1), tile(7), tile(0)]
    assert pair_tiles(waiting.tiles, found) == {0: ids["T-0002"], 2: ids["T-0001"]}
