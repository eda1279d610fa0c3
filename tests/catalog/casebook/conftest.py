"""A small studio in a fresh catalogue: two loads of one kiln, Bracken blistered where the kiln went over."""

import hashlib
import shutil
from datetime import date

import pytest

from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment
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

BRACKEN = [RecipeLine("potash feldspar", 44), RecipeLine("whiting", 23), RecipeLine("quartz", 33)]


def reading(*faults: str) -> TileReading:
    """A made-up reading of a tile with these faults, without marks."""
    lab = Lab(40.0, 2.0, 3.0)
    return TileReading(
        subject=Subject.TILE,
        outline_px=((0, 0), (80, 0), (80, 150), (0, 150)),
        glaze=GlazeColour(lab, (1, 1, 1), (PaletteEntry(lab, 1.0),), 30.0),
        body=None,
        gloss=Gloss(0.5, Finish.GLOSS, 0.8),
        marks=(),
        density_per_cm2={"pinhole": 0.0, "blister": 0.0, "crater": 0.0, "speck": 0.0},
        crazing=Crazing(False, 0.1, 0.0, None),
        crawling=Crawling(False, 0.1, 0.0, 0),
        faults=tuple(FaultCall(fault, 0.9) for fault in faults),
    )


class Shed:
    """Files made-up pieces."""

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog
        self.white = catalog.add_body("White", "stoneware", rated_cone="6", absorption_pct=1.0)
        self.glaze = catalog.add_recipe("Bracken", BRACKEN, cone_low="5", cone_high="6")
        cones = [ConeResult("top", "8"), ConeResult("middle", "7"), ConeResult("bottom", "6")]
        plan = (Segment(80, 120, 30), Segment(150, 1215, 10))
        self.loads = {
            name: catalog.add_load(
                name, kiln="Small", fired_on=day, cone_aimed="6", cones=cones, schedule=plan
            )
            for name, day in (("October", date(2026, 10, 19)), ("November", date(2026, 11, 9)))
        }

    def photograph(self, code: str, *faults: str, load: str | None = "October", **draft: object) -> None:
        data = f"{code} {faults}".encode()
        photo = PhotoReading(
            f"{code}.jpg",
            hashlib.sha256(data).hexdigest(),
            Calibration(CalibrationKind.CARD, 0.07, 1.0),
            (reading(*faults),),
        )
        self.catalog.file_photo(
            data, photo, [PieceDraft(0, code, **draft)], None if load is None else self.loads[load].id
        )

    def piece(self, code: str, *faults: str, load: str | None = "October", shelf: str = "top") -> None:
        layers = (Layer(self.glaze.id, "Bracken", 2, "dip"),)
        self.photograph(code, *faults, load=load, body_id=self.white.id, layers=layers, shelf=shelf)


@pytest.fixture(scope="session")
def shed_home(tmp_path_factory):
    place = tmp_path_factory.mktemp("shed") / "home"
    with Catalog.open(place) as catalog:
        shed = Shed(catalog)
        shed.piece("T-0001", "blistered")
        for number in range(2, 4):
            shed.piece(f"T-{number:04d}", "blistered", shelf="top")
        for number in range(4, 8):
            shed.piece(f"T-{number:04d}", shelf="bottom")
    return place


@pytest.fixture
def shed(shed_home, tmp_path):
    home = tmp_path / "home"
    shutil.copytree(shed_home, home)
    with Catalog.open(home) as catalog:
        made = Shed.__new__(Shed)
        made.catalog = catalog
        (made.white,) = catalog.bodies()
        (made.glaze,) = catalog.recipes()
        made.loads = {load.name: load for load in catalog.loads()}
        yield made
