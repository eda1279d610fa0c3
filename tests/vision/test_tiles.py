"""Drawn tiles with known corners are found, outlined, measured and read in order."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.synthetic import DrawnTile, Scene, draw_photo, polygon_iou
from vision.card import find_card
from vision.card_layout import A6
from vision.outline import order_corners
from vision.reading import Subject
from vision.settings import Settings, TileSettings
from vision.tiles import find_pieces
from vision.view import straighten

SETTINGS = Settings(tiles=TileSettings(assumed_thickness_mm=0.0))  # drawn tiles are flat
ONE = DrawnTile(120.0, 75.0, turn_deg=8.0)
BASE = Scene(tiles=(ONE,), rows=600, cols=800, mm_per_px=0.3, seed=3)


def find(pixels, keep_out=(), subject=None):
    return find_pieces(pixels, list(keep_out), flat=True, subject=subject, settings=SETTINGS.tiles)


@pytest.mark.parametrize("table", ["wood", "slate", "cloth", "newsprint", "paper"])
@pytest.mark.parametrize("tilt_deg", [0.0, 20.0])
def test_outline_lies_on_the_drawn_tile(table, tilt_deg):
    photo = draw_photo(replace(BASE, table=table, tilt_deg=tilt_deg, unevenness=0.3))
    pieces = find(photo.pixels)
    assert [p.subject for p in pieces] == [Subject.TILE]
    iou = polygon_iou(pieces[0].outline_px, photo.corners_px[0], photo.pixels.shape[:2])
    print(f"{table} tilt {tilt_deg}: IoU {iou:.4f}")
    assert iou >= 0.97


@pytest.mark.parametrize(
    "lab", [(30.0, 4.0, 5.0), (75.0, 2.0, 10.0), (45.0, 30.0, 25.0), (50.0, -25.0, 20.0)], ids=str
)
def test_any_glaze_is_told_from_wood(lab):
    photo = draw_photo(replace(BASE, tiles=(replace(ONE, glaze_lab=lab),)))
    pieces = find(photo.pixels)
    assert len(pieces) == 1
    assert polygon_iou(pieces[0].outline_px, photo.corners_px[0], photo.pixels.shape[:2]) >= 0.96


def test_card_gives_true_millimetres_and_is_no_tile():
    scene = replace(
        BASE, tiles=(DrawnTile(210.0, 110.0, 50.0, 90.0, -6.0),), rows=900, cols=1200, mm_per_px=0.22, card=A6
    )
    photo = draw_photo(replace(scene, tilt_deg=15.0))
    card = find_card(photo.pixels, SETTINGS)
    assert card is not None
    pieces = find(photo.pixels, [card.corners_px])
    assert len(pieces) == 1
    view = straighten(photo.pixels, pieces[0], card.to_mm, SETTINGS.tiles)
    assert view.width_mm == pytest.approx(50.0, rel=0.02)
    assert view.height_mm == pytest.approx(90.0, rel=0.02)
    rows, cols = view.image.shape[:2]
    assert cols * view.mm_per_px == pytest.approx(50.0, rel=0.02)
    assert rows * view.mm_per_px == pytest.approx(90.0, rel=0.02)


def test_view_has_no_scale_without_a_card():
    photo = draw_photo(BASE)
    view = straighten(photo.pixels, find(photo.pixels)[0], None, SETTINGS.tiles)
    assert (view.width_mm, view.height_mm, view.mm_per_px) == (None, None, None)


def test_twelve_tiles_come_in_reading_order():
    tiles = tuple(
        DrawnTile(
            45.0 + 70 * c,
            50.0 + 80 * r,
            45.0,
            60.0,
            glaze_lab=(30.0 + 12 * r, -20.0 + 14 * c, -20.0),
            bare_mm=8.0,
        )
        for r in range(3)
        for c in range(4)
    )
    photo = draw_photo(Scene(tiles=tiles, rows=750, cols=900, mm_per_px=0.33, table="slate", turn_deg=3.0))
    pieces = find(photo.pixels)
    assert len(pieces) == 12
    for piece, corners in zip(pieces, photo.corners_px, strict=True):
        assert polygon_iou(piece.outline_px, corners, photo.pixels.shape[:2]) >= 0.93


@pytest.mark.parametrize("gap_mm", [2.0, 4.0])
def test_tiles_laid_almost_side_by_side_are_two(gap_mm):
    tiles = tuple(DrawnTile(95.0 + k * (50.0 + gap_mm), 90.0, glaze_lab=(40.0 + 9 * k, 4, 6)) for k in (0, 1))
    photo = draw_photo(replace(BASE, tiles=tiles))
    pieces = find(photo.pixels)
    assert len(pieces) == 2
    for piece, corners in zip(pieces, photo.corners_px, strict=True):
        assert polygon_iou(piece.outline_px, corners, photo.pixels.shape[:2]) >= 0.93


def test_a_tile_that_nearly_fills_the_frame_is_no_close_up():
    tile = DrawnTile(60.0, 45.0, 100.0, 74.0, bare_mm=12.0, turn_deg=2.0)
    photo = draw_photo(replace(BASE, tiles=(tile,), mm_per_px=0.15))
    (piece,) = find_pieces(photo.pixels, [], flat=False, subject=None, settings=SETTINGS.tiles)
    assert piece.subject is Subject.TILE
    assert polygon_iou(piece.outline_px, photo.corners_px[0], photo.pixels.shape[:2]) >= 0.96


def test_straight_view_is_upright_in_the_photo():
    photo = draw_photo(replace(BASE, tiles=(replace(ONE, turn_deg=30.0),)))
    piece = find(photo.pixels)[0]
    top_left, top_right, _, low_left = piece.frame_px
    assert top_right[0] > top_left[0]
    assert low_left[1] > top_left[1]
    view = straighten(photo.pixels, piece, None, SETTINGS.tiles)
    assert view.image.shape[0] > view.image.shape[1]
    there = cv2.perspectiveTransform(np.array([[[0.0, 0.0]]]), view.to_photo)[0, 0]
    assert np.hypot(*(there - top_left)) < 2.0


@pytest.mark.parametrize("turn", [1, 2, 3])
def test_turning_the_photo_turns_the_outline(turn):
    photo = draw_photo(BASE)
    upright = find(photo.pixels)[0].outline_px
    turned = find(np.ascontiguousarray(np.rot90(photo.pixels, turn)))[0].outline_px
    rows, cols = photo.pixels.shape[:2]
    back = {
        1: lambda p: np.stack([cols - 1 - p[:, 1], p[:, 0]], axis=1),
        2: lambda p: np.stack([cols - 1 - p[:, 0], rows - 1 - p[:, 1]], axis=1),
        3: lambda p: np.stack([p[:, 1], rows - 1 - p[:, 0]], axis=1),
    }[turn](turned)
    assert np.abs(order_corners(back) - upright).max() < 2.0


def test_half_the_size_and_brighter_keep_the_outline():
    photo = draw_photo(BASE)
    upright = find(photo.pixels)[0].outline_px
    half = cv2.resize(photo.pixels, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    small = find(half)[0].outline_px
    assert np.abs(small * 2 + 0.5 - upright).max() < 3.0
    brighter = draw_photo(replace(BASE, exposure=1.35))
    assert np.abs(find(brighter.pixels)[0].outline_px - upright).max() < 2.0


def test_an_empty_table_shows_nothing_to_find():
    assert find(draw_photo(replace(BASE, tiles=(), table="newsprint")).pixels) == ()


def test_a_tile_cut_by_the_frame_is_said_to_be_cut():
    photo = draw_photo(replace(BASE, tiles=(DrawnTile(120.0, 150.0),)))
    pieces = find(photo.pixels)
    assert len(pieces) == 1
    assert pieces[0].edge_cut


def test_patch_by_demand_is_the_whole_frame():
    photo = draw_photo(BASE)
    pieces = find(photo.pixels, subject=Subject.PATCH)
    assert [p.subject for p in pieces] == [Subject.PATCH]
    assert pieces[0].outline_px.max(axis=0).tolist() == [799.0, 599.0]
