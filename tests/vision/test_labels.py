"""QR labels are read and go to the tile they lie beside."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.synthetic import DrawnTile, Scene, draw_photo
from vision.labels import Label, find_labels, join_labels, label_strip
from vision.settings import LabelSettings

SETTINGS = LabelSettings()
TWO = Scene(
    tiles=(
        DrawnTile(70.0, 60.0, 40.0, 60.0, label="T-0042"),
        DrawnTile(170.0, 60.0, 40.0, 60.0, label="K-7310", glaze_lab=(40.0, 20.0, 20.0)),
    ),
    rows=600,
    cols=960,
    mm_per_px=0.25,
    table="slate",
)


@pytest.mark.parametrize(("tilt_deg", "turn_deg"), [(0.0, 0.0), (15.0, 12.0), (10.0, -170.0)])
def test_labels_join_their_own_tiles(tilt_deg, turn_deg):
    photo = draw_photo(replace(TWO, tilt_deg=tilt_deg, turn_deg=turn_deg))
    labels = find_labels(photo.pixels, SETTINGS)
    assert sorted(label.text for label in labels) == ["K-7310", "T-0042"]
    assert join_labels(labels, list(photo.corners_px), SETTINGS) == ["T-0042", "K-7310"]


def test_small_modules_are_read_enlarged():
    photo = draw_photo(replace(TWO, rows=420, cols=700, mm_per_px=0.3, tiles=TWO.tiles[:1], blur_px=0.8))
    assert [label.text for label in find_labels(photo.pixels, SETTINGS)] == ["T-0042"]


def test_a_far_label_joins_no_tile():
    label = Label("X-1", np.array([[900.0, 500], [950, 500], [950, 550], [900, 550]]))
    tile = np.array([[100.0, 100], [200, 100], [200, 250], [100, 250]])
    assert join_labels((label,), [tile], SETTINGS) == [None]


def test_one_label_serves_one_tile():
    label = Label("X-1", np.array([[140.0, 260], [160, 260], [160, 280], [140, 280]]))
    near = np.array([[100.0, 100], [200, 100], [200, 250], [100, 250]])
    beside = near + np.array([110.0, 0.0])
    assert join_labels((label,), [beside, near], SETTINGS) == [None, "X-1"]


def test_no_label_no_text():
    photo = draw_photo(replace(TWO, tiles=(replace(TWO.tiles[0], label=None),)))
    assert find_labels(photo.pixels, SETTINGS) == ()


def test_the_strip_covers_the_printed_paper():
    photo = draw_photo(replace(TWO, tiles=TWO.tiles[:1]))
    strip = label_strip(find_labels(photo.pixels, SETTINGS)[0], SETTINGS)
    grey = cv2.cvtColor(photo.pixels, cv2.COLOR_RGB2GRAY)
    paper = (grey > 200).astype(np.uint8)
    paper[: int(photo.corners_px[0][:, 1].max()) + 5] = 0
    inside = np.zeros_like(paper)
    cv2.fillPoly(inside, [strip.round().astype(np.int32)], 1)
    assert (paper & inside).sum() >= 0.95 * paper.sum()
