"""File photos until the time is up; say each on stdout. A program of its own.

Arguments: the catalogue's folder ("-" for the one that the environment names), a word, how many seconds.
"""

import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "catalog"))
from filing_loop import TILES, tile

from catalog.errors import CatalogLockedError
from catalog.records import PieceDraft
from catalog.store import Catalog
from vision.reading import Calibration, CalibrationKind, PhotoReading


def main():
    home, word, seconds = sys.argv[1], sys.argv[2], float(sys.argv[3])
    with Catalog.open(None if home == "-" else home) as catalog:
        until = time.monotonic() + seconds
        n = 0
        while time.monotonic() < until:
            name = f"{word}-{n}"
            tiles = tuple(tile(i) for i in range(TILES))
            reading = PhotoReading(name, None, Calibration(CalibrationKind.CARD), tiles)
            start = time.monotonic()
            try:
                catalog.file_photo(os.urandom(20_000), reading, [PieceDraft(i) for i in range(TILES)])
            except CatalogLockedError:
                print("locked", name, flush=True)
                continue
            print("filed", name, round(time.monotonic() - start, 3), flush=True)
            n += 1


if __name__ == "__main__":
    main()
