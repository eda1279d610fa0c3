"""Blur is estimated within a third on drawn edges, with noise and without."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from vision.settings import TileSettings
from vision.sharpness import measure_blur

SETTINGS = TileSettings()


def edges(blur_px, noise_sd, seed=4):
    rng = np.random.default_rng(seed)
    code = np.full((300, 420), 90.0, np.float32)
    for _ in range(14):
        centre = (int(rng.uniform(30, 390)), int(rng.uniform(30, 270)))
        box = cv2.boxPoints((centre, (rng.uniform(30, 90), rng.uniform(30, 90)), rng.uniform(0, 90)))
        cv2.fillPoly(code, [box.astype(np.int32)], float(rng.uniform(30, 220)), lineType=cv2.LINE_AA)
    code = cv2.GaussianBlur(code, (0, 0), blur_px) + rng.normal(scale=noise_sd, size=code.shape)
    return np.repeat(np.clip(np.rint(code), 0, 255).astype(np.uint8)[..., None], 3, axis=2)


@pytest.mark.parametrize("noise_sd", [0.5, 3.0])
@pytest.mark.parametrize("blur_px", [0.7, 1.0, 1.5, 2.5, 4.0])
def test_known_blur(blur_px, noise_sd):
    found = measure_blur(edges(blur_px, noise_sd), SETTINGS)
    print(blur_px, noise_sd, found)
    assert found == pytest.approx(np.hypot(blur_px, 0.3), rel=0.35)


def test_a_plain_surface_tells_nothing():
    plain = np.random.default_rng(1).normal(128, 3, (200, 200, 1)).repeat(3, axis=2).astype(np.uint8)
    assert measure_blur(plain, SETTINGS) is None
