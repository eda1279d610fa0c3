"""Paper under a card or chart is filed as no tile; a white tile beside it is."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.synthetic import DrawnTile, Scene, draw_photo, polygon_iou
from vision.card import find_card
from vision.card_layout import A6
from vision.piece_net import map_pieces
from vision.settings import Settings
from vision.sheet import carries_laid, is_sheet
from vision.tiles import find_pieces

SETTINGS = Settings()
TILE = DrawnTile(245.0, 110.0, 50.0, 90.0, -6.0)
PATCH = np.array([[560, 330], [640, 360], [700, 480], [650, 530], [580, 470], [520, 500]], dtype=np.float64)
"""A ragged part of the sheet, beside the card."""


def photo_on_a_sheet(table="wood", glaze_lab=(45.0, -20.0, -20.0)):
    """Draw a card on a sheet of white paper that darkens to one side, and a tile beside it."""
    tile = replace(TILE, glaze_lab=glaze_lab)
    scene = Scene(tiles=(tile,), rows=900, cols=1200, mm_per_px=0.25, card=A6, table=table, seed=3)
    photo = draw_photo(scene)
    card = find_card(photo.pixels, SETTINGS)
    assert card is not None
    middle = card.corners_px.mean(axis=0)
    paper = np.zeros(photo.pixels.shape[:2], np.uint8)
    cv2.fillPoly(paper, [np.rint(middle + 1.35 * (card.corners_px - middle)).astype(np.int32)], 1)
    for own in (card.corners_px, photo.corners_px[0]):
        cv2.fillPoly(paper, [np.rint(own).astype(np.int32)], 0)
    falls = 1 - 0.25 * np.arange(photo.pixels.shape[1]) / photo.pixels.shape[1]
    white = np.array([228, 234, 246]) * falls[None, :, None]
    grain = np.random.default_rng(2).normal(0, 2, photo.pixels.shape)
    pixels = np.where(paper[..., None] > 0, np.clip(white + grain, 0, 255), photo.pixels).astype(np.uint8)
    return pixels, card.corners_px, photo.corners_px[0]


@pytest.mark.parametrize("table", ["wood", "slate"])
def test_a_part_of_the_sheet_that_the_net_takes_for_a_face_is_left_out(table):
    pixels, card, tile = photo_on_a_sheet(table)
    seen = map_pieces(pixels, SETTINGS.tiles)
    taken = np.zeros(seen.face.shape, np.uint8)
    cv2.fillPoly(taken, [np.rint(seen.in_map(PATCH)).astype(np.int32)], 1)
    chances = seen.chances.copy()
    chances[:, taken > 0] = np.array([0.26, 0.7, 0.02, 0.02])[:, None]  # as unsure as on photos of sheets
    unlike = np.where(taken > 0, 4.0, seen.unlike).astype(np.float32)
    seen = replace(seen, chances=chances.astype(np.float32), unlike=unlike)

    def found(keep_out):
        return find_pieces(pixels, keep_out, flat=True, subject=None, settings=SETTINGS.tiles, seen=seen)

    (piece,) = found([card])
    assert polygon_iou(piece.outline_px, tile, pixels.shape[:2]) > 0.95
    assert len(found([card + 3000.0])) > 1  # without the card there it would be filed


def test_the_sheet_itself_is_told_by_what_lies_on_it():
    _, card, tile = photo_on_a_sheet()
    middle = card.mean(axis=0)
    assert carries_laid(middle + 1.3 * (card - middle), [card], SETTINGS.tiles)
    assert not carries_laid(tile, [card], SETTINGS.tiles)
    over = tile + np.array([card[:, 0].max() - tile[:, 0].min() - 20, 0])  # its edge pushed over the card's
    assert not carries_laid(over, [card], SETTINGS.tiles)


@pytest.mark.parametrize("support", [0.7, 0.95])
def test_a_white_tile_beside_the_sheet_is_no_paper_when_it_is_surely_a_face(support):
    pixels, card, tile = photo_on_a_sheet(glaze_lab=(88.0, 0.0, 3.0))
    assert is_sheet(pixels, PATCH, support, [card], SETTINGS.tiles) == (support < 0.85)
    assert not is_sheet(pixels, tile, 0.95, [card], SETTINGS.tiles)


def test_coloured_or_dark_glaze_is_no_paper():
    for lab in [(45.0, -20.0, -20.0), (30.0, 2.0, 2.0)]:
        pixels, card, tile = photo_on_a_sheet(glaze_lab=lab)
        assert not is_sheet(pixels, tile, 0.7, [card], SETTINGS.tiles)


def test_without_anything_laid_nothing_is_a_sheet():
    pixels, _, _ = photo_on_a_sheet()
    assert not is_sheet(pixels, PATCH, 0.7, [], SETTINGS.tiles)
