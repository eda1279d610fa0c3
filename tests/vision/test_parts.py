"""Parting what the piece net sees: the inside of a pot, and pots that show little else."""

import json
from pathlib import Path

import cv2
import numpy as np

from tests.synthetic import polygon_iou
from vision.outline import polygon_mask
from vision.parts import find_parts, with_insides
from vision.photo import load_photo
from vision.pipeline import read_photo
from vision.settings import TileSettings

SAMPLES = Path(__file__).resolve().parents[2] / "sample_images"
SETTINGS = TileSettings()
SHAPE = (300, 400)


def drawn(*ellipses):
    mask = np.zeros(SHAPE, np.uint8)
    for centre, axes in ellipses:
        cv2.ellipse(mask, centre, axes, 0, 0, 360, 1, -1)
    return mask > 0


def pot(rim_axes):
    """Draw a pot from the side: gives the chance of a face (outer wall and lip) and of a wall (inside)."""
    body = drawn(((200, 120), (90, rim_axes + 6)))
    body[120:230, 110:291] = True
    inside = drawn(((200, 120), (84, rim_axes)))
    return (body & ~inside).astype(np.float32) * 0.98, inside.astype(np.float32) * 0.98


def parts_of(face, wall):
    everywhere = np.ones(SHAPE, np.bool_)
    return find_parts(face, np.zeros(SHAPE, np.float32), wall, everywhere, SETTINGS)


def test_the_inside_that_a_lip_goes_round_is_no_part_of_the_outer_wall():
    face, wall = pot(30)
    (part,) = parts_of(face, wall)
    assert not part[110, 200], "the inside"
    assert part[180, 200], "the wall"
    assert (part & (face > 0.5)).sum() > 0.9 * part.sum()


def test_a_hole_that_shows_the_table_or_a_glint_is_filled():
    face, wall = pot(30)
    face[wall > 0.5], wall[:] = 0.1, 0.0
    (part,) = parts_of(face, wall)
    assert part[110, 200]


def test_a_pot_with_one_outer_wall_is_left_alone():
    face, wall = pot(30)
    parts = parts_of(face, wall)
    same = with_insides(parts, face, wall, np.ones(SHAPE, np.float32), SETTINGS)
    assert len(same) == 1
    assert np.array_equal(same[0], parts[0])


def test_a_pot_seen_from_above_is_one_part_with_its_inside():
    rim, inside = drawn(((200, 150), (110, 100))), drawn(((200, 150), (96, 86)))
    face, wall = (rim & ~inside).astype(np.float32), inside.astype(np.float32)
    crescent = face.copy()
    crescent[:150] = 0.0
    parts = [crescent > 0.5]
    (whole,) = with_insides(parts, face, wall, np.ones(SHAPE, np.float32), SETTINGS)
    assert (whole & rim).sum() > 0.98 * rim.sum()
    (part,) = with_insides(parts, face, wall, np.zeros(SHAPE, np.float32), SETTINGS)
    assert part is parts[0], "a tile has no inside"


def test_a_wall_without_any_face_makes_no_piece():
    face, wall = np.zeros(SHAPE, np.float32), drawn(((200, 150), (96, 86))).astype(np.float32)
    assert with_insides([], face, wall, np.ones(SHAPE, np.float32), SETTINGS) == []


# --- rendered sample photos, whose truth lies beside them


def outlines(name):
    truth = json.loads((SAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    photo = load_photo(SAMPLES / f"{name}.jpg")
    return truth, photo.pixels.shape[:2], read_photo(photo).reading.tiles


def test_a_tile_whose_end_looks_like_the_table_is_found_whole_by_a_closer_look():
    truth, shape, tiles = outlines("13-shell-crawl")
    for true, tile in zip(truth["tiles"], tiles, strict=True):
        assert polygon_iou(np.array(tile.outline_px), np.array(true["outline_px"]), shape) > 0.95


def test_a_mugs_outer_wall_is_outlined_without_its_inside_and_handle():
    truth, shape, (mug,) = outlines("10-bracken-mug")
    wall = polygon_mask(np.array(mug.outline_px), shape)
    marks = [mark for mark in truth["tiles"][0]["marks"] if mark["facing"] > 0.4]
    assert len(marks) > 5
    assert all(wall[round(mark["y_px"]), round(mark["x_px"])] for mark in marks)
    silhouette = polygon_mask(np.array(truth["tiles"][0]["outline_px"]), shape)
    top, low = np.flatnonzero(silhouette.any(axis=1))[[0, -1]]
    middle = round(float(np.flatnonzero(silhouette.any(axis=0)).mean()))
    inside = slice(top + round(0.06 * (low - top)), top + round(0.2 * (low - top)))
    assert not wall[inside, middle].any()
