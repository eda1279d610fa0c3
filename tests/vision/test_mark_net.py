"""The mark net: what it is shown, and that chances stay chances."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.synthetic_marks import DrawnTile, draw_tile
from vision.marks.candidates import Candidates, Pyramid, build_pyramid, find_candidates, measuring_domain
from vision.marks.classify import CLASSES, load_model
from vision.marks.examples import KnownMark
from vision.marks.net import MODEL_FILE, ask_net
from vision.marks.renders import KnownSurface, shrunk
from vision.marks.squares import CHANNELS, SIDE, cut_squares
from vision.reading import MARK_KINDS
from vision.settings import MarkSettings
from vision.surface import Surface

SETTINGS = MarkSettings()


@pytest.fixture(scope="module")
def tile() -> DrawnTile:
    return draw_tile(812, counts=dict.fromkeys(MARK_KINDS, 6), foot_px=30)


def candidates_of(surface: Surface) -> tuple[Candidates, Pyramid]:
    pyramid = build_pyramid(surface, measuring_domain(surface, SETTINGS), SETTINGS)
    return find_candidates(surface, pyramid, SETTINGS, load_model().screen), pyramid


def test_squares_show_contrast_and_not_exposure(tile: DrawnTile) -> None:
    found, pyramid = candidates_of(tile.surface)
    squares = cut_squares(found, pyramid, tile.surface.blur_px)
    assert squares.shape == (len(found), len(CHANNELS), SIDE, SIDE)
    brighter = dataclasses.replace(tile.surface, lab=tile.surface.lab + np.float32([7, 0, 0]))
    lit = build_pyramid(brighter, measuring_domain(brighter, SETTINGS), SETTINGS)
    again = cut_squares(found, lit, tile.surface.blur_px)
    inside = np.abs(squares[:, :4]) < 5.9  # elsewhere the range ends
    np.testing.assert_allclose(again[:, :4][inside], squares[:, :4][inside], atol=0.02)
    np.testing.assert_allclose(again[:, 8] - squares[:, 8], 7 / 50, atol=1e-3)
    assert cut_squares(found.take(np.zeros(0, np.intp)), pyramid, 1.0).shape == (0, len(CHANNELS), SIDE, SIDE)


def test_net_answers_any_count_and_stays_small(tile: DrawnTile) -> None:
    found, pyramid = candidates_of(tile.surface)
    squares = cut_squares(found, pyramid, tile.surface.blur_px)
    whole = ask_net(squares)
    for count in (0, 1, 7):
        part = ask_net(squares[:count])
        assert part.shape == (count, len(CLASSES))
        np.testing.assert_allclose(part, whole[:count], atol=1e-4)
    assert MODEL_FILE.stat().st_size < 1e6


def test_a_shrunk_surface_keeps_its_marks_in_place(tile: DrawnTile) -> None:
    marks = tuple(KnownMark(str(m.kind), m.x_px, m.y_px, m.diameter_px) for m in tile.marks)
    known = KnownSurface("drawn", tile.surface, marks, {"present": False}, {"present": False}, None, None)
    poorer = shrunk(known, np.random.default_rng(4))
    share = poorer.surface.glazed.shape[1] / tile.surface.glazed.shape[1]
    assert 0.45 < share < 1
    assert poorer.surface.mm_per_px == pytest.approx(tile.surface.mm_per_px / share, rel=0.01)
    for before, after in zip(marks, poorer.marks, strict=True):
        assert after.x_px + 0.5 == pytest.approx((before.x_px + 0.5) * share, rel=0.01)
        assert after.diameter_px == pytest.approx(before.diameter_px * share, rel=0.01)
