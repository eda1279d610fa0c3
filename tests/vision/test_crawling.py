"""Bare patches inside the glaze count as crawling; the bare foot and the wax line do not."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.synthetic_marks import draw_tile
from vision.crawling import detect_crawling, without_patches
from vision.marks.find import find_marks
from vision.settings import CrawlingSettings, MarkSettings

SETTINGS = CrawlingSettings()


@pytest.mark.parametrize("seed", range(6))
def test_patches_are_counted_and_measured(seed: int) -> None:
    tile = draw_tile(seed, crawl_spots=3, foot_px=50)
    crawling, mask = detect_crawling(tile.surface, SETTINGS)
    assert crawling.present
    assert 2 <= crawling.spots <= 4
    true_fraction = tile.crawl.sum() / (tile.surface.glazed | tile.crawl).sum()
    assert crawling.area_fraction == pytest.approx(true_fraction, abs=0.008)
    both = (mask & tile.crawl).sum() / (mask | tile.crawl).sum()
    assert both > 0.6


@pytest.mark.parametrize("foot_px", [0, 30, 120])
def test_foot_strip_is_not_crawling(foot_px: int) -> None:
    crawling, mask = detect_crawling(draw_tile(1, foot_px=foot_px).surface, SETTINGS)
    assert not crawling.present
    assert crawling.area_fraction == 0
    assert crawling.spots == 0
    assert not mask.any()


def test_slanting_wax_line_is_not_crawling() -> None:
    surface = draw_tile(2).surface
    rows, cols = surface.glazed.shape
    y, x = np.mgrid[0:rows, 0:cols]
    wax = y > rows - 60 - 0.1 * x
    waxed = dataclasses.replace(surface, glazed=~wax, bare=wax)
    assert not detect_crawling(waxed, SETTINGS)[0].present


def test_nothing_glazed_is_no_crawling() -> None:
    surface = draw_tile(2).surface
    bare = np.ones_like(surface.glazed)
    crawling, mask = detect_crawling(dataclasses.replace(surface, glazed=~bare, bare=bare), SETTINGS)
    assert not crawling.present
    assert not mask.any()


def test_no_mark_is_looked_for_in_a_crawled_patch() -> None:
    tile = draw_tile(5, crawl_spots=3)
    crawling, mask = detect_crawling(tile.surface, SETTINGS)
    assert crawling.present
    left = without_patches(tile.surface, mask)
    assert not (left.glazed & mask).any()
    assert not (left.piece & mask).any()
    assert (left.glazed | mask)[tile.surface.glazed].all()
    marks = find_marks(left, MarkSettings())
    inside = [
        m for m in marks if mask[min(round(m.y_px), mask.shape[0] - 1), min(round(m.x_px), mask.shape[1] - 1)]
    ]
    assert inside == []
    assert without_patches(tile.surface, np.zeros_like(mask)) is tile.surface
