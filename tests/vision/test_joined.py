"""Two tiles whose faces run into each other are cut apart; one tile never is."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from vision.joined import cut_joined
from vision.outline import polygon_mask
from vision.settings import TileSettings

SETTINGS = TileSettings()
LEFT = np.array([[40, 60], [95, 56], [104, 160], [48, 164]], dtype=np.float64)
RIGHT = np.array([[101, 62], [160, 62], [160, 160], [104, 160]], dtype=np.float64)


def chance_of(*polygons):
    """Give the chance of a face where polygons are, soft at their borders as the net's is."""
    drawn = np.zeros((220, 220), np.float32)
    for polygon in polygons:
        drawn = np.maximum(drawn, polygon_mask(polygon, drawn.shape))
    return cv2.GaussianBlur(drawn, (0, 0), 1.8)


def parts_of(face, loose=0.25):
    part = np.asarray(face > loose, np.bool_)
    assert cv2.connectedComponents(part.astype(np.uint8), connectivity=4)[0] == 2  # the ground and one part
    return cut_joined(part, face, SETTINGS)


@pytest.mark.parametrize("turn", range(4))
def test_two_tiles_with_a_narrow_wedge_between_them_are_two(turn):
    face = np.ascontiguousarray(np.rot90(chance_of(LEFT, RIGHT + np.array([1.5, 0.0])), turn))
    halves = parts_of(face, 0.1)
    assert len(halves) == 2
    for polygon in (LEFT, RIGHT):
        true = np.rot90(polygon_mask(polygon, (220, 220)), turn)
        overlap = max(float((half & true).sum() / (half | true).sum()) for half in halves)
        print(f"overlap {overlap:.3f}")
        assert overlap > 0.85  # the parts have the blurred border along


def test_a_tile_of_l_shape_stays_whole():
    shape = np.array([[40, 40], [90, 40], [90, 110], [160, 110], [160, 160], [40, 160]], dtype=np.float64)
    assert len(parts_of(chance_of(shape))) == 1


def test_a_tile_with_a_dent_stays_whole():
    shape = np.array([[40, 40], [90, 40], [97, 60], [104, 40], [160, 40], [160, 160], [40, 160]], np.float64)
    assert len(parts_of(chance_of(shape))) == 1


def test_a_tiles_own_unsure_glaze_line_does_not_cut_it():
    face = chance_of(np.array([[60, 40], [140, 40], [140, 180], [60, 180]], dtype=np.float64))
    face[108:112, 60:140] *= 0.45
    assert len(parts_of(face)) == 1
