"""The whole read on drawn photos: what is claimed must be true, and nothing else may be claimed."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image
from skimage.color import deltaE_ciede2000

from tests.synthetic import DrawnTile, Scene, Spot, draw_photo, polygon_iou
from vision.card_layout import A6
from vision.photo import decode_photo
from vision.pipeline import read_file, read_photo
from vision.reading import CalibrationKind, Flag, Subject
from vision.reading_json import reading_to_dict, tile_from_dict, tile_to_dict
from vision.settings import Settings, TileSettings

FLAT = Settings(tiles=TileSettings(assumed_thickness_mm=0.0))
"""Drawn tiles are flat."""
GLAZE, BODY = (55.0, -12.0, -18.0), (80.0, 3.0, 14.0)
SPOTS = tuple(Spot(8.0 + 8 * (i % 5), 10.0 + 14 * (i // 5), 2.4) for i in range(20))
SCENE = Scene(
    tiles=(DrawnTile(205.0, 70.0, 48.0, 80.0, -5.0, GLAZE, BODY, 14.0, label="T-0042"),),
    rows=900,
    cols=1300,
    mm_per_px=0.19,
    table="slate",
    card=A6,
    tilt_deg=8.0,
    noise_sd=1.0,
)


def as_photo(pixels, name="drawn.png"):
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "PNG")
    return decode_photo(file.getvalue(), name)


def read(scene, **options):
    drawn = draw_photo(scene)
    return drawn, read_photo(as_photo(drawn.pixels), settings=FLAT, **options)


@pytest.fixture(scope="module")
def with_card():
    return read(SCENE)


@pytest.fixture(scope="module")
def without_card():
    return read(replace(SCENE, card=None))


def test_sizes_label_and_outline(with_card):
    drawn, result = with_card
    reading = result.reading
    assert len(reading.tiles) == 1
    tile = reading.tiles[0]
    assert tile.subject is Subject.TILE
    assert tile.label == "T-0042"
    assert tile.width_mm == pytest.approx(48.0, rel=0.02)
    assert tile.height_mm == pytest.approx(80.0, rel=0.02)
    assert reading.calibration.kind is CalibrationKind.CARD
    assert reading.calibration.mm_per_px == pytest.approx(SCENE.mm_per_px, rel=0.1)
    assert polygon_iou(np.array(tile.outline_px), drawn.corners_px[0], drawn.pixels.shape[:2]) >= 0.97


def test_colours_and_areas(with_card):
    tile = with_card[1].reading.tiles[0]
    assert float(deltaE_ciede2000(np.array(tile.glaze.lab.as_tuple()), np.array(GLAZE))) < 2.0
    assert float(deltaE_ciede2000(np.array(tile.body.lab.as_tuple()), np.array(BODY))) < 2.5
    assert tile.glaze.area_cm2 == pytest.approx(48.0 * 66.0 / 100, rel=0.05)
    assert tile.body.area_cm2 == pytest.approx(48.0 * 14.0 / 100, rel=0.1)


@pytest.mark.parametrize(
    ("light", "exposure"), [((1.0, 1.0, 1.0), 0.6), ((1.15, 1.0, 0.75), 0.85), ((0.85, 1.0, 1.2), 0.8)]
)
def test_the_card_takes_away_light_and_exposure(light, exposure):
    _, result = read(replace(SCENE, light_rgb=light, exposure=exposure))
    tile = result.reading.tiles[0]
    assert float(deltaE_ciede2000(np.array(tile.glaze.lab.as_tuple()), np.array(GLAZE))) < 3.0


def test_spots_are_found_where_they_were_drawn():
    _, result = read(replace(SCENE, tiles=(replace(SCENE.tiles[0], spots=SPOTS),), mm_per_px=0.16, cols=1500))
    view = result.views[0]
    tile = result.reading.tiles[0]
    truth = np.array([[s.x_mm, s.y_mm] for s in SPOTS])
    found = np.array([[m.x_mm, m.y_mm] for m in tile.marks])
    assert len(found) > 0
    gaps = np.hypot(*(truth[:, None] - found[None]).transpose(2, 0, 1))
    print("spots found:", int((gaps.min(axis=1) < 0.8).sum()), "of", len(SPOTS), "marks called:", len(found))
    assert (gaps.min(axis=1) < 0.8).mean() >= 0.9
    assert view.image.shape[:2] == view.glazed.shape


def test_without_a_card_no_millimetre_and_no_calibrated_colour(without_card):
    result = without_card[1]
    reading = result.reading
    data = reading_to_dict(reading)
    assert reading.calibration.kind is CalibrationKind.NONE
    assert {Flag.NO_CARD, Flag.NO_SCALE, Flag.COLOUR_UNCORRECTED} <= set(reading.flags)
    for tile in data["tiles"]:
        assert tile["width_mm"] is None
        assert tile["height_mm"] is None
        assert tile["glaze"]["area_cm2"] is None
        assert set(tile["density_per_cm2"].values()) == {None}
        assert tile["crazing"]["length_mm_per_cm2"] is None
        assert all(m["x_mm"] is None and m["diameter_mm"] is None for m in tile["marks"])
        assert min(tile["glaze"]["lab_sd"]) >= 4.0


def test_json_is_plain_and_comes_back(with_card):
    reading = with_card[1].reading
    text = json.dumps(reading_to_dict(reading), allow_nan=False)
    assert json.loads(text)["tiles"][0]["label"] == "T-0042"
    for tile in reading.tiles:
        assert tile_to_dict(tile_from_dict(tile_to_dict(tile))) == tile_to_dict(tile)


def test_views_and_masks_agree(with_card):
    view = with_card[1].views[0]
    assert view.image.dtype == np.uint8
    for mask in (view.glazed, view.bare, view.glint, view.crazing, view.crawling):
        assert mask.shape == view.image.shape[:2]
        assert mask.dtype == np.bool_
    assert not (view.glazed & view.bare).any()
    assert view.bare.mean() == pytest.approx(14.0 / 80.0, abs=0.03)


@pytest.mark.parametrize("turn", [1, 2, 3])
def test_turning_the_photo_changes_neither_colour_nor_size(with_card, turn):
    drawn, result = with_card
    turned = read_photo(as_photo(np.ascontiguousarray(np.rot90(drawn.pixels, turn))), settings=FLAT)
    one, other = result.reading.tiles[0], turned.reading.tiles[0]
    sizes = sorted([one.width_mm, one.height_mm]), sorted([other.width_mm, other.height_mm])
    assert sizes[1] == pytest.approx(sizes[0], rel=0.01)
    assert np.abs(np.array(one.glaze.lab.as_tuple()) - np.array(other.glaze.lab.as_tuple())).max() < 0.5
    assert other.label == "T-0042"


def test_half_the_size_keeps_millimetres_and_colour(with_card):
    drawn, result = with_card
    half = cv2.resize(drawn.pixels, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    small = read_photo(as_photo(half), settings=FLAT).reading.tiles[0]
    tile = result.reading.tiles[0]
    assert small.width_mm == pytest.approx(tile.width_mm, rel=0.02)
    assert np.abs(np.array(small.glaze.lab.as_tuple()) - np.array(tile.glaze.lab.as_tuple())).max() < 1.0
    assert small.smallest_mark_mm > tile.smallest_mark_mm * 1.3


def test_blur_is_flagged_and_the_smallest_mark_grows(with_card):
    _, blurred = read(replace(SCENE, blur_px=3.0))
    tile = blurred.reading.tiles[0]
    assert Flag.BLURRED in tile.flags
    assert tile.smallest_mark_mm > 2 * with_card[1].reading.tiles[0].smallest_mark_mm


def test_dark_photo_is_flagged():
    _, dark = read(replace(SCENE, exposure=0.02, noise_sd=0.5))
    assert Flag.TOO_DARK in dark.reading.flags


def test_empty_table_with_card_has_nothing_and_says_so():
    _, result = read(replace(SCENE, tiles=()))
    assert result.reading.tiles == ()
    assert result.views == ()
    assert Flag.NOTHING_FOUND in result.reading.flags


def test_the_persons_word_on_the_subject_wins(without_card):
    photo = as_photo(without_card[0].pixels)
    for subject in Subject:
        result = read_photo(photo, subject=subject)
        assert {t.subject for t in result.reading.tiles} == {subject}
        assert all(Flag.SUBJECT_GUESSED not in t.flags for t in result.reading.tiles)


def test_read_file_is_the_same_read(tmp_path, with_card):
    path = tmp_path / "drawn.png"
    Image.fromarray(with_card[0].pixels).save(path)
    assert read_file(path).reading.tiles[0].label == "T-0042"
