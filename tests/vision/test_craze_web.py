"""The net that sees where a glaze is crazed, and whether a photo could show a net at all."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from tests.synthetic_marks import draw_tile
from vision.craze_lines import line_chances
from vision.craze_net import line_domain
from vision.craze_sight import hairline_visibility
from vision.craze_web import web_scores
from vision.crazing import detect_crazing
from vision.settings import CrazingSettings
from vision.surface import Surface

SETTINGS = CrazingSettings()


def seen(surface: Surface) -> np.ndarray:
    lab, domain, _ = line_domain(surface, SETTINGS)
    return web_scores(lab, domain, line_chances(lab, domain))


def visibility(surface: Surface) -> float | None:
    return hairline_visibility(surface, *line_domain(surface, SETTINGS), SETTINGS)


@pytest.mark.parametrize("seed", range(3))
def test_places_of_a_net_score_above_those_of_plain_and_scratched_glaze(seed: int) -> None:
    crazed = seen(draw_tile(seed, craze_cell_px=45, craze_contrast=0.25).surface)
    plain, scratched = seen(draw_tile(seed).surface), seen(draw_tile(seed, scratches=20).surface)
    assert np.median(crazed) > 0 > np.median(plain)
    assert np.median(crazed) > np.median(scratched) + 1


def test_any_size_is_taken_and_only_glaze_is_judged() -> None:
    lab = np.full((53, 90, 3), 60, np.float32)
    domain = np.zeros((53, 90), np.bool_)
    domain[:, 40:] = True
    scores = web_scores(lab, domain, line_chances(lab, domain))
    assert len(scores) == 7 * 6  # the last of seven places down is over half full, the one across is not
    assert len(web_scores(lab, np.zeros_like(domain), np.zeros(domain.shape, np.float32))) == 0


def test_a_hairline_keeps_the_share_of_its_depth_that_the_blur_leaves() -> None:
    """Worked by hand: the peak of a line of width w under a Gaussian of deviation s is w / (sqrt(2 pi) s)."""
    rng = np.random.default_rng(5)
    surface = replace(draw_tile(3).surface, blur_px=2.0, mm_per_px=0.2)
    lab = np.zeros_like(surface.lab)
    lab[..., 0] = 60 + cv2.GaussianBlur(rng.normal(0, 3, lab.shape[:2]).astype(np.float32), (0, 0), 0.6)
    surface = replace(surface, lab=lab, mm_per_px=0.2)
    near = visibility(surface)
    assert visibility(replace(surface, mm_per_px=0.4)) == pytest.approx(near / 2, rel=1e-3)
    sharp_px = np.hypot(1.0, SETTINGS.pixel_blur_px) / np.hypot(2.0, SETTINGS.pixel_blur_px)
    assert visibility(replace(surface, blur_px=1.0)) == pytest.approx(near / sharp_px, rel=1e-3)
    coarser = lab.copy()
    coarser[..., 0] = 60 + 2 * (lab[..., 0] - 60)
    assert visibility(replace(surface, lab=coarser)) == pytest.approx(near / 2, rel=0.05)
    assert visibility(replace(surface, mm_per_px=None)) is None


def test_absence_is_not_stated_of_a_dark_grainy_glaze() -> None:
    surface = draw_tile(4).surface
    assert detect_crazing(surface, SETTINGS)[0].present is False
    rng = np.random.default_rng(6)
    grain = cv2.GaussianBlur(rng.normal(0, 4, surface.lab.shape[:2]).astype(np.float32), (0, 0), 0.8)
    dark = surface.lab.copy()
    dark[..., 0] = np.clip(10 + grain, 0, 100)
    crazing, mask, _ = detect_crazing(replace(surface, lab=dark, mm_per_px=0.2), SETTINGS)
    assert (crazing.present, crazing.probability) == (None, None)
    assert not mask.any()
