"""The craze net is told from things that look like it, on drawn surfaces whose net is known."""

from __future__ import annotations

import dataclasses

import cv2
import numpy as np
import pytest

from tests.synthetic_marks import draw_tile
from vision.crazing import detect_crazing
from vision.reading import MARK_KINDS
from vision.settings import CrazingSettings

SETTINGS = CrazingSettings()


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("cell_px", "contrast"), [(30, 0.45), (45, 0.25), (70, 0.2)])
def test_net_is_found(seed: int, cell_px: float, contrast: float) -> None:
    tile = draw_tile(seed, craze_cell_px=cell_px, craze_contrast=contrast)
    crazing, mask, _ = detect_crazing(tile.surface, SETTINGS)
    assert crazing.present, crazing
    near_truth = cv2.dilate(tile.craze.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    near_found = cv2.dilate(mask.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    precision, recall = near_truth[mask].mean(), near_found[tile.craze].mean()
    print(f"seed {seed} cell {cell_px}: precision {precision:.2f} recall {recall:.2f}")
    assert precision > 0.85
    assert recall > 0.8


@pytest.mark.parametrize("seed", range(4))
def test_scratches_marks_and_plain_glaze_are_no_net(seed: int) -> None:
    for options in (
        {"scratches": 20},
        {"counts": dict.fromkeys(MARK_KINDS, 8), "glints": 2, "foot_px": 40, "crawl_spots": 1},
        {},
        {"noise": 0.03},
        {"variegation": 0.2},
    ):
        crazing, mask, _ = detect_crazing(draw_tile(seed, **options).surface, SETTINGS)
        assert crazing.present is False, (options, crazing)
        assert not mask.any()
        assert crazing.length_mm_per_cm2 == 0


def test_cells_grow_with_the_net_and_lengths_follow_the_scale() -> None:
    fine, _, _ = detect_crazing(draw_tile(1, craze_cell_px=30).surface, SETTINGS)
    coarse, _, _ = detect_crazing(draw_tile(1, craze_cell_px=70).surface, SETTINGS)
    assert fine.cell_mm < coarse.cell_mm
    assert fine.length_mm_per_cm2 > coarse.length_mm_per_cm2
    surface = draw_tile(1, craze_cell_px=70).surface
    doubled, _, _ = detect_crazing(dataclasses.replace(surface, mm_per_px=2 * surface.mm_per_px), SETTINGS)
    assert doubled.cell_mm == pytest.approx(2 * coarse.cell_mm)
    assert doubled.length_mm_per_cm2 == pytest.approx(coarse.length_mm_per_cm2 / 2)


def test_without_scale_no_millimetres() -> None:
    crazing, _, _ = detect_crazing(draw_tile(2, craze_cell_px=45, mm_per_px=None).surface, SETTINGS)
    assert crazing.present
    assert crazing.cell_mm is None
    assert crazing.length_mm_per_cm2 is None


def test_blurred_photo_gives_no_verdict() -> None:
    surface = draw_tile(2, craze_cell_px=45).surface
    blurred = dataclasses.replace(surface, blur_px=SETTINGS.most_blur_px * 1.2)
    crazing, mask, _ = detect_crazing(blurred, SETTINGS)
    assert crazing.present is None
    assert crazing.probability is None
    assert not mask.any()


def test_coarse_photo_may_show_a_net_but_not_its_absence() -> None:
    coarse = SETTINGS.coarsest_mm_per_px * 1.2
    netted = dataclasses.replace(draw_tile(2, craze_cell_px=45).surface, mm_per_px=coarse)
    plain = dataclasses.replace(draw_tile(2).surface, mm_per_px=coarse)
    assert detect_crazing(netted, SETTINGS)[0].present
    assert detect_crazing(plain, SETTINGS)[0].present is None


def test_turning_the_photo_changes_nothing_much() -> None:
    surface = draw_tile(3, craze_cell_px=45).surface
    turned = dataclasses.replace(
        surface,
        **{
            k: np.ascontiguousarray(np.rot90(getattr(surface, k)))
            for k in ("image", "lab", "piece", "glazed", "bare", "glint")
        },
    )
    first, _, _ = detect_crazing(surface, SETTINGS)
    second, _, _ = detect_crazing(turned, SETTINGS)
    assert second.length_mm_per_cm2 == pytest.approx(first.length_mm_per_cm2, rel=0.03)
    assert second.cell_mm == pytest.approx(first.cell_mm, rel=0.05)
