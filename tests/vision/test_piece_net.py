"""What the piece net makes of drawn photos, and how its answer is brought into a view."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.synthetic import DrawnTile, Scene, draw_photo
from vision.masks import part_surface
from vision.outline import polygon_area, polygon_mask, refine_quad
from vision.parts import find_parts
from vision.piece_net import PieceMap, in_view, levelled, look_closer, map_pieces
from vision.settings import TileSettings
from vision.settle import settle_sides

SETTINGS = TileSettings()
TILE = DrawnTile(120.0, 75.0, turn_deg=8.0)
BASE = Scene(tiles=(TILE,), rows=600, cols=800, mm_per_px=0.3, seed=3)


def test_classes_add_up_and_the_face_lies_on_the_tile():
    photo = draw_photo(BASE)
    seen = map_pieces(photo.pixels, SETTINGS)
    assert seen.chances.shape == (4, 300, 400)
    np.testing.assert_allclose(seen.chances.sum(axis=0), 1.0, atol=1e-5)
    drawn = polygon_mask((photo.corners_px[0] + 0.5) * seen.scale - 0.5, (300, 400))
    found = seen.face > 0.5
    assert (found & drawn).sum() / (found | drawn).sum() > 0.9


def test_bare_clay_is_told_from_glaze():
    photo = draw_photo(BASE)
    seen = map_pieces(photo.pixels, SETTINGS)
    corners = photo.corners_px[0]
    top, low = corners[:2].mean(axis=0), corners[2:].mean(axis=0)
    at = [tuple(np.rint((top + (low - top) * t) * seen.scale).astype(int)) for t in (0.4, 0.95)]
    glaze, clay = (float(seen.clay[y, x]) for x, y in at)
    assert glaze < 0.5 < clay


@pytest.mark.parametrize("gain", [0.5, 1.6])
def test_exposure_and_white_drop_out(gain):
    rng = np.random.default_rng(2)
    photo = rng.integers(40, 120, (40, 60, 3)).astype(np.uint8)
    brighter = np.clip(photo.astype(float) * gain * np.array([1.0, 0.9, 0.8]), 0, 255).astype(np.uint8)
    apart = np.corrcoef(levelled(photo).ravel(), levelled(brighter).ravel())[0, 1]
    assert apart > 0.98


def test_a_field_comes_into_the_view_where_opencv_warps_it():
    field = np.zeros((30, 40), np.float32)
    field[10:20, 10:30] = 1.0
    to_photo = np.array([[1.0, 0.0, 16.0], [0.0, 1.0, 24.0], [0.0, 0.0, 1.0]])
    view = in_view(field, a_map(0.25, (0.0, 0.0)), to_photo, (100, 120))
    whole = cv2.resize(field, (160, 120), interpolation=cv2.INTER_LINEAR)  # the photo is four times the map
    np.testing.assert_allclose(view[:90], whole[24:114, 16:136], atol=0.02)
    part = in_view(field[:, 4:], a_map(0.25, (16.0, 0.0)), to_photo, (100, 120))
    np.testing.assert_allclose(part[:, 8:], view[:, 8:], atol=1e-5)


def a_map(scale, corner_px):
    nothing = np.zeros((4, 30, 40), np.float32)
    return PieceMap(nothing, nothing[:2], nothing[0], scale, corner_px, nothing.transpose(1, 2, 0)[..., :2])


def test_places_in_a_map_and_in_the_photo_are_each_other_s_inverse():
    seen = a_map(0.4, (300.0, 120.0))
    points = np.array([[300.0, 120.0], [417.3, 260.8]])
    np.testing.assert_allclose(seen.in_photo(seen.in_map(points)), points)
    # the middle of the map's first pixel, 2.5 photo pixels wide, by hand: 300 - 0.5 + 1.25
    np.testing.assert_allclose(seen.in_photo(np.zeros(2)), (300.75, 120.75))


def test_a_closer_look_puts_a_small_tile_s_border_nearer_the_drawn_one():
    scene = Scene(tiles=(DrawnTile(150.0, 120.0, 40.0, 70.0, turn_deg=14.0),), rows=900, cols=1200, seed=4)
    photo = draw_photo(replace(scene, mm_per_px=0.3))
    seen = map_pieces(photo.pixels, SETTINGS)
    (part,) = find_parts(seen.face, seen.clay, seen.wall, np.ones(seen.face.shape, np.bool_), SETTINGS)
    near = look_closer(photo.pixels, seen, part, SETTINGS)
    assert near.scale > 1.3 * seen.scale
    off = []
    for one in (seen, near):
        drawn = polygon_mask(one.in_map(photo.corners_px[0]), one.face.shape)
        off.append(float((drawn ^ (one.face > 0.5)).sum()) / one.scale**2)
    assert off[1] < off[0]
    assert look_closer(photo.pixels, near, near.face > 0.5, SETTINGS) is near


def test_sides_settle_on_the_drawn_edges():
    photo = draw_photo(BASE)
    seen = map_pieces(photo.pixels, SETTINGS)
    rng = np.random.default_rng(4)
    rough = photo.corners_px[0] + rng.uniform(-4, 4, (4, 2))
    found = settle_sides(photo.pixels, rough, seen, None, SETTINGS)
    assert found.miss.max() < SETTINGS.quad_miss
    reach = SETTINGS.refine_share * float(np.sqrt(polygon_area(found.corners)))
    settled, _ = refine_quad(photo.pixels, found.corners, reach, SETTINGS)
    assert np.abs(settled - photo.corners_px[0]).max() < 1.5
    assert np.abs(settled - photo.corners_px[0]).max() < np.abs(rough - photo.corners_px[0]).max()


def test_glaze_line_is_drawn_where_colours_part():
    lab = np.zeros((200, 100, 3), np.float32)
    lab[:140], lab[140:] = (40, -20, 10), (82, 3, 12)
    chance = np.zeros((200, 100), np.float32)
    chance[134:] = 1.0  # six rows too high
    piece = np.ones((200, 100), np.bool_)
    parts = part_surface(lab, piece, chance, 8.0, SETTINGS)
    assert parts.bare[142:].all()
    assert not parts.bare[:138].any()
    assert not (parts.glazed & parts.bare).any()


def test_crumbs_of_clay_are_the_nets_noise():
    lab = np.full((200, 100, 3), 50, np.float32)
    chance = np.zeros((200, 100), np.float32)
    chance[50:53, 50:53] = 0.9
    parts = part_surface(lab, np.ones((200, 100), np.bool_), chance, 3.0, SETTINGS)
    assert not parts.bare.any()
    assert parts.glazed.all()


def test_a_photo_smaller_than_the_nets_stride_is_read():
    tiny = draw_photo(replace(BASE, rows=24, cols=40, mm_per_px=6.0)).pixels
    seen = map_pieces(tiny, SETTINGS)
    assert seen.face.shape == (24, 40)
    assert np.isfinite(seen.chances).all()


def test_glaze_under_a_reflection_is_told_from_clay_by_colour():
    rng = np.random.default_rng(9)
    lab = np.zeros((240, 160, 3), np.float32)
    lab[...] = (45, -8, -20)
    lab[180:] = (68, 6, 22)
    lab += rng.normal(0, 1.2, lab.shape).astype(np.float32)
    lab[100:140, 30:130, 0] += 9  # a sheen
    chance = np.full((240, 160), 0.02, np.float32)
    chance[180:] = 0.97
    chance[110:135, 40:120] = 0.95  # taken for clay
    chance[190:220, 20:70] = 0.15  # clay taken for glaze
    parts = part_surface(lab, np.ones((240, 160), bool), chance, 3.0, SETTINGS)
    truth = np.zeros((240, 160), bool)
    truth[180:] = True
    assert (parts.bare ^ truth).mean() < 0.01
