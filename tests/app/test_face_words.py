"""Colours by place in words."""

from __future__ import annotations

import pytest

from app.words.face import (
    change_words,
    edge_words,
    face_lines,
    gradient_words,
    opacity_words,
    pool_words,
)
from app.words.measures import (
    craze_direction_words,
    crazing_words,
    height_words,
    rating_words,
    running_words,
)
from vision.rating import Rating
from vision.reading import Crazing, EdgeBreak, FaceColours, Gradient, Lab, Opacity, PlaneHeight, Pool, Running

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


def run(present=True, longest=3.0, end=False):
    return Running(present, 1 if present else 0, longest, 0.4, 60.0, 0.1, end, "bottom")


@pytest.mark.parametrize(
    ("running", "words"),
    [
        (None, "running not judged: no bare foot in view"),
        (run(present=False, longest=0.0), "no runs below the glaze line"),
        (run(), "one run below the glaze line, the longest 3.0 mm ± 0.4 mm"),
        (run(end=True), "one run below the glaze line, the longest 3.0 mm ± 0.4 mm, down to the very end"),
        (run(longest=None), "one run below the glaze line, the longest 60 pixels, no scale"),
    ],
)
def test_runs_are_told_with_their_length(running, words):
    assert running_words(running) == words


@pytest.mark.parametrize(
    ("degrees", "strength", "words"),
    [
        (10.0, 0.6, ", lines run mostly across"),
        (88.0, 0.2, ", lines run somewhat more up and down"),
        (45.0, 0.5, ", lines run mostly from lower left to upper right"),
        (130.0, 0.5, ", lines run mostly from upper left to lower right"),
        (175.0, 0.5, ", lines run mostly across"),
        (88.0, 0.05, ", lines run all ways"),
        (None, None, ""),
    ],
)
def test_a_nets_direction_is_named(degrees, strength, words):
    net = Crazing(True, 0.9, 40.0, 4.0, (3.0, 4.0, 5.0), degrees, strength)
    assert craze_direction_words(net) == words
    assert "half of them from 3.0 mm to 5.0 mm" in crazing_words(net)


def test_pooled_glaze_and_ratings_are_told():
    light, dark = Lab(60.0, 0.0, 0.0), Lab(45.0, 0.0, -8.0)
    told = pool_words(Pool(dark, light, 12.0, 2.0))
    assert told.startswith("pooled above the glaze line: darker and bluer")
    assert "as farther up" in pool_words(Pool(dark, light, 2.0, 2.0))
    assert rating_words([Rating("blister", 3, 4), Rating("crazing", 4, None)]).startswith(
        "blisters 3(S4), a moderate number, up to 5.0 mm; crazing 4, many (in the style of ISO 4628"
    )
    assert rating_words([]) == ""


def test_what_height_leaves_open_is_told():
    assumed = height_words(PlaneHeight(6.0, False, 350.0, False, 0.0062))
    assert assumed == "taken to be 6.0 mm thick, which may put sizes wrong by 0.6 %"
    given = height_words(PlaneHeight(8.0, True, 350.0, True, 0.001))
    assert given == "sizes are for a tile 8.0 mm thick, good to about 0.1 %"
    assert height_words(None) == ""
