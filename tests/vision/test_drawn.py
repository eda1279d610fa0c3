"""Outlines by hand: they alone are read, and those that enclose nothing are refused."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from skimage.color import deltaE_ciede2000

from tests.synthetic import DrawnTile, Scene, draw_photo
from vision.card_layout import A6
from vision.drawn import checked_outline
from vision.errors import OutlineError
from vision.photo import decode_photo
from vision.pipeline import read_photo
from vision.reading import Subject
from vision.reading_json import tile_from_dict, tile_to_dict
from vision.settings import Settings, TileSettings

GLAZE, OTHER = (55.0, -12.0, -18.0), (40.0, 25.0, 20.0)


@pytest.fixture(scope="module")
def two_tiles():
    scene = Scene(
        tiles=(
            DrawnTile(190.0, 60.0, 40.0, 60.0, 0.0, GLAZE, (80.0, 3.0, 14.0), 0.0),
            DrawnTile(190.0, 125.0, 40.0, 40.0, 0.0, OTHER, (80.0, 3.0, 14.0), 0.0),
        ),
        rows=900,
        cols=1300,
        mm_per_px=0.19,
        table="slate",
        card=A6,
    )
    drawn = draw_photo(scene)
    file = io.BytesIO()
    Image.fromarray(drawn.pixels).save(file, "PNG")
    return drawn, decode_photo(file.getvalue(), "drawn.png")


def test_only_the_outlined_part_is_read_in_true_size(two_tiles):
    drawn, photo = two_tiles
    corners = np.asarray(drawn.corners_px[0])
    half = corners.copy()
    half[2:] = (corners[[1, 0]] + corners[2:]) / 2  # the upper half of the first tile, drawn from one side
    flat = Settings(tiles=TileSettings(assumed_thickness_mm=0.0))
    (tile,) = read_photo(photo, outlines=[half[::-1].tolist()], settings=flat).reading.tiles
    assert tile.subject is Subject.TILE
    assert tile.outlined_by_hand
    assert sorted((tile.width_mm, tile.height_mm)) == pytest.approx([30.0, 40.0], rel=0.02)
    assert float(deltaE_ciede2000(np.array(tile.glaze.lab.as_tuple()), np.array(GLAZE))) < 3.0
    assert tile_from_dict(tile_to_dict(tile)).outlined_by_hand


def test_outlines_keep_their_order_and_may_have_any_corners(two_tiles):
    drawn, photo = two_tiles
    first, second = (np.asarray(c) for c in drawn.corners_px)
    six = np.insert(first, 2, [(first[1] + first[2]) / 2], axis=0)
    read = read_photo(photo, outlines=[second.tolist(), six.tolist()], subject=Subject.TILE)
    assert [len(t.outline_px) for t in read.reading.tiles] == [4, 5]
    for tile, truth in zip(read.reading.tiles, (OTHER, GLAZE), strict=True):
        assert float(deltaE_ciede2000(np.array(tile.glaze.lab.as_tuple()), np.array(truth))) < 3.0


def test_a_reading_kept_before_outlines_could_be_drawn_still_loads(two_tiles):
    data = tile_to_dict(read_photo(two_tiles[1]).reading.tiles[0])
    del data["outlined_by_hand"]
    assert not tile_from_dict(data).outlined_by_hand


@pytest.mark.parametrize(
    ("outline", "reason"),
    [
        ([(0, 0), (10, 10)], "three or more"),
        ([(0, 0), (float("nan"), 3), (9, 9)], "three or more"),
        ([(0, 0), (50, 0), (50, 400)], "leaves the photo"),
        ([(0, 0), (50, 50), (50, 0), (0, 50)], "cross"),
        ([(0, 0), (50, 0), (90, 0)], "almost nothing"),
    ],
)
def test_an_outline_of_nothing_is_refused(outline, reason):
    with pytest.raises(OutlineError, match=reason):
        checked_outline(outline, (100, 100, 3), 1)
