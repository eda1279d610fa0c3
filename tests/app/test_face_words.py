"""Colours by place in words."""

from __future__ import annotations

import pytest

from app.words.face import change_words, edge_words, face_lines, gradient_words, opacity_words
from vision.reading import EdgeBreak, FaceColours, Gradient, Lab, Opacity

STRIPE = ((0.0, 0.0), (9.0, 0.0), (9.0, 2.0), (0.0, 2.0))


@pytest.mark.parametrize(
    ("after", "words"),
    [
        ((50.0, 0.0, 0.0), "much alike"),
        ((58.0, 0.5, 0.0), "lighter"),
        ((40.0, 0.0, -6.0), "darker and bluer"),
        ((40.0, 5.0, 6.0), "darker, redder and yellower"),
        ((50.5, -4.0, 1.0), "greener"),
    ],
)
def test_change_is_named_as_the_eye_would(after, words):
    assert change_words(Lab(50.0, 0.0, 0.0), Lab(*after)) == words


def test_what_lies_within_the_doubt_is_not_told_as_a_change():
    light, dark = Lab(60.0, 0.0, 0.0), Lab(50.0, 0.0, 0.0)
    sure = Gradient(light, dark, (-10.0, 0.0, 0.0), (1.0, 1.0, 1.0), 9.0, 9.5, 1.0)
    unsure = Gradient(light, dark, (-10.0, 0.0, 0.0), (8.0, 1.0, 1.0), 9.0, 9.5, 8.0)
    assert "darker lower down" in gradient_words(sure)
    assert "no change beyond the doubt" in gradient_words(unsure)
    assert "not told from the field" in edge_words(EdgeBreak(light, dark, 9.5, 8.0, 3))


@pytest.mark.parametrize(
    ("ratio", "chance", "words"),
    [(0.7, 0.0, "does not hide it"), (0.995, 0.95, "hides it"), (0.975, 0.4, "may or may not hide it")],
)
def test_opacity_says_whether_it_hides(ratio, chance, words):
    told = opacity_words(Opacity(ratio, 0.02, chance, STRIPE, by_hand=True))
    assert f": {words} (98 % counts as hiding)" in told
    assert "the stripe you marked" in told


def test_nothing_measured_says_nothing():
    assert face_lines(FaceColours()) == []
