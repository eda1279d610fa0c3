"""A fresh catalogue for each test, and made-up readings to file in it."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from catalog.records import RecipeLine
from catalog.store import Catalog
from tests.catalog.postgresql import GIVEN_A_FOLDER, SQLITE_ONLY, running
from vision.reading import (
    METHOD,
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

BLUE = (40.0, -2.0, -20.0)


def make_tile(
    index: int = 0,
    palette: tuple[tuple[tuple[float, float, float], float], ...] = ((BLUE, 1.0),),
    faults: dict[str, float] | None = None,
    finish: str | None = "gloss",
    label: str | None = None,
    subject: str = "tile",
) -> TileReading:
    """A tile 80 x 150 px, the index-th from the left."""
    x = 100.0 * index
    entries = tuple(PaletteEntry(Lab(*lab), fraction) for lab, fraction in palette)
    return TileReading(
        subject=Subject(subject),
        outline_px=((x, 0.0), (x + 80, 0.0), (x + 80, 150.0), (x, 150.0)),
        glaze=GlazeColour(entries[0].lab, (1.0, 0.5, 0.5), entries, 30.0) if entries else None,
        body=None,
        gloss=Gloss(0.5, None if finish is None else Finish(finish), 0.8),
        marks=(),
        density_per_cm2={"pinhole": 0.0, "blister": 0.0, "crater": 0.0, "speck": 0.0},
        crazing=Crazing(False, 0.1, 0.0, None),
        crawling=Crawling(False, 0.1, 0.0, 0),
        faults=tuple(FaultCall(name, p) for name, p in (faults or {}).items()),
        label=label,
    )


def make_photo(
    *tiles: TileReading,
    name: str = "photo.jpg",
    calibration: str = "card",
    method: dict[str, int] | None = None,
    sha256: str | None = None,
) -> PhotoReading:
    return PhotoReading(
        photo=name,
        sha256=sha256,
        calibration=Calibration(CalibrationKind(calibration), 0.07, 1.2),
        tiles=tiles or (make_tile(),),
        method={**METHOD, **(method or {})},
    )


@pytest.fixture(scope="session")
def tile() -> Callable[..., TileReading]:
    return make_tile


@pytest.fixture(scope="session")
def photo() -> Callable[..., PhotoReading]:
    return make_photo


ON_POSTGRESQL = os.environ.get("GLOSTBOOK_TEST_DATABASE") == "postgresql"


@pytest.fixture(scope="session", autouse=True)
def database() -> Iterator[None]:
    """Where the environment says so, each catalogue is a database of a PostgreSQL server."""
    if not ON_POSTGRESQL:
        yield
        return
    with running() as server, pytest.MonkeyPatch.context() as patch:
        patch.setattr("catalog.store.find_home", server.home)
        yield


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if ON_POSTGRESQL:
        skip = pytest.mark.skip(reason="about SQLite's file, or a program given a folder")
        for item in items:
            if item.path.stem in SQLITE_ONLY or item.name.startswith(GIVEN_A_FOLDER):
                item.add_marker(skip)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture(scope="session")
def fresh_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh catalogue, made once: making one runs all migrations."""
    place = tmp_path_factory.mktemp("fresh") / "home"
    Catalog.open(place).close()
    return place


@pytest.fixture
def catalog(home: Path, fresh_home: Path) -> Iterator[Catalog]:
    shutil.copytree(fresh_home, home)
    with Catalog.open(home) as opened:
        yield opened


@pytest.fixture
def bench(catalog):
    """Give the bench of a studio with one clay, one glaze and a bucket of it."""
    catalog.add_body("White", "stoneware", rated_cone="6")
    catalog.add_recipe(
        "Moss", [RecipeLine("potash feldspar", 60), RecipeLine("whiting", 40)], cone_low="5", cone_high="6"
    )
    catalog.bench.add_bucket("Moss", gravity=1.45)
    return catalog.bench
