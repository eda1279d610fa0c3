"""Cracks that join into no net are drawn, grain and nets are not."""

from __future__ import annotations

import cv2
import numpy as np

from tests.synthetic_marks import draw_tile
from vision.crazing import detect_crazing
from vision.lone_lines_fit import draw_surface
from vision.reading import Subject
from vision.settings import CrazingSettings
from vision.surface import Surface

SETTINGS = CrazingSettings()


def surface_of(lab) -> Surface:
    everywhere = np.ones(lab.shape[:2], np.bool_)
    image = np.zeros(lab.shape, np.uint8)
    return Surface(
        image, lab, everywhere, everywhere, ~everywhere, ~everywhere, 0.1, Subject.PATCH, blur_px=0.8
    )


def test_most_of_a_drawn_crack_is_found_and_little_else():
    found = right = there = seen = 0
    for seed in range(6):  # other seeds than the thresholds were chosen on
        lab, truth = draw_surface(np.random.default_rng(100 + seed), cracked=True)
        crazing, net, lines = detect_crazing(surface_of(lab), SETTINGS)
        assert not crazing.present
        assert not net.any()
        near = [cv2.dilate(mask.astype(np.uint8), np.ones((7, 7), np.uint8)) > 0 for mask in (truth, lines)]
        found, right = found + lines.sum(), right + (lines & near[0]).sum()
        there, seen = there + truth.sum(), seen + (truth & near[1]).sum()
    print(f"precision {right / max(found, 1):.2f} recall {seen / there:.2f}")
    assert right > 0.7 * found
    assert seen > 0.5 * there


def test_grain_without_a_crack_has_few_lines():
    lines = 0
    for seed in range(6):
        lab, _ = draw_surface(np.random.default_rng(200 + seed), cracked=False)
        lines += int(detect_crazing(surface_of(lab), SETTINGS)[2].sum())
    assert lines < 6 * 160  # pixels, two wide: on average one line of 80 px on 448 by 448


def test_where_a_net_is_called_no_line_lies_alone():
    crazing, net, lines = detect_crazing(draw_tile(1, craze_cell_px=45).surface, SETTINGS)
    assert crazing.present
    assert net.any()
    assert not lines.any()
