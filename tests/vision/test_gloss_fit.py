"""What the gloss net learns from, and how its scores are brought into line, on made-up scores."""

from __future__ import annotations

import numpy as np
import pytest

from vision.gloss_fit import Faces, fit_scales, make_pictures, worn
from vision.gloss_net import CHANNELS, SIDE

N = 4000


def known(rng, reflection, finish, log_roughness):
    """Faces of which only the truth counts."""
    nothing = np.zeros((len(finish), 1, 1, 3), np.uint8)
    mask = np.zeros((len(finish), 1, 1), bool)
    return Faces(nothing, mask, np.full(len(finish), 0.5, np.float32), finish, log_roughness, reflection)


def test_scores_too_sure_are_brought_down_to_what_comes_true():
    rng = np.random.default_rng(7)
    logits = rng.normal(0, 1.2, (N, 3))
    chances = np.exp(logits) / np.exp(logits).sum(axis=1, keepdims=True)
    finish = (chances.cumsum(axis=1) < rng.random((N, 1))).sum(axis=1).clip(0, 2)
    odds = rng.normal(0, 2, N)
    seen = (rng.random(N) < 1 / (1 + np.exp(-odds))).astype(np.float32)
    rough = rng.normal(-1.5, 0.5, N)
    scores = np.column_stack([3 * odds, 2 * logits, rough + rng.normal(0, 0.6, N), np.full(N, np.log(0.3))])
    by_seen, by_name, wider = fit_scales(scores, known(rng, seen, finish, rough))
    assert by_seen == pytest.approx(1 / 3, rel=0.15)
    assert by_name == pytest.approx(1 / 2, rel=0.15)
    assert wider == pytest.approx(np.log(0.6 / 0.3), abs=0.05)


def test_a_worn_face_keeps_its_glaze_and_shows_it_otherwise():
    rng = np.random.default_rng(1)
    image = rng.integers(60, 200, (2 * SIDE, 2 * SIDE, 3), dtype=np.uint8)
    face = np.zeros((2 * SIDE, 2 * SIDE), bool)
    face[40:200, 30:150] = True
    image[~face] = 0
    for _ in range(6):
        picture, turned = worn(image, face, rng)
        assert turned.sum() == face.sum()
        assert picture.shape == image.shape
        assert picture[turned].mean() > 3 * picture[~turned].mean()
    faces = Faces(
        image[None], face[None], np.array([0.4], np.float32), np.array([0]), np.array([-2.0]), np.array([1.0])
    )
    assert make_pictures(faces, 3, rng).shape == (3, len(CHANNELS), SIDE, SIDE)
    plain, again = make_pictures(faces, 0, rng), make_pictures(faces, 0, rng)
    assert np.array_equal(plain, again)
