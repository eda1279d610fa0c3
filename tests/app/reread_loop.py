"""Reads an archive again with readings made up in a moment. A program of its own, killed by tests.

Arguments: the catalogue's folder, how many processes read.
"""

import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "catalog"))
from filing_loop import tile

from app.services.reading import ReadItem
from app.services.rereading import ReadAgain, reread
from catalog.rereading import outdated_photos
from catalog.store import Catalog
from vision.reading import Calibration, CalibrationKind, PhotoReading


def made_up(task):
    time.sleep(0.02)
    photo = task.photo
    tiles = tuple(replace(tile(i), outline_px=old.outline_px) for i, old in enumerate(photo.tiles))
    reading = PhotoReading(photo.name, photo.sha256, Calibration(CalibrationKind.CARD), tiles)
    views = {i: task.data + bytes([i]) for i in range(len(tiles))}
    places = {i: old.reading_id for i, old in enumerate(photo.tiles)}
    return ReadAgain(photo, ReadItem(photo.name, photo.sha256, b"", reading, views=views), places)


def main():
    with Catalog.open(sys.argv[1]) as catalog:
        for step in reread(catalog, outdated_photos(catalog), jobs=int(sys.argv[2]), read=made_up):
            assert step.trouble is None, step.trouble
            print(step.photo.name, flush=True)


if __name__ == "__main__":
    main()
