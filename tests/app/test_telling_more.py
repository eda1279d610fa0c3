"""What a person tells of photos reaches the reading, stays with the piece and is used when it is read again.

The truth is drawn: a board with the card and a tile, lit from the left, then from the right.
"""

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from app.services.telling_more import MoreTold, read_with, told_of
from app.services.unload_drawing import STRIPE, draw_outline
from app.services.unload_filing import file_photo
from app.services.unload_pairs import proposed_pairs
from app.services.unload_reading import read_line
from app.words.measures import pair_words
from catalog.rereading import photo_of_reading
from catalog.store import Catalog
from catalog.unloading.records import Told
from tests.app.test_views import opened, words
from tests.synthetic import DrawnTile, Scene, Spot, draw_photo
from vision.card_layout import A6
from vision.reading import Flag

SPOTS = tuple(Spot(8.0 + 7 * (i % 6), 9.0 + 11 * (i // 6), 1.4 + 0.1 * i) for i in range(24))
TILE = DrawnTile(195.0, 65.0, 50.0, 90.0, 0.0, spots=SPOTS)
SCENE = Scene((TILE,), rows=700, cols=1240, mm_per_px=0.2, card=A6, unevenness=0.4)


def shot(scene: Scene) -> bytes:
    out = BytesIO()
    Image.fromarray(draw_photo(scene).pixels).save(out, format="JPEG", quality=92)
    return out.getvalue()


@pytest.fixture
def catalog(empty_home: Path):
    with Catalog.open(empty_home) as opened:
        yield opened


def test_a_pair_with_thickness_and_stripe_goes_from_unloading_to_the_reread_piece(catalog) -> None:
    unloading = catalog.unloadings.begin()
    told = Told(thickness_mm=9.0)
    left, _ = catalog.unloadings.take(unloading.id, shot(SCENE), "left.jpg", None, told)
    other = replace(SCENE, unevenness=-0.4, seed=2)
    right, _ = catalog.unloadings.take(unloading.id, shot(other), "right.jpg", None, told)
    assert read_line(catalog) == 2
    photos = catalog.unloadings.photos_of(unloading.id)
    ((first, second),) = proposed_pairs(photos)
    assert (first.id, second.id) == (left.id, right.id)
    catalog.unloadings.join(first.id, second.id)
    across = [(0.70, 0.48), (0.88, 0.48), (0.88, 0.52), (0.70, 0.52)]
    draw_outline(catalog, catalog.unloadings.photo(first.id), STRIPE, across)
    assert read_line(catalog) == 1
    read = catalog.unloadings.photo(first.id)
    assert read.reading is not None
    assert Flag.TWO_PHOTOS in read.reading.flags
    (tile,) = read.reading.tiles
    assert (tile.plane_height.thickness_mm, tile.plane_height.thickness_given) == (9.0, True)
    assert "flat" in pair_words(tile)  # the drawn spots are paint
    assert tile.face_colours.opacity.by_hand
    (code,) = file_photo(catalog, read, None).added
    kept = catalog.piece(code).readings[0]
    again = photo_of_reading(catalog, kept.id)
    assert (again.thickness_mm, again.beside) == (9.0, (right.sha256, "right.jpg"))
    assert len(again.stripes) == 1
    assert read_with(catalog, kept.id, thickness_mm=4.0, keep_stripes=False) is None
    now = catalog.piece(code).readings
    assert told_of(catalog, now[0].id) == MoreTold(4.0, ())
    assert now[0].tile.width_mm > tile.width_mm  # a thinner tile's face is farther from the phone, so larger
    assert now[0].tile.beside_sha256 == right.sha256
    assert sum(not reading.superseded for reading in now) == 1


def test_a_piece_asks_for_thickness_and_stripe_only_once_unfolded(studio: Path) -> None:
    app = opened("shelf")
    app.query_params["piece"] = "T-0001"
    assert not [field for field in app.run().number_input if field.label.startswith("Thickness")]
    app.session_state["tell_more"] = True  # unfolded
    app.run()
    assert not app.exception
    assert [field.label for field in app.number_input if field.label.startswith("Thickness")] == [
        "Thickness of the tiles, mm"
    ]
    next(each for each in app.toggle if each.label.startswith("Mark a dark stripe")).set_value(True).run()
    assert not app.exception
    assert "dark stripe" in words(app)
