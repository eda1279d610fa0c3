"""The net that sees craze lines: any size, and nothing outside the glaze."""

from __future__ import annotations

import numpy as np
import pytest

from tests.synthetic_marks import draw_tile
from vision.craze_lines import line_chances, line_input


def test_lines_stand_out_and_nothing_is_said_outside_the_glaze() -> None:
    tile = draw_tile(71, craze_cell_px=45, craze_contrast=0.35, foot_px=60)
    chance = line_chances(tile.surface.lab, tile.surface.glazed)
    assert chance.shape == tile.surface.glazed.shape
    assert chance.dtype == np.float32
    assert not chance[~tile.surface.glazed].any()
    on, off = tile.surface.glazed & tile.craze, tile.surface.glazed & ~tile.craze
    assert np.median(chance[on]) > 5 * np.median(chance[off])


@pytest.mark.parametrize("size", [(97, 131), (128, 64), (50, 333)])
def test_any_size_is_taken(size: tuple[int, int]) -> None:
    rng = np.random.default_rng(3)
    lab = np.float32([60, 2, 9]) + rng.normal(0, 0.6, (*size, 3)).astype(np.float32)
    chance = line_chances(lab, np.ones(size, np.bool_))
    assert chance.shape == size
    assert 0 <= chance.min() <= chance.max() <= 1
    assert (chance > 0.5).mean() < 0.01  # plain noise is no line


def test_brightness_of_the_glaze_does_not_matter() -> None:
    tile = draw_tile(72, craze_cell_px=45, craze_contrast=0.3)
    lab, glazed = tile.surface.lab, tile.surface.glazed
    np.testing.assert_allclose(
        line_input(lab + np.float32([11, 4, -6]), glazed), line_input(lab, glazed), atol=0.02
    )
