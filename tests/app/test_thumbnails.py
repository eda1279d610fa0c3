"""Small copies on disk: made once, without metadata, and trimmed."""

from io import BytesIO
from pathlib import Path

from PIL import Image

from app.services import thumbnails
from catalog.store import Catalog


def test_a_small_copy_is_made_once_and_kept_in_the_catalogues_folder(studio: Path, monkeypatch) -> None:
    with Catalog.open(studio) as catalog:
        reading = catalog.piece("T-0001").readings[0]
        data = thumbnails.kept_thumbnail(catalog, reading, 96)
        (kept,) = (studio / "thumbnails").glob("??/*.webp")
        assert kept.read_bytes() == data
        with Image.open(BytesIO(data)) as image:
            assert max(image.size) == 96
            assert image.format == "WEBP"
            assert not image.getexif()
        monkeypatch.setattr(thumbnails, "_small", None)  # it would fail if it were made again
        assert thumbnails.kept_thumbnail(catalog, reading, 96) == data


def test_where_nothing_can_be_written_the_picture_comes_all_the_same(studio: Path) -> None:
    (studio / "thumbnails").write_text("in the way", encoding="utf-8")
    with Catalog.open(studio) as catalog:
        assert thumbnails.kept_thumbnail(catalog, catalog.piece("T-0002").readings[0], 64)


def test_the_oldest_small_copies_go_when_there_are_too_many(tmp_path: Path) -> None:
    import os

    for n in range(10):
        path = tmp_path / "ab" / f"{n}.webp"
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(b"x" * 1000)
        os.utime(path, (n, n))
    assert thumbnails.trim(tmp_path, 10_000) == 0
    assert thumbnails.trim(tmp_path, 9_999) == 3
    assert sorted(int(p.stem) for p in tmp_path.glob("ab/*.webp")) == list(range(3, 10))
