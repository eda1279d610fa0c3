"""A thick tile seen from aside: its face ends at its own edge, not where its foot or its shadow ends."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from vision.outline import fit_quad, refine_quad
from vision.piece_net import PieceMap, map_pieces
from vision.settings import TileSettings
from vision.settle import foot_shift, moved_out, settle_sides
from vision.sides import FEATURE_NAMES, side_lines

SETTINGS = TileSettings()
FACE = np.array([[250, 150], [490, 160], [485, 500], [245, 490]], dtype=np.float64)
SHIFT = np.array([4.0, 17.0])


def thick_photo():
    """Draw a glazed face, its wall below it, and a soft shadow beside that."""
    rng = np.random.default_rng(6)
    photo = np.full((640, 760, 3), (176, 158, 132), np.float64)
    shade = np.zeros(photo.shape[:2], np.uint8)
    hull = cv2.convexHull(np.vstack([FACE, FACE + SHIFT * 1.9]).astype(np.float32))
    cv2.fillPoly(shade, [np.rint(hull).astype(np.int32)], 255)
    photo *= 1 - 0.45 * cv2.GaussianBlur(shade, (0, 0), 5)[..., None] / 255
    wall = cv2.convexHull(np.vstack([FACE, FACE + SHIFT]).astype(np.float32))
    cv2.fillPoly(photo, [np.rint(wall).astype(np.int32)], (92, 74, 60))
    cv2.fillPoly(photo, [np.rint(FACE).astype(np.int32)], (70, 105, 128))
    photo = cv2.GaussianBlur(photo, (0, 0), 0.9) + rng.normal(0, 3, photo.shape)
    return np.clip(photo, 0, 255).astype(np.uint8)


def seen_as(photo, shown):
    """Give a map in which the net takes the `shown` polygon for the face: to see what the edges alone do."""
    face = np.zeros(photo.shape[:2], np.uint8)
    cv2.fillPoly(face, [np.rint(shown).astype(np.int32)], 255)
    small = cv2.resize(face, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA).astype(np.float32) / 255
    small = np.clip(cv2.GaussianBlur(small, (0, 0), 1.5), 0.01, 0.99)
    chances = np.stack([1 - small, small, 0 * small, 0 * small])
    return PieceMap(chances, chances[:2], small, 0.5, (0.0, 0.0), np.zeros((*small.shape, 2), np.float32))


def test_the_face_ends_at_its_own_edge_though_the_net_takes_the_wall_along():
    photo = thick_photo()
    with_wall = cv2.convexHull(np.vstack([FACE, FACE + SHIFT]).astype(np.float32))[:, 0]
    seen = seen_as(photo, with_wall)
    corners, _, _ = fit_quad(seen.face > 0.5)
    start = seen.in_photo(corners)
    foot = np.array([[1, 0, SHIFT[0]], [0, 1, SHIFT[1]], [0, 0, 1.0]])
    settled = settle_sides(photo, start, seen, foot, SETTINGS).corners
    settled, _ = refine_quad(photo, settled, 2.5, SETTINGS)
    off = np.abs(settled - FACE).max()
    print(f"from {np.abs(start - FACE).max():.1f} px to {off:.1f} px")
    assert np.abs(start - FACE).max() > 12
    assert off < 3


def test_the_net_itself_and_the_edges_agree_on_a_thick_tile():
    photo = thick_photo()
    seen = map_pieces(photo, SETTINGS)
    settled = settle_sides(photo, FACE + 3.0, seen, None, SETTINGS)
    assert np.abs(settled.corners - FACE).max() < 6
    assert settled.miss.max() < 0.2


def test_lines_have_the_features_the_model_was_fitted_on():
    photo = thick_photo()
    found = side_lines(photo, FACE[2], FACE[3], 290.0, seen_as(photo, FACE), 17.0, SETTINGS)
    assert found.features.shape == (len(found.ends), len(FEATURE_NAMES))
    assert np.isfinite(found.features).all()


def test_the_foot_shows_beyond_the_side_that_faces_the_camera():
    foot = np.array([[1, 0, 0], [0, 1, 9.0], [0, 0, 1.0]])
    assert foot_shift(foot, FACE[2], FACE[3]) == pytest.approx(9, abs=0.1)
    assert foot_shift(foot, FACE[0], FACE[1]) == pytest.approx(-9, abs=0.1)
    assert foot_shift(None, FACE[0], FACE[1]) is None


def test_a_labels_edge_is_no_tiles():
    photo = thick_photo()
    label = np.array([[250, 540], [470, 540], [470, 600], [250, 600]], dtype=np.float64)
    cv2.fillPoly(photo, [label.astype(np.int32)], (250, 250, 250))
    upto = np.array([FACE[0], FACE[1], [484, 539], [244, 539]])
    seen = seen_as(photo, upto)
    plain = settle_sides(photo, upto, seen, None, SETTINGS).corners
    told = settle_sides(photo, upto, seen, None, SETTINGS, [label]).corners
    low, low_told = plain[2:, 1].max(), told[2:, 1].max()
    print(f"the label begins at 540; the side lies at {low:.0f}, with the label known at {low_told:.0f}")
    assert low_told < 535 < low


@pytest.mark.parametrize("short", [40.0, -40.0], ids=["left out by the net", "taken along by the net"])
def test_a_side_far_off_is_found_again(short):
    photo = thick_photo()
    shown = FACE.copy()
    shown[:2, 1] += short
    sure, other = seen_as(photo, shown), seen_as(photo, FACE)
    chances = 0.5 * sure.chances + 0.5 * other.chances  # the net cannot tell
    seen = replace(sure, chances=chances.astype(np.float32))
    settled = settle_sides(photo, shown, seen, None, SETTINGS)
    off = np.abs(settled.corners[:2] - FACE[:2]).max()
    print(f"{abs(short):.0f} px off, then {off:.1f} px; misses {settled.miss.round(3)}")
    assert off < 4


def test_a_side_is_moved_out_along_its_own_normal():
    square = np.array([[0, 0], [10, 0], [10, 20], [0, 20]], dtype=np.float64)
    moved = moved_out(square, np.array([1.0, 0.0, -2.0, 3.0]))
    np.testing.assert_allclose(moved, [[-3, -1], [10, -1], [10, 18], [-3, 18]])  # by hand


def test_how_far_beyond_its_edge_a_side_is_put_has_a_bound():
    photo = thick_photo()
    settled = settle_sides(photo, FACE, seen_as(photo, FACE), None, SETTINGS)
    most = max(map(abs, SETTINGS.beyond_between)) * 290
    assert np.abs(settled.beyond_px).max() <= most
