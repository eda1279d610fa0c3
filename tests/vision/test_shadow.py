"""Shadows drawn across a tile and the table, and dark glazes that are none; holes as masks."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vision.test_face_colours import drawn, plain
from vision.holes import part_hanging_hole
from vision.reading import Mark, MarkKind
from vision.settings import ShadowSettings, TileSettings
from vision.shadow import find_shadow

SETTINGS = ShadowSettings()
ROWS, COLS = 300, 200
AT = np.array([[1.0, 0, 120], [0, 1.0, 90], [0, 0, 1]])


def scene(*, shade=1.0, shade_on_table=True, glaze_dark=1.0, seed=1):
    """A tile on a table; `shade` is of the light left of a slanting line, `glaze_dark` of the lower glaze."""
    rng = np.random.default_rng(seed)
    linear = np.full((480, 460), 0.35)
    linear[90:390, 120:320] = 0.2
    linear[240:390, 120:320] *= glaze_dark
    y, x = np.mgrid[0:480, 0:460]
    dark = x + 0.4 * y < 300
    tile = np.zeros(dark.shape, bool)
    tile[90:390, 120:320] = True
    linear[dark & (shade_on_table | tile)] *= shade
    code = 255 * linear ** (1 / 2.2)
    photo = np.repeat(code[..., None], 3, axis=2) + rng.normal(scale=2, size=(480, 460, 3))
    return np.clip(photo, 0, 255).astype(np.uint8), dark[90:390, 120:320]


@pytest.mark.parametrize("shade", [0.3, 0.5, 0.65])
def test_a_shadow_over_tile_and_table_is_found(shade):
    photo, dark = scene(shade=shade)
    found = find_shadow(photo, AT, np.ones((ROWS, COLS), bool), SETTINGS)
    assert (found & dark).sum() / (found | dark).sum() > 0.93


@pytest.mark.parametrize(
    "no_shadow", [{}, {"glaze_dark": 0.4}, {"shade": 0.4, "shade_on_table": False}, {"shade": 0.93}], ids=str
)
def test_a_dark_glaze_is_no_shadow(no_shadow):
    photo, _ = scene(**no_shadow)
    assert not find_shadow(photo, AT, np.ones((ROWS, COLS), bool), SETTINGS).any()


def test_the_hanging_hole_is_a_mask_and_no_mark():
    lab = plain()
    y, x = np.ogrid[: lab.shape[0], : lab.shape[1]]
    there = np.hypot(x - 250, y - 60) < 25
    lab[there] = (8.0, 1.0, 1.0)
    hole = Mark(MarkKind.BLISTER, 250.0, 60.0, 50.0, 0.9)
    pinhole = Mark(MarkKind.PINHOLE, 120.0, 500.0, 8.0, 0.9)
    kept, mask = part_hanging_hole(drawn(lab), (hole, pinhole), TileSettings())
    assert kept == (pinhole,)
    assert (mask & there).sum() / (mask | there).sum() > 0.95
    kept, mask = part_hanging_hole(drawn(plain()), (pinhole,), TileSettings())
    assert kept == (pinhole,)
    assert not mask.any()
