"""Ovals: a shadow's bump does not move them, and what is no oval is left alone."""

from __future__ import annotations

import numpy as np
import pytest

from vision.outline import polygon_area
from vision.oval import fit_oval
from vision.settings import TileSettings

SETTINGS = TileSettings()


def ellipse(wide, high, turn_deg, count=240):
    t = np.linspace(0, 2 * np.pi, count, endpoint=False)
    turn = np.radians(turn_deg)
    axes = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return np.stack([wide * np.cos(t), high * np.sin(t)], axis=1) @ axes + np.array([300.0, 220.0])


@pytest.mark.parametrize(("wide", "high"), [(150, 150), (150, 95)])
def test_a_shadows_bump_does_not_move_an_oval(wide, high):
    true = ellipse(wide, high, 20)
    seen = true + np.random.default_rng(3).normal(0, 0.4, true.shape)
    middle = true.mean(axis=0)
    bump = 1 + 0.12 * np.exp(-(((np.arange(240) - 60) / 18.0) ** 2))
    found = fit_oval(middle + (seen - middle) * bump[:, None], SETTINGS)
    assert found is not None
    assert polygon_area(found) == pytest.approx(np.pi * wide * high, rel=0.02)
    assert found.mean(axis=0) == pytest.approx(middle, abs=2.5)


def test_a_rectangle_and_an_l_are_no_ovals():
    side = np.linspace(0, 1, 60, endpoint=False)[:, None]
    corners = np.array([[0, 0], [200, 0], [200, 300], [0, 300]], dtype=np.float64)
    box = np.concatenate([a + side * (b - a) for a, b in zip(corners, np.roll(corners, -1, 0), strict=True)])
    assert fit_oval(box, SETTINGS) is None
    bent = np.array([[0, 0], [110, 0], [110, 180], [200, 180], [200, 300], [0, 300]], dtype=np.float64)
    ell = np.concatenate([a + side * (b - a) for a, b in zip(bent, np.roll(bent, -1, 0), strict=True)])
    assert fit_oval(ell, SETTINGS) is None
