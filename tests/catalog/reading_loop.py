"""Reads and files what is in line, with readings made up in an instant. A program of its own, run by tests.

Argument: the catalogue's folder. Each photo's bytes begin with its number; it bears the labels of two tiles.
It says "ready", then "one more" after each photo, so that a test on a busy computer knows when to kill it.
"""

import hashlib
import sys
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from filing_loop import tile

from app.services.reading import ReadItem
from app.services.unload_reading import only_reader, read_line
from catalog.store import Catalog
from vision.reading import Calibration, CalibrationKind, PhotoReading


def made_up(photo, data, catalog):
    number = int(data[:6])
    tiles = tuple(replace(tile(i), label=f"T-{1000 + 2 * number + i}") for i in range(2))
    reading = PhotoReading(
        photo.name, hashlib.sha256(data).hexdigest(), Calibration(CalibrationKind.CARD), tiles
    )
    return ReadItem(
        photo.name, reading.sha256, data, reading, None, b"p" + data, {0: b"0" + data, 1: b"1" + data}
    )


def main():
    with Catalog.open(sys.argv[1]) as catalog, only_reader(catalog.home, wait_s=60) as free:
        assert free
        print("ready", flush=True)
        read_line(catalog, read=made_up, after=lambda _: print("one more", flush=True))


if __name__ == "__main__":
    main()
