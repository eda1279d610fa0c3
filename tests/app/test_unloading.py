"""What the Unload view asks for: what can be filed when, pieces named by number, outlines, words."""

from dataclasses import replace
from pathlib import Path

import pytest

from app import unload_worker
from app.services.reading import ReadItem
from app.services.unload_drawing import NEW_PIECE, draw_outline
from app.services.unload_filing import FOR_ALL, new_said
from app.services.unload_matching import expected_pieces, name_in_order, unnamed_pieces
from app.services.unload_pairs import proposed_pairs
from app.services.unload_reading import read_line
from app.services.unloading import in_hand, keep_rows, ready, table_rows, take_in
from app.words.unloading import left_words, progress_words
from catalog import pieces
from catalog.new_pieces import new_row
from catalog.records import Layer
from catalog.store import Catalog
from catalog.unloading.records import UnloadingState
from tests.app.conftest import BLUE, BROWN, jpeg, tile
from vision.errors import OutlineError
from vision.reading import Calibration, CalibrationKind, Flag, PhotoReading


@pytest.fixture
def catalog(empty_home: Path):
    with Catalog.open(empty_home) as opened:
        yield opened


def plan(catalog: Catalog, code: str, load_id: int) -> None:
    with catalog.database.writing() as session:
        row = new_row(session, code, "tile", load_id=load_id)
        pieces.set_layers(session, row, [Layer(None, "Moss", 2)])


def read(catalog: Catalog, unloading, name: str, codes: list):
    """A photo of this unloading that has been read: a piece for each code."""
    data = jpeg((90, 70, 60), (900, 1200), seed=len(name))
    tiles = tuple((tile(BLUE), tile(BROWN))[number % 2] for number in range(len(codes)))
    photo, _ = catalog.unloadings.take(unloading.id, data, name)
    assert catalog.unloadings.claim("test").id == photo.id
    said = [{"file": True, "code": code, "kind": "tile", **dict.fromkeys(FOR_ALL)} for code in codes]
    reading = PhotoReading(name, None, Calibration(CalibrationKind.CARD, 0.1, 1.0), tiles)
    return catalog.unloadings.finish(photo.id, reading, {}, said)


def test_while_photos_are_read_only_those_with_all_codes_can_be_filed(catalog) -> None:
    unloading = catalog.unloadings.begin()
    labelled, half = (
        read(catalog, unloading, "a.jpg", ["T-1"]),
        read(catalog, unloading, "ab.jpg", ["T-2", None]),
    )
    assert ready([labelled, half], all_read=False) == [labelled]
    assert ready([labelled, half], all_read=True) == [labelled, half]


def test_pieces_that_lie_in_the_lists_order_are_named_at_once(catalog) -> None:
    load = catalog.add_load("October")
    for code in ("T-0003", "T-0001", "T-0002"):
        plan(catalog, code, load.id)
    unloading = catalog.unloadings.begin(load.id)
    photos = [
        read(catalog, unloading, "a.jpg", ["T-0002", None]),
        read(catalog, unloading, "ab.jpg", [None, None]),
    ]
    numbered = list(enumerate(photos, start=1))
    expected = expected_pieces(catalog, load.id, photos)
    assert [piece.code for piece in expected] == ["T-0001", "T-0003"], "T-0002 is on a label"
    unnamed = unnamed_pieces(numbered)
    assert [(one.number, one.index) for one in unnamed] == [(1, 1), (2, 0), (2, 1)]
    name_in_order(catalog, unnamed, expected)
    said = [[row["code"] for row in photo.said] for photo in catalog.unloadings.photos_of(unloading.id)]
    assert said == [["T-0002", "T-0001"], ["T-0003", None]]


def test_what_the_table_says_is_kept_photo_by_photo(catalog) -> None:
    unloading = catalog.unloadings.begin()
    photos = [read(catalog, unloading, "a.jpg", ["T-1"]), read(catalog, unloading, "ab.jpg", [None])]
    rows = table_rows(list(enumerate(photos, start=1)), lambda photo, index: None)
    assert not keep_rows(catalog, photos, rows)
    rows[1] |= {"code": "T-9", "coats": 2.0}
    assert keep_rows(catalog, photos, rows)
    first, second = catalog.unloadings.photos_of(unloading.id)
    assert first == photos[0]
    assert (second.said[0]["code"], second.said[0]["coats"]) == ("T-9", 2)


@pytest.mark.parametrize("people", [False, True])
def test_where_there_are_people_the_reader_in_the_background_files_nothing(
    catalog, monkeypatch, people: bool
) -> None:
    """It acts in nobody's name: whoever has the right presses the button."""
    unloading = catalog.unloadings.begin(catalog.add_load("October").id, files_itself=True)
    plan(catalog, "T-0001", unloading.load_id)
    catalog.unloadings.take(unloading.id, jpeg((90, 70, 60), (900, 1200)), "a.jpg")
    if people:
        catalog.people.add("Ana", "keeper", email="ana@studio.example")
    one = replace(tile(BLUE), label="T-0001")
    card = Calibration(CalibrationKind.CARD, 0.1, 1.0)

    def read_here(photo, data, catalog):
        reading = PhotoReading(photo.name, photo.sha256, card, (one,))
        return ReadItem(photo.name, photo.sha256, data, reading, None)

    monkeypatch.setattr("os.nice", lambda by: 0)
    monkeypatch.setattr("app.services.unload_reading.read_kept", read_here)
    monkeypatch.setattr("app.unload_worker._LOOK_EVERY_S", 0.0)
    monkeypatch.setattr("app.unload_worker.IDLE_S", 1.0)
    assert unload_worker.main() == 0
    (photo,) = catalog.unloadings.photos_of(unloading.id)
    assert photo.state == ("read" if people else "filed")


@pytest.mark.parametrize("joined", [True, False])
def test_what_may_be_one_of_a_pair_is_not_filed_before_a_person_said_so(catalog, monkeypatch, joined) -> None:
    unloading = catalog.unloadings.begin(catalog.add_load("October").id, files_itself=True)
    card = Calibration(CalibrationKind.CARD, 0.1, 1.0)
    for n, name in enumerate(("left.jpg", "right.jpg", "other.jpg")):
        catalog.unloadings.take(unloading.id, jpeg((90 + 20 * n, 70, 60), (900, 1200)), name)

    def read_here(photo, data, catalog):
        one = replace(tile(BLUE), label="T-0002" if photo.name == "other.jpg" else "T-0001")
        return ReadItem(photo.name, photo.sha256, data, PhotoReading(photo.name, None, card, (one,)), None)

    monkeypatch.setattr("app.services.unload_pairs.photos_alike", lambda *_: True)
    seen = []
    read_line(catalog, read=read_here, after=lambda photo: seen.append((photo.name, photo.state)))
    assert seen == [("left.jpg", "read"), ("right.jpg", "read"), ("other.jpg", "filed")]
    left, right, other = catalog.unloadings.photos_of(unloading.id)
    assert (left.state, right.state) == ("read", "read")
    assert proposed_pairs([left, right, other]) == [(left, right)]
    if joined:
        catalog.unloadings.join(left.id, right.id)
    else:
        catalog.unloadings.propose_pair(left.id, None)
    read_line(catalog, read=read_here)
    states = [photo.state for photo in catalog.unloadings.photos_of(unloading.id)]
    assert states == ["filed", "left_out" if joined else "filed", "filed"]
    assert len(catalog.piece("T-0001").readings) == (1 if joined else 2)


@pytest.mark.parametrize(
    ("flags", "more", "ticked"),
    [
        ((Flag.MOSTLY_OUT,), {}, False),
        ((Flag.EDGE_CUT, Flag.SUBJECT_DOUBTED), {}, False),
        ((Flag.EDGE_CUT,), {}, True),
        ((Flag.SUBJECT_DOUBTED,), {}, True),
        ((Flag.MOSTLY_OUT,), {"label": "T-0001"}, True),
        ((Flag.MOSTLY_OUT,), {"outlined_by_hand": True}, True),
    ],
)
def test_what_the_frame_cuts_and_may_be_no_piece_waits_for_a_tick(flags, more, ticked) -> None:
    cut = replace(tile(BLUE), flags=flags, **more)
    reading = PhotoReading("a.jpg", None, Calibration(CalibrationKind.NONE), (tile(BROWN), cut))
    assert [row["file"] for row in new_said(reading)] == [True, ticked]
    assert [row["file"] for row in new_said(reading, vouched=True)] == [True, True]


def test_an_outline_is_kept_in_pixels_of_the_photo_and_read_anew(catalog) -> None:
    photo = read(catalog, catalog.unloadings.begin(), "a.jpg", ["T-1"])
    with pytest.raises(OutlineError):
        draw_outline(catalog, photo, 0, [[0.1, 0.1], [0.9, 0.9], [0.9, 0.1], [0.1, 0.9]])
    assert catalog.unloadings.photo(photo.id).state == "read", "a crossed outline changes nothing"
    draw_outline(catalog, photo, 0, [[0, 0], [1, 0], [1, 0.5]])
    draw_outline(catalog, catalog.unloadings.photo(photo.id), NEW_PIECE, [[0, 0], [1, 0], [1, 1], [0, 1]])
    drawn = catalog.unloadings.photo(photo.id)
    assert drawn.state == "waiting"
    assert drawn.outlines["0"] == [[0, 0], [899, 0], [899, 599.5]]
    assert drawn.outlines["new2"][2] == [899, 1199]


def test_new_photos_begin_another_unloading_once_all_are_filed(catalog) -> None:
    first = take_in(
        catalog, None, [("a.jpg", lambda: b"a"), ("again.jpg", lambda: b"a"), ("empty.jpg", bytes)]
    )
    assert (first.new, first.known, len(first.trouble)) == (1, 1, 1)
    assert "empty.jpg" in first.trouble[0]
    assert in_hand(catalog) == in_hand(catalog, 99) == first.unloading
    assert take_in(catalog, first.unloading, [("b.jpg", lambda: b"b")]).unloading.id == first.unloading.id
    with catalog.database.writing() as session:
        from sqlalchemy import update

        from catalog.unloading.tables import UnloadingPhotoRow

        session.execute(update(UnloadingPhotoRow).values(state="filed"))
    other = take_in(catalog, first.unloading, [("c.jpg", lambda: b"c")]).unloading
    assert other.id != first.unloading.id
    assert in_hand(catalog, first.unloading.id) == other


def test_each_file_is_let_go_as_soon_as_it_is_kept(catalog) -> None:
    steps = []
    photos = [(f"{n}.jpg", lambda n=n: steps.append(f"read {n}") or b"%d" % n) for n in range(3)]
    take_in(catalog, None, photos, kept=lambda n: steps.append(f"let go {n}"))
    assert steps == ["read 0", "let go 0", "read 1", "let go 1", "read 2", "let go 2"]


def test_the_time_left_counts_what_is_not_read(catalog) -> None:
    state = UnloadingState({"waiting": 39, "in_hand": 1, "read": 10, "filed": 10, "left_out": 5}, 3.0)
    assert progress_words(state) == (pytest.approx(20 / 60), "20 of 60 photos read, about 2 min left")
    assert left_words(UnloadingState({"waiting": 4}, None)) == ""
    assert left_words(UnloadingState({"read": 4}, 3.0)) == ""
