"""Round corners: the radius drawn is the radius read, and the outline leaves out what a circle leaves out."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from vision.corners import corner_radius, rounded
from vision.outline import polygon_area
from vision.settings import TileSettings

SETTINGS = TileSettings()
WIDE, HIGH = 240.0, 360.0


def tile_photo(radius, shear=0.0):
    """Draw a tile with round corners, noisy, seen a little from aside; gives the photo and its corners."""
    box = np.array([[0, 0], [WIDE, 0], [WIDE, HIGH], [0, HIGH]])
    corners = box + np.array([80, 60]) + np.array([[0, 0], [shear, 4], [-shear, 0], [0, -5]])
    there = cv2.getPerspectiveTransform(box.astype(np.float32), corners.astype(np.float32))
    ring = []
    for cx, cy, start in ((1, 1, 180), (WIDE - 1, 1, 270), (WIDE - 1, HIGH - 1, 0), (1, HIGH - 1, 90)):
        t = np.radians(start + np.linspace(0, 90, 30))
        centre = np.array([np.clip(cx, radius, WIDE - radius), np.clip(cy, radius, HIGH - radius)])
        ring.append(centre + radius * np.stack([np.cos(t), np.sin(t)], axis=1))
    drawn = cv2.perspectiveTransform(np.concatenate(ring).reshape(1, -1, 2), there)[0]
    mask = np.zeros((500, 420), np.uint8)
    cv2.fillPoly(mask, [np.rint(drawn * 16).astype(np.int32)], 255, cv2.LINE_AA, shift=4)
    cover = cv2.GaussianBlur(mask.astype(np.float32) / 255, (0, 0), 0.8)[..., None]
    noise = np.random.default_rng(2).normal(0, 3, (500, 420, 3))
    photo = (1 - cover) * (150, 120, 90) + cover * (60, 90, 110) + noise
    return np.clip(photo, 0, 255).astype(np.uint8), corners


@pytest.mark.parametrize("radius", [20.0, 32.0, 44.0])
@pytest.mark.parametrize("shear", [0.0, 12.0])
def test_the_radius_drawn_is_the_radius_read(radius, shear):
    photo, corners = tile_photo(radius, shear)
    assert corner_radius(photo, corners, SETTINGS) == pytest.approx(radius, rel=0.2)


@pytest.mark.parametrize("radius", [0.5, 4.0])
def test_sharp_corners_stay_corners(radius):
    photo, corners = tile_photo(radius)
    assert corner_radius(photo, corners, SETTINGS) == 0.0
    assert rounded(corners, 0.0) is corners


def test_a_round_corner_leaves_out_what_a_circle_leaves_out_of_its_square():
    corners = np.array([[10, 20], [250, 20], [250, 380], [10, 380]], dtype=np.float64)
    outline = rounded(corners, 40.0)
    missing = polygon_area(corners) - polygon_area(outline)
    assert missing == pytest.approx((4 - np.pi) * 40.0**2, rel=0.02)
    assert cv2.isContourConvex(outline.astype(np.float32))
