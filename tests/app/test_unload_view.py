"""The Unload view: photos read, corrected, filed and undone; nothing to file where nothing was found."""

import re
from pathlib import Path

import pytest

from app.services.unload_reading import only_reader, read_line
from catalog.store import Catalog
from tests.app.conftest import jpeg
from tests.app.test_views import INTERNAL, _button, _index, opened, words
from vision.reading import Calibration, CalibrationKind, PhotoReading


def read_here(catalog: Catalog) -> None:
    """Read what is in line at once instead of starting a program for it; that is the browser tests' part."""
    with only_reader(catalog.home) as free:
        assert free
        read_line(catalog)


def test_unload_reads_corrects_and_files_and_a_bad_file_stays_beside_its_reason(
    studio: Path, photos: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.widgets.unload_progress.see_to_reading", read_here)
    app = opened("unload")
    files = [(name, (photos / name).read_bytes(), "image/jpeg") for name in ("blue.jpg", "notes.jpg")]
    app.file_uploader[0].set_value(files).run()
    assert "2 photos kept." in words(app)
    app.run()
    assert not app.exception
    said = words(app)
    assert not INTERNAL.search(said), INTERNAL.search(said)
    assert "notes.jpg could not be read as a photo" in said
    assert "File all 2 pieces" in said
    app.selectbox[_index(app, "Clay body")].select("Dark stoneware")
    app.selectbox[_index(app, "Glaze")].select("Slate blue")
    _button(app, "Put in for all").click().run()
    _button(app, "File all 2 pieces").click().run()
    assert not app.exception
    said = words(app)
    assert "Filed 2 pieces: T-0101, T-0102." in said
    assert "notes.jpg could not be read as a photo" in said
    with Catalog.open(studio) as catalog:
        assert catalog.count_pieces() == 8
        piece = catalog.piece("T-0102")
    assert piece.body is not None
    assert piece.body.name == "Dark stoneware"
    assert [layer.name for layer in piece.layers] == ["Slate blue"]
    app.file_uploader[0].set_value(files[:1]).run()
    assert "had been given before; nothing was added" in words(app)
    _button(app, "Undo").click().run()
    assert "Undone: 2 pieces as before" in words(app)
    with Catalog.open(studio) as catalog:
        assert catalog.count_pieces() == 6
    _button(app, "File all 2 pieces").click().run()
    assert not app.exception
    with Catalog.open(studio) as catalog:
        assert catalog.count_pieces() == 8
        (unloading,) = catalog.unloadings.list()
        assert catalog.unloadings.state(unloading.id).counts == {"filed": 1, "failed": 1}


def test_unload_offers_no_filing_where_no_photo_holds_a_piece(studio: Path) -> None:
    data = jpeg((90, 70, 60))
    with Catalog.open(studio) as catalog:
        unloading = catalog.unloadings.begin()
        photo, _ = catalog.unloadings.take(unloading.id, data, "table.jpg")
        catalog.unloadings.claim("test")
        empty = PhotoReading("table.jpg", None, Calibration(CalibrationKind.NONE, None, None), ())
        catalog.unloadings.finish(
            photo.id, empty, {"preview": data}, [], ("Nothing in it.", "Draw round it.")
        )
    app = opened("unload")
    assert not app.exception
    said = words(app)
    assert "Nothing in it." in said
    assert not re.search(r"File (all )?0|What was found", said)
