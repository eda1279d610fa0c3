"""The second photo of a pair that comes after the first was filed: said, held back, read with it or apart."""

from dataclasses import replace
from pathlib import Path

import pytest

from app.cli import main
from app.services.reading import ReadItem
from app.services.rereading import ReadAgain, Task
from app.services.unload_filing import file_photo
from app.services.unload_pairs import FiledFirst, filed_firsts, read_with_filed
from app.services.unload_reading import read_line
from catalog.store import Catalog
from tests.app.conftest import BLUE, jpeg, tile
from tests.app.test_telling_more import SCENE, TILE, shot
from tests.app.test_views import opened, words
from vision.reading import Calibration, CalibrationKind, Flag, PhotoBeside, PhotoReading

CARD = Calibration(CalibrationKind.CARD, 0.2, 1.0)
LEFT, RIGHT = shot(SCENE), shot(replace(SCENE, unevenness=-0.4, seed=2))
OUTLINE = tuple((x / SCENE.mm_per_px, y / SCENE.mm_per_px) for x, y in TILE.corners_mm().tolist())
BEFORE = replace(tile(BLUE), outline_px=OUTLINE)


def read_alone(photo, data, catalog, beside=None) -> ReadItem:
    """What one photo says, without looking at it: the drawn tile, where it was drawn."""
    return ReadItem(photo.name, photo.sha256, data, PhotoReading(photo.name, photo.sha256, CARD, (BEFORE,)))


def read_both(task: Task) -> ReadAgain:
    """What both photos say, without looking at them."""
    sha256, name = task.photo.beside
    together = replace(BEFORE, beside_sha256=sha256)
    reading = PhotoReading(
        task.photo.name, task.photo.sha256, CARD, (together,), beside=PhotoBeside(name, sha256)
    )
    item = ReadItem(task.photo.name, task.photo.sha256, b"", reading, views={0: jpeg((80, 90, 120))})
    return ReadAgain(task.photo, item, {0: task.photo.tiles[0].reading_id})


@pytest.fixture
def catalog(empty_home: Path):
    with Catalog.open(empty_home) as opened_here:
        yield opened_here


def filed_then_second(catalog: Catalog, *, files_itself: bool = False) -> FiledFirst:
    """Left filed in one unloading that is done, right read in the next one."""
    first = catalog.unloadings.begin()
    catalog.unloadings.take(first.id, LEFT, "left.jpg")
    read_line(catalog, read=read_alone)
    (left,) = catalog.unloadings.photos_of(first.id)
    assert file_photo(catalog, left, None).added == ("T-0001",)
    catalog.unloadings.close(first.id)
    second = catalog.unloadings.begin(files_itself=files_itself)
    catalog.unloadings.take(second.id, RIGHT, "right.jpg")
    read_line(catalog, read=read_alone)
    (pair,) = filed_firsts(catalog, catalog.unloadings.photos_of(second.id))
    return pair


def standing(catalog: Catalog, code: str = "T-0001") -> list[str | None]:
    """The second photos of a piece's readings that stand, None of one read alone."""
    return [one.tile.beside_sha256 for one in catalog.piece(code).readings if not one.superseded]


def test_likeness_is_seen_both_photos_are_read_and_undoing_brings_the_filed_reading_back(catalog) -> None:
    """Truth is drawn: one tile under two lights; nothing is faked but the readings of each photo alone."""
    pair = filed_then_second(catalog)
    assert (pair.first.name, pair.second.name, pair.codes) == ("left.jpg", "right.jpg", ("T-0001",))
    assert read_with_filed(catalog, pair) == ("T-0001",)
    kept = catalog.piece("T-0001").readings
    assert standing(catalog) == [pair.second.sha256]
    assert len(kept) == 2, "the reading filed before is kept"
    assert str(Flag.TWO_PHOTOS) in kept[0].photo_flags
    assert catalog.unloadings.photo(pair.second.id).state == "filed"
    assert catalog.unloadings.undo(pair.second.id) == 1
    assert standing(catalog) == [None]
    assert filed_firsts(catalog, catalog.unloadings.photos_of(pair.second.unloading_id)) == [pair]


def test_undoing_the_first_photo_takes_the_second_along(catalog, monkeypatch) -> None:
    monkeypatch.setattr("app.services.unload_pairs.read_again", read_both)
    pair = filed_then_second(catalog)
    read_with_filed(catalog, pair)
    assert catalog.unloadings.undo(pair.first.id) == 1
    assert catalog.count_pieces() == 0
    assert [catalog.unloadings.photo(one.id).state for one in (pair.first, pair.second)] == ["read", "read"]
    assert len(catalog.unloadings.list()) == 2, "both are work in hand again"


def test_given_again_a_second_photo_makes_no_double(catalog, monkeypatch) -> None:
    monkeypatch.setattr("app.services.unload_pairs.read_again", read_both)
    pair = filed_then_second(catalog)
    read_with_filed(catalog, pair)
    third = catalog.unloadings.begin()
    known, new = catalog.unloadings.take(third.id, RIGHT, "right again.jpg")
    assert (known.id, new) == (pair.second.id, False)
    assert catalog.unloadings.state(third.id).total == 0
    catalog.unloadings.undo(pair.second.id)
    assert catalog.unloadings.take(third.id, RIGHT, "right again.jpg")[1], "taken back, it can be given anew"


def test_a_photo_that_a_person_files_by_itself_is_never_asked_of_again(catalog) -> None:
    pair = filed_then_second(catalog)
    catalog.unloadings.propose_pair(pair.second.id, None)
    (alone,) = photos = catalog.unloadings.photos_of(pair.second.unloading_id)
    assert filed_firsts(catalog, photos) == []
    assert file_photo(catalog, alone, None).added == ("T-0002",)
    assert standing(catalog) == [None]


def test_the_second_of_a_filed_photo_is_not_filed_by_itself_at_once(catalog, monkeypatch) -> None:
    """Both labelled and with the card, so that each would be filed as soon as it is read."""
    monkeypatch.setattr("tests.app.test_second_photo.BEFORE", replace(BEFORE, label="T-0001"))
    pair = filed_then_second(catalog, files_itself=True)
    assert pair.second.state == "read"
    assert len(catalog.piece("T-0001").readings) == 1


@pytest.mark.parametrize(
    ("button", "said", "codes"),
    [
        ("Read both as one", "Read as one with left.jpg. Added a reading to 1 piece: T-0001", ["T-0001"]),
        ("File it by itself", "File 1 piece", ["T-0001"]),
    ],
)
def test_unload_asks_and_does_what_is_chosen(catalog, monkeypatch, button, said, codes) -> None:
    monkeypatch.setattr("app.services.unload_pairs.read_again", read_both)
    filed_then_second(catalog)
    app = opened("unload")
    shown = words(app)
    assert "right.jpg shows the same pieces in the same places as left.jpg, which is filed as T-0001" in shown
    assert [one.label for one in app.button if one.label.startswith("File")] == ["File it by itself"]
    next(one for one in app.button if one.label == button).click().run()
    assert not app.exception
    assert said in words(app)
    assert [piece.code for piece in catalog.pieces()] == codes


def test_the_command_line_says_so_files_nothing_and_takes_either_answer(
    tmp_path: Path, empty_home: Path, monkeypatch, capsys
) -> None:
    monkeypatch.setattr("app.services.unload_pairs.read_again", read_both)
    monkeypatch.setattr("app.commands.unloading.read_kept", read_alone)
    for name, data in (("left.jpg", LEFT), ("right.jpg", RIGHT)):
        (tmp_path / name).write_bytes(data)
    unload = ["unload", "--load", "October"]
    assert main([*unload, str(tmp_path / "left.jpg")]) == 0
    assert main([*unload, str(tmp_path / "right.jpg")]) == 1
    told = capsys.readouterr()
    assert told.out == "T-0001\tleft.jpg\n"
    assert (
        "right.jpg shows the same pieces in the same places as left.jpg, which is filed as T-0001" in told.err
    )
    assert "--join" in told.err
    assert "--apart" in told.err
    assert main([*unload, "--join", str(tmp_path / "right.jpg")]) == 0
    assert capsys.readouterr().out == "T-0001\tright.jpg\n"
    assert main([*unload, str(tmp_path / "right.jpg")]) == 0
    again = capsys.readouterr()
    assert again.out == ""
    assert "joined to another photo, with which it is read; nothing was added" in again.err
    with Catalog.open(empty_home) as catalog:
        assert standing(catalog)[0] is not None
        _, unloading, _ = catalog.unloadings.list(open_only=False)
        assert unloading.closed
        (second,) = catalog.unloadings.photos_of(unloading.id)
        catalog.unloadings.undo(second.id)
    assert main([*unload, "--apart", str(tmp_path / "right.jpg")]) == 0
    assert capsys.readouterr().out == "T-0002\tright.jpg\n"


def test_photos_of_one_run_are_asked_of_too(tmp_path: Path, empty_home: Path, monkeypatch, capsys) -> None:
    """Neither bears a label, so both are read before the first is filed."""
    monkeypatch.setattr("app.commands.unloading.read_kept", read_alone)
    for name, data in (("left.jpg", LEFT), ("right.jpg", RIGHT)):
        (tmp_path / name).write_bytes(data)
    assert main(["unload", "--load", "October", str(tmp_path)]) == 1
    told = capsys.readouterr()
    assert told.out == "T-0001\tleft.jpg\n"
    assert "right.jpg shows the same pieces" in told.err
