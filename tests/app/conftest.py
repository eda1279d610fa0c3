"""A catalogue for each test, empty or with a few made-up pieces; nothing is read from photos here."""

import hashlib
import os
import random
from collections.abc import Iterator
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
import streamlit as st
from PIL import Image, ImageDraw
from streamlit import config

from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment
from catalog.store import Catalog
from vision.reading import (
    BodyColour,
    Calibration,
    CalibrationKind,
    Crawling,
    Crazing,
    FaultCall,
    Finish,
    Flag,
    GlazeColour,
    Gloss,
    Lab,
    Mark,
    MarkKind,
    PaletteEntry,
    PhotoReading,
    Subject,
    TileReading,
)

config.set_option("server.address", "127.0.0.1")  # as glostbook open does; else the app asks who is there

BLUE, BROWN, WHITE = Lab(38.0, -2.0, -22.0), Lab(27.0, 13.0, 15.0), Lab(89.0, 0.0, 5.0)
SIZE = (300, 560)


def jpeg(colour: tuple[int, int, int], size: tuple[int, int] = SIZE, seed: int = 0, dots: int = 0) -> bytes:
    """A plain picture with some dark dots, each seed another file."""
    image = Image.new("RGB", size, colour)
    draw = ImageDraw.Draw(image)
    rng = random.Random(seed)
    for _ in range(dots):
        x, y = rng.uniform(30, size[0] - 30), rng.uniform(30, size[1] - 30)
        draw.ellipse((x - 5, y - 5, x + 5, y + 5), fill=(20, 15, 12))
    draw.point((seed % size[0], 0), fill=(255, 0, 0))
    out = BytesIO()
    image.save(out, format="JPEG")
    return out.getvalue()


def tile(lab: Lab, *, blisters: int = 0, crazed: bool = False, finish: Finish = Finish.GLOSS) -> TileReading:
    """A made-up reading of one tile, 50 by 93 mm."""
    rng = random.Random(round(lab.lightness) + blisters)
    marks = tuple(
        Mark(MarkKind.BLISTER, x, y, 12.0, 0.9, x / 6, y / 6, 2.0)
        for x, y in [(rng.uniform(30, 270), rng.uniform(30, 530)) for _ in range(blisters)]
    )
    faults = [FaultCall("blistered", 0.95)] if blisters else []
    faults += [FaultCall("crazed", 0.9)] if crazed else []
    return TileReading(
        subject=Subject.TILE,
        outline_px=((10, 10), (290, 10), (290, 540), (10, 540)),
        glaze=GlazeColour(
            lab, (1.1, 0.6, 0.7), (PaletteEntry(lab, 0.8), PaletteEntry(Lab(20.0, 2.0, 3.0), 0.2)), 39.0
        ),
        body=BodyColour(Lab(36.0, 9.0, 12.0), 4.0),
        gloss=Gloss(0.6, finish, 0.85),
        marks=marks,
        density_per_cm2={"pinhole": 0.0, "blister": blisters / 39.0, "crater": 0.0, "speck": 0.0},
        crazing=Crazing(crazed, 0.9 if crazed else 0.05, 12.0 if crazed else 0.0, 5.0 if crazed else None),
        crawling=Crawling(False, 0.02, 0.0, 0),
        faults=tuple(faults),
        width_mm=50.0,
        height_mm=93.0,
        view_mm_per_px=1 / 6,
        smallest_mark_mm=0.5,
        flags=(Flag.PINHOLES_NOT_ASSESSABLE,),
    )


def fill(catalog: Catalog) -> None:
    """Two clays, three glazes, two loads; six pieces, one load gone over and its brown tiles blistered."""
    white = catalog.add_body("White stoneware", "stoneware", rated_cone="6")
    dark = catalog.add_body("Dark stoneware", "dark_stoneware", rated_cone="5")
    names = {
        "Slate blue": [("potash feldspar", 44.0), ("whiting", 18.0), ("kaolin", 10.0), ("quartz", 28.0)],
        "Bracken": [("potash feldspar", 44.0), ("whiting", 23.0), ("quartz", 23.0), ("kaolin", 10.0)],
        "Shell white": [("potash feldspar", 46.0), ("whiting", 20.0), ("kaolin", 24.0), ("quartz", 10.0)],
    }
    glaze = {
        name: catalog.add_recipe(
            name, [RecipeLine(m, a) for m, a in lines], cone_low="5", cone_high="6", notes="made up"
        )
        for name, lines in names.items()
    }
    plan = (Segment(80, 120, 30), Segment(150, 1100), Segment(70, 1215, 10))
    usual = catalog.add_load(
        "Glaze firing 21 September",
        kiln="Small electric kiln",
        fired_on=date(2026, 9, 21),
        cone_aimed="6",
        cones=[ConeResult("top", "6"), ConeResult("middle", "6"), ConeResult("bottom", "5.5")],
        atmosphere="oxidation",
        schedule=plan,
    )
    over = catalog.add_load(
        "Glaze firing 19 October",
        kiln="Small electric kiln",
        fired_on=date(2026, 10, 19),
        cone_aimed="6",
        cones=[ConeResult("top", "8"), ConeResult("middle", "7"), ConeResult("bottom", "7")],
        schedule=plan,
    )
    pieces = [
        ("T-0001", "Slate blue", white, usual, tile(BLUE), (84, 90, 122), "middle"),
        ("T-0002", "Slate blue", dark, usual, tile(Lab(33.0, -1.0, -16.0)), (70, 76, 100), "middle"),
        ("T-0003", "Shell white", white, usual, tile(WHITE, finish=Finish.MATT), (226, 223, 213), "bottom"),
        ("T-0004", "Shell white", dark, over, tile(Lab(86.0, 1.0, 6.0), crazed=True), (216, 213, 205), "top"),
        ("T-0005", "Bracken", dark, over, tile(BROWN, blisters=18), (86, 56, 42), "top"),
        ("T-0006", "Bracken", dark, over, tile(BROWN, blisters=36), (80, 52, 40), "top"),
    ]
    for number, (code, name, body, load, read, rgb, shelf) in enumerate(pieces):
        data = jpeg(rgb, seed=number, dots=len(read.marks))
        reading = PhotoReading(
            f"photo-{number}.jpg",
            hashlib.sha256(data).hexdigest(),
            Calibration(CalibrationKind.CARD, 1 / 6, 1.3),
            (read,),
        )
        draft = PieceDraft(
            0,
            code,
            "tile",
            body.id,
            (Layer(glaze[name].id, name, 2 + number % 2, "dip", 0.5 + 0.2 * (number % 3)),),
            shelf,
        )
        catalog.file_photo(data, reading, [draft], load.id, {0: jpeg(rgb, seed=number, dots=len(read.marks))})


@pytest.fixture(autouse=True)
def fresh_caches() -> Iterator[None]:
    """Caches are shared by the whole process (streamlit#9139)."""
    st.cache_data.clear()
    st.cache_resource.clear()
    yield
    st.cache_data.clear()
    st.cache_resource.clear()


@pytest.fixture
def empty_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """GLOSTBOOK_HOME names a folder with nothing in it."""
    monkeypatch.setenv("GLOSTBOOK_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("GLOSTBOOK_DATABASE_URL", raising=False)
    return tmp_path / "home"


@pytest.fixture(scope="session")
def filled_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One filled catalogue, copied for each test that wants it."""
    home = tmp_path_factory.mktemp("studio") / "home"
    with Catalog.open(home) as catalog:
        fill(catalog)
    return home


@pytest.fixture
def studio(filled_once: Path, empty_home: Path) -> Path:
    """GLOSTBOOK_HOME names a folder with six made-up pieces."""
    import shutil

    shutil.copytree(filled_once, empty_home)
    os.environ["GLOSTBOOK_HOME"] = str(empty_home)
    return empty_home


@pytest.fixture(scope="session")
def photos(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of drawn photos: two labelled blue tiles with the card, a brown one without, a text file.

    Drawn by tests.synthetic; colours in CIELAB are those asked for there.
    """
    from tests.synthetic import DrawnTile, Scene, Spot, draw_photo
    from vision.card_layout import A6

    folder = tmp_path_factory.mktemp("photos")
    spots = tuple(Spot(8.0 + 6 * (i % 6), 8.0 + 9 * (i // 6), 2.0) for i in range(30))
    scenes = {
        "blue.jpg": Scene(
            rows=1200,
            cols=1800,
            mm_per_px=0.16,
            card=A6,
            tiles=(
                DrawnTile(190, 75, glaze_lab=(38, -2, -22), label="T-0101"),
                DrawnTile(250, 75, glaze_lab=(33, -1, -18), body_lab=(36, 9, 12), label="T-0102"),
            ),
        ),
        "brown.jpg": Scene(tiles=(DrawnTile(140, 100, glaze_lab=(27, 13, 15), spots=spots),), seed=5),
    }
    for name, scene in scenes.items():
        Image.fromarray(draw_photo(scene).pixels).save(folder / name, quality=92)
    (folder / "notes.jpg").write_text("Glaze the inside first and wait.")
    return folder
