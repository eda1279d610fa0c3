"""Finish from drawn reflections: sharp and bright, soft, and none."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from skimage.color import rgb2lab

from vision.gloss import judge_gloss, judge_pair_gloss, measure_gloss
from vision.gloss_net import CHANNELS, SIDE, ask_face, face_planes, framed
from vision.reading import Finish, Subject
from vision.settings import GlossSettings, Settings
from vision.surface import Surface
from vision.two_lamps_light import LampPair

SETTINGS = GlossSettings()
ROWS, COLS = 420, 300


def face(base, window, soften_px, *, blur_px=0.8, seed=2):
    """A face of linear luminance `base` mirroring a window of luminance `window`, its edges softened."""
    rng = np.random.default_rng(seed)
    light = np.zeros((ROWS, COLS), np.float32)
    light[80:200, 60:170] = window
    light[136:144, 60:170] = 0.0
    if soften_px:
        light = cv2.GaussianBlur(light, (0, 0), soften_px)
    code = 255 * np.clip(base + light, 0, 1) ** (1 / 2.2)
    image = cv2.GaussianBlur(code.astype(np.float32), (0, 0), blur_px) + rng.normal(
        scale=1.2, size=code.shape
    )
    image = np.repeat(np.clip(np.rint(image), 0, 255).astype(np.uint8)[..., None], 3, axis=2)
    whole = np.ones((ROWS, COLS), bool)
    none = np.zeros((ROWS, COLS), bool)
    return Surface(
        image, rgb2lab(image).astype(np.float32), whole, whole, none, none, 0.1, Subject.TILE, blur_px
    )


def test_a_sharp_bright_window_is_gloss():
    gloss = measure_gloss(face(0.15, 0.9, 0), SETTINGS)
    assert gloss.finish is Finish.GLOSS
    assert gloss.probability > 0.6
    assert 0.0 <= gloss.proxy <= 1.0


def test_the_softer_the_same_window_is_mirrored_the_rougher_the_glaze():
    shines = [judge_gloss(face(0.15, 0.8, soft), SETTINGS).shine for soft in (0, 6, 12, 25)]
    assert shines == sorted(shines, reverse=True)
    assert shines[0] - shines[-1] > 0.5
    proxies = [measure_gloss(face(0.15, 0.8, soft), SETTINGS).proxy for soft in (0, 6, 12)]
    assert proxies == sorted(proxies, reverse=True)


def test_no_reflection_tells_nothing():
    gloss = measure_gloss(face(0.2, 0.0, 0), SETTINGS)
    assert (gloss.proxy, gloss.finish, gloss.probability) == (None, None, None)


@pytest.mark.parametrize("factor", [0.7, 1.2])
def test_exposure_hardly_moves_the_proxy(factor):
    one = measure_gloss(face(0.15, 0.5, 4), SETTINGS).proxy
    other = measure_gloss(face(0.15 * factor, 0.5 * factor, 4), SETTINGS).proxy
    assert other == pytest.approx(one, abs=0.12)


def test_shares_of_the_finishes_add_up_and_lean_to_gloss_with_sharpness():
    sharp, soft = (judge_gloss(face(0.15, 0.8, px), SETTINGS) for px in (0, 12))
    for judged in (sharp, soft):
        assert sum(judged.shares.values()) == pytest.approx(1.0)
    assert sharp.shares[Finish.GLOSS] > soft.shares[Finish.GLOSS]
    assert sharp.reflection > 0.5


def test_hardly_any_glaze_says_nothing():
    surface = face(0.15, 0.8, 0)
    bit = np.zeros_like(surface.glazed)
    bit[:10, :10] = True
    judged = judge_gloss(replace(surface, glazed=bit), SETTINGS)
    assert (judged.shares, judged.gloss.proxy) == (None, None)


def test_the_picture_is_zero_off_the_glaze_and_free_of_its_brightness():
    surface = face(0.15, 0.8, 3)
    glazed = surface.glazed.copy()
    glazed[: ROWS // 2] = False
    planes = face_planes(*framed(surface.image, glazed), 0.3)
    assert planes.shape == (len(CHANNELS), SIDE, SIDE)
    assert (planes[:, : SIDE // 2 - 1] == 0).all()
    dim, lit = (
        face_planes(*framed(face(0.15 * f, 0.8 * f, 3).image, surface.glazed), None) for f in (0.6, 1.0)
    )
    light = CHANNELS.index("light")
    assert np.median(np.abs(dim[light] - lit[light])) < 0.05
    assert np.abs(planes[-1]).max() == pytest.approx(np.log(0.5 / 0.3), abs=1e-3)


def test_the_net_answers_alike_however_the_face_is_turned_over():
    surface = face(0.15, 0.7, 2)
    turned = replace(surface, image=np.ascontiguousarray(surface.image[:, ::-1]))
    one, other = (ask_face(s, SETTINGS) for s in (surface, turned))
    assert one.reflection == pytest.approx(other.reflection, abs=0.02)
    assert one.log_roughness == pytest.approx(other.log_roughness, abs=0.05)
    assert one.finish == pytest.approx(other.finish, abs=0.02)


def test_two_photos_are_as_shiny_as_the_one_that_shows_it():
    lit, plain = face(0.15, 0.8, 0), face(0.15, 0.0, 0)
    none = np.zeros((ROWS, COLS), bool)
    pair = LampPair(lit, plain, plain, none, np.array([1.0, 0.0], np.float32), 0.9)
    one, other, both = (
        judge_gloss(lit, SETTINGS),
        judge_gloss(plain, SETTINGS),
        judge_pair_gloss(pair, Settings()),
    )
    # The last digit may differ from run to run: order of sums depends on where a picture lies in memory.
    assert both.reflection == pytest.approx(one.reflection, rel=1e-5)
    assert sum(both.shares.values()) == pytest.approx(1.0)
    assert abs(both.shine - one.shine) < abs(both.shine - other.shine)
    assert both.spread == pytest.approx(min(one.spread, other.spread), rel=1e-5)
