"""The table as a light meter, on drawn tables whose light is known exactly."""

import cv2
import numpy as np
import pytest

from vision.colour import linear_to_srgb8
from vision.settings import BalanceSettings
from vision.surround import Surround, measure_surround, surround_gain

SETTINGS = BalanceSettings()
PIECE = np.array([[120.0, 150], [260, 150], [260, 350], [120, 350]])
CARD = np.array([[520.0, 150], [690, 150], [690, 350], [520, 350]])


def draw(light_at_right: float, grain: float = 0.0) -> np.ndarray:
    """A plain grey table, its light running evenly from 1 at the left edge to `light_at_right`."""
    fall = np.linspace(1.0, light_at_right, 800, dtype=np.float32)
    table = np.full((500, 800), 0.3, np.float32) * fall
    rng = np.random.default_rng(3)
    blotches = cv2.GaussianBlur(rng.standard_normal(table.shape).astype(np.float32), (0, 0), 9)
    table *= np.exp(grain * blotches / blotches.std())
    picture = linear_to_srgb8(np.repeat(table[..., None], 3, axis=2))
    cv2.fillPoly(picture, [PIECE.astype(np.int32)], (20, 30, 90))
    cv2.fillPoly(picture, [CARD.astype(np.int32)], (240, 240, 240))
    return picture


def gain_of(picture: np.ndarray) -> tuple[float, float]:
    piece, card = measure_surround(picture, [PIECE, CARD], [], SETTINGS)
    return surround_gain(piece, card, SETTINGS)


@pytest.mark.parametrize("light_at_right", [1.0, 0.6, 1.5])
def test_light_that_falls_across_the_table_is_measured(light_at_right):
    # by hand: the middles of piece and card lie at 190 and 605 of 800 pixels
    true = np.log((1 + (light_at_right - 1) * 605 / 800) / (1 + (light_at_right - 1) * 190 / 800))
    gain, weight = gain_of(draw(light_at_right))
    assert gain == pytest.approx(true, abs=0.03)
    assert weight > 0.6


def test_a_blotched_table_is_trusted_less():
    assert gain_of(draw(0.8, grain=0.5))[1] < 0.4 < gain_of(draw(0.8))[1]


def test_no_table_around_a_piece_that_fills_the_frame_tells_nothing():
    whole = np.array([[0.0, 0], [799, 0], [799, 499], [0, 499]])
    around = measure_surround(draw(1.0), [whole], [], SETTINGS)
    assert around == [None]
    assert surround_gain(around[0], Surround(0.3, 0.1), SETTINGS) == (0.0, 0.0)


def test_what_else_lies_on_the_table_is_left_out():
    picture = draw(1.0)
    label = np.array([[270.0, 150], [330, 150], [330, 350], [270, 350]])
    cv2.fillPoly(picture, [label.astype(np.int32)], (255, 255, 255))
    without, _ = measure_surround(picture, [PIECE, CARD], [label], SETTINGS)
    assert without is not None
    assert without.light == pytest.approx(0.3, abs=0.01)
    assert without.spread < 0.05
