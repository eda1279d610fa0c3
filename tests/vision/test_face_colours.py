"""Colours by place on drawn faces whose CIELAB is known at every pixel, beside scipy and scikit-image."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import theilslopes
from skimage.color import deltaE_ciede2000, lab2rgb, rgb2lab

from vision.edges import measure_edges, measure_thick_thin
from vision.face import reduce_face
from vision.gradient import difference_sd, measure_gradient, middle_slope
from vision.reading import Subject
from vision.settings import FaceSettings
from vision.surface import Surface

SETTINGS = FaceSettings()
ROWS, COLS, MM = 900, 500, 0.1
GLAZE = (55.0, -12.0, -18.0)


def drawn(lab, *, noise=1.0, mm_per_px=MM, bare_mm=12.0, seed=1, subject=Subject.TILE):
    """A tile of this CIELAB (rows, cols, 3), its foot bare, with sensor noise."""
    rng = np.random.default_rng(seed)
    rows, cols = lab.shape[:2]
    image = lab2rgb(lab) * 255 + rng.normal(scale=noise, size=lab.shape)
    image = np.clip(np.rint(image), 0, 255).astype(np.uint8)
    piece = np.ones((rows, cols), bool)
    bare = np.zeros_like(piece)
    if bare_mm:
        bare[-round(bare_mm / MM) :] = True
    return Surface(
        image=image,
        lab=rgb2lab(image).astype(np.float32),
        piece=piece,
        glazed=piece & ~bare,
        bare=bare,
        glint=np.zeros_like(piece),
        mm_per_px=mm_per_px,
        subject=subject,
        blur_px=0.8,
    )


def plain(glaze=GLAZE):
    lab = np.empty((ROWS, COLS, 3))
    lab[:] = glaze
    return lab


def reduced(surface):
    return reduce_face(surface, 0.0, SETTINGS)


@pytest.mark.parametrize("per_mm", [(-0.12, 0.0, 0.0), (0.05, 0.06, -0.08), (0.0, 0.0, 0.0)], ids=str)
def test_gradient_is_given_back_per_centimetre(per_mm):
    lab = plain()
    lab += (np.arange(ROWS) * MM)[:, None, None] * np.array(per_mm)
    measured = measure_gradient(reduced(drawn(lab)), SETTINGS)
    per_cm = np.array(measured.change) / measured.height_cm
    assert per_cm == pytest.approx(np.array(per_mm) * 10, abs=0.06)
    # the doubt is never under what falling light alone can do
    assert np.all(np.array(measured.change_sd) >= SETTINGS.gradient_light_doubt)
    truth = deltaE_ciede2000(np.array(measured.top.as_tuple()), np.array(measured.bottom.as_tuple()))
    assert measured.delta_e_00 == pytest.approx(float(truth), abs=0.01)


def test_gradient_is_not_led_by_glints_and_a_dark_corner_of_specks():
    lab = plain()
    lab[..., 0] -= (np.arange(ROWS) * MM)[:, None] * 0.1
    lab[600:760, 60:200] = (20.0, 3.0, 4.0)
    surface = drawn(lab)
    glint = np.zeros((ROWS, COLS), bool)
    glint[100:300, 300:420] = True
    surface.image[glint] = 255
    measured = measure_gradient(reduced(replace(surface, glint=glint)), SETTINGS)
    assert measured.change[0] / measured.height_cm == pytest.approx(-1.0, abs=0.25)


def test_gradient_without_scale_has_no_height_and_without_glaze_is_none():
    assert measure_gradient(reduced(drawn(plain(), mm_per_px=None)), SETTINGS).height_cm is None
    assert measure_gradient(reduced(drawn(plain(), bare_mm=90.0)), SETTINGS) is None


def test_middle_slope_is_scipys():
    rng = np.random.default_rng(3)
    x = np.sort(rng.uniform(0, 1, 24))
    y = 3 * x + rng.standard_t(2, 24)
    assert middle_slope(x, y) == pytest.approx(theilslopes(y, x).slope)


def test_doubt_of_a_difference_agrees_with_a_simulation():
    lab, other, sd = np.array([50.0, 10.0, -20.0]), np.array([58.0, 6.0, -12.0]), np.array([2.0, 1.0, 1.5])
    drawn_at = other + np.random.default_rng(1).normal(size=(4000, 3)) * sd
    spread = deltaE_ciede2000(np.broadcast_to(lab, drawn_at.shape), drawn_at).std()
    assert difference_sd(lab, other, sd) == pytest.approx(float(spread), rel=0.2)


def broken(step, width_mm=1.6):
    """A face whose outermost `width_mm` differ by `step` from the rest."""
    lab = plain()
    y, x = np.mgrid[0:ROWS, 0:COLS]
    edge = np.minimum.reduce([x, y, COLS - 1 - x, ROWS - 1 - y]) * MM < width_mm
    lab[edge] += step
    return lab


@pytest.mark.parametrize("step", [(12.0, 8.0, 14.0), (-9.0, 2.0, 4.0), (0.0, 0.0, 0.0)], ids=str)
def test_edges_are_set_against_the_field(step):
    edges = measure_edges(reduced(drawn(broken(step))), SETTINGS)
    truth = float(deltaE_ciede2000(np.array(GLAZE), np.array(GLAZE) + step))
    assert edges.sides == 3  # the fourth is bare clay
    assert edges.delta_e_00 == pytest.approx(truth, abs=1.0)
    assert np.array(edges.edge.as_tuple()) == pytest.approx(np.array(GLAZE) + step, abs=1.0)


def test_one_edge_that_is_table_does_not_make_a_break():
    lab = plain()
    lab[:, :20] = (25.0, 5.0, 8.0)  # the outline took in two millimetres of table on the left
    assert measure_edges(reduced(drawn(lab)), SETTINGS).delta_e_00 < 1.0


@pytest.mark.parametrize("subject", [Subject.WARE, Subject.PATCH])
def test_only_a_tile_has_edges(subject):
    assert measure_edges(reduced(drawn(plain(), subject=subject)), SETTINGS) is None


def test_thick_is_the_low_end_and_thin_the_edges():
    lab = broken((10.0, 6.0, 8.0))
    lab[640:780, 100:400] = (40.0, -14.0, -24.0)  # where a celadon has gathered above the foot
    face = reduced(drawn(lab))
    places = measure_thick_thin(face, measure_edges(face, SETTINGS), SETTINGS)
    assert np.array(places.thick.as_tuple()) == pytest.approx((40.0, -14.0, -24.0), abs=1.0)
    assert places.thin.lightness == pytest.approx(65.0, abs=1.0)
    assert (places.thick_where, places.thin_where) == ("low end", "edges")
