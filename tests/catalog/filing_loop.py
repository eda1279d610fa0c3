"""Files photo after photo until stopped; says each on stdout once filed. A program of its own, run by tests.

Arguments: the catalogue's folder ("-" for the one that the environment names), a word that makes the photos
differ from others', how many.
"""

import os
import sys

from catalog.records import PieceDraft
from catalog.store import Catalog
from vision.reading import (
    Calibration,
    CalibrationKind,
    Crawling,
    Crazing,
    FaultCall,
    Finish,
    GlazeColour,
    Gloss,
    Lab,
    PaletteEntry,
    PhotoReading,
    Subject,
    TileReading,
)

TILES = 3


def tile(index: int) -> TileReading:
    x = 100.0 * index
    lab = Lab(40.0 + index, 0.0, 0.0)
    return TileReading(
        subject=Subject.TILE,
        outline_px=((x, 0.0), (x + 80, 0.0), (x + 80, 150.0), (x, 150.0)),
        glaze=GlazeColour(lab, (1.0, 1.0, 1.0), (PaletteEntry(lab, 0.6), PaletteEntry(lab, 0.4)), None),
        body=None,
        gloss=Gloss(0.5, Finish.GLOSS, 0.8),
        marks=(),
        density_per_cm2={},
        crazing=Crazing(None, None),
        crawling=Crawling(False, 0.0, 0.0, 0),
        faults=(FaultCall("blistered", 0.9),),
    )


def main() -> None:
    home, word, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
    with Catalog.open(None if home == "-" else home) as catalog:
        for n in range(count):
            name = f"{word}-{n}"
            data = name.encode() + os.urandom(200_000)
            reading = PhotoReading(
                name, None, Calibration(CalibrationKind.CARD), tuple(tile(i) for i in range(TILES))
            )
            filing = catalog.file_photo(
                data, reading, [PieceDraft(i) for i in range(TILES)], views={0: data[:1000]}
            )
            print(name, *filing.added, flush=True)


if __name__ == "__main__":
    main()
