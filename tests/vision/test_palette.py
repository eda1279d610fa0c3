"""Colours of surfaces whose CIELAB is known, with glints, marks and variegation in the way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000, lab2rgb, rgb2lab

from vision.palette import ColourDoubt, likely_veil, measure_body_colour, measure_glaze_colour
from vision.reading import CalibrationKind, Finish, Mark, MarkKind, Subject
from vision.settings import ColourSettings
from vision.surface import Surface

SETTINGS = ColourSettings()
ROWS, COLS = 260, 180
CARD = ColourDoubt(CalibrationKind.CARD, 1.0)


def surface(lab, *, noise=1.0, mm_per_px=0.1, seed=1):
    """A glazed face of this CIELAB (rows, cols, 3) with a bare strip at its foot and sensor noise."""
    rng = np.random.default_rng(seed)
    image = lab2rgb(lab) * 255 + rng.normal(scale=noise, size=lab.shape)
    image = np.clip(np.rint(image), 0, 255).astype(np.uint8)
    piece = np.ones((ROWS, COLS), bool)
    bare = np.zeros_like(piece)
    bare[220:] = True
    return Surface(
        image=image,
        lab=rgb2lab(image).astype(np.float32),
        piece=piece,
        glazed=piece & ~bare,
        bare=bare,
        glint=np.zeros_like(piece),
        mm_per_px=mm_per_px,
        subject=Subject.TILE,
        blur_px=0.8,
    )


def plain(glaze, body=(80.0, 3.0, 12.0)):
    lab = np.empty((ROWS, COLS, 3))
    lab[:] = glaze
    lab[220:] = body
    return lab


def difference(lab, truth):
    return float(deltaE_ciede2000(np.array(lab.as_tuple()), np.array(truth)))


@pytest.mark.parametrize(
    "truth", [(55.0, -12.0, -18.0), (30.0, 8.0, 10.0), (88.0, -2.0, 8.0), (45.0, 25.0, 20.0)], ids=str
)
def test_plain_glaze_and_body(truth):
    face = surface(plain(truth))
    glaze = measure_glaze_colour(face, CARD, SETTINGS)
    body = measure_body_colour(face, SETTINGS)
    assert difference(glaze.lab, truth) < 0.5
    assert difference(body.lab, (80.0, 3.0, 12.0)) < 0.5
    assert glaze.area_cm2 == pytest.approx(220 * COLS * 0.01 / 100)
    assert body.area_cm2 == pytest.approx(40 * COLS * 0.01 / 100)


def test_a_glint_does_not_lift_the_colour():
    truth = (40.0, 10.0, 15.0)
    lab = plain(truth)
    lab[30:110, 20:100] = (97.0, 0.0, 0.0)
    face = surface(lab)
    glint = np.zeros((ROWS, COLS), bool)
    glint[28:112, 18:102] = True
    assert difference(measure_glaze_colour(replace(face, glint=glint), CARD, SETTINGS).lab, truth) < 0.6


def test_marks_are_left_out_of_the_palette():
    lab = plain((60.0, -10.0, 10.0))
    rng = np.random.default_rng(5)
    y, x = np.ogrid[:ROWS, :COLS]
    marks = []
    for _ in range(40):
        cx, cy = rng.uniform(12, COLS - 12), rng.uniform(12, 205)
        lab[np.hypot(x - cx, y - cy) < 5] = (25.0, 2.0, 3.0)
        marks.append(Mark(MarkKind.PINHOLE, cx, cy, 10.0, 0.9))
    face = surface(lab)
    without = measure_glaze_colour(face, CARD, SETTINGS, tuple(marks))
    dark = sum(p.fraction for p in without.palette if p.lab.lightness < 40)
    assert dark < 0.01
    assert difference(without.lab, (60.0, -10.0, 10.0)) < 0.6


def test_palette_tells_two_colours_by_area():
    lab = plain((35.0, 10.0, 15.0))
    lab[:66] = (70.0, -5.0, 25.0)
    palette = measure_glaze_colour(surface(lab), CARD, SETTINGS).palette
    assert 1 <= len(palette) <= 6
    assert sum(p.fraction for p in palette) == pytest.approx(1.0)
    light = sum(p.fraction for p in palette if p.lab.lightness > 55)
    assert light == pytest.approx(0.3, abs=0.03)
    assert [p.fraction for p in palette] == sorted((p.fraction for p in palette), reverse=True)


def test_doubt_grows_without_a_card_and_with_the_residual():
    face = surface(plain((55.0, -12.0, -18.0)))

    def doubt(kind, residual=None):
        return measure_glaze_colour(face, ColourDoubt(kind, residual), SETTINGS).lab_sd

    chart, card = doubt(CalibrationKind.CHART, 0.8), doubt(CalibrationKind.CARD, 0.8)
    none = doubt(CalibrationKind.NONE)
    assert all(a < b < c for a, b, c in zip(chart, card, none, strict=True))
    assert all(a < b for a, b in zip(chart, doubt(CalibrationKind.CHART, 4.0), strict=True))


def test_no_clear_glaze_gives_no_colour_and_no_scale_no_area():
    face = surface(plain((55.0, -12.0, -18.0)))
    covered = replace(face, glint=np.ones((ROWS, COLS), bool))
    assert measure_glaze_colour(covered, CARD, SETTINGS) is None
    unscaled = replace(face, mm_per_px=None)
    assert measure_glaze_colour(unscaled, CARD, SETTINGS).area_cm2 is None
    glazed_all_over = replace(face, bare=np.zeros((ROWS, COLS), bool))
    assert measure_body_colour(glazed_all_over, SETTINGS) is None


def test_mirrored_light_is_taken_off_by_the_chance_of_each_finish():
    gloss, satin, matt = SETTINGS.veil
    assert likely_veil({Finish.GLOSS: 1.0, Finish.SATIN: 0.0, Finish.MATT: 0.0}, SETTINGS) == gloss
    mixed = likely_veil({Finish.GLOSS: 0.5, Finish.SATIN: 0.25, Finish.MATT: 0.25}, SETTINGS)
    assert mixed == pytest.approx(0.5 * gloss + 0.25 * satin + 0.25 * matt)
    assert gloss < likely_veil(None, SETTINGS) < matt


def test_doubt_of_a_dark_glaze_is_wider_as_cielab_stretches_the_dark():
    def doubt_at(lightness):
        face = surface(plain((lightness, 0.0, 0.0)), noise=0.5)
        return measure_glaze_colour(face, CARD, SETTINGS).lab_sd

    dark, light = doubt_at(15.0), doubt_at(85.0)
    assert all(d > p for d, p in zip(dark, light, strict=True))
    # at L* 15, Y = 0.0191: a unit of linear light is worth 116/3 * Y**(-2/3) = 541 of L* (ISO/CIE 11664-4)
    base, residual = SETTINGS.card_doubt[0], SETTINGS.residual_share * 1.0
    expected = np.sqrt(base**2 + residual**2 + (541 * SETTINGS.veil_doubt[0]) ** 2)
    assert dark[0] == pytest.approx(expected, rel=0.02)
