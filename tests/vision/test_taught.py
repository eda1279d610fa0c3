"""A card taught beside a chart gives true colours alone; what cannot teach is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from tests.vision.flat_photo import CHART_MM, Shot, chart_plan, linear_of, photograph, pose
from vision.balance import correct_linear, fit_correction
from vision.card import find_card
from vision.card_drawing import draw_card
from vision.card_layout import A6, LAYOUTS
from vision.chart import chart_lab
from vision.colour import lab_to_linear, linear_to_lab, linear_to_srgb8, srgb_to_linear
from vision.errors import CardNotTaughtError
from vision.photo import Photo
from vision.pipeline import read_photo
from vision.reading import CalibrationKind, Flag
from vision.reading_json import reading_to_dict, taught_from_dict
from vision.settings import BalanceSettings
from vision.taught import fit_taught, teach_card
from vision.taught_card import TaughtCard

DAY = date(2026, 3, 1)
PX_PER_MM = 8.0
PAPER = np.array([0.80, 0.79, 0.74])
"""Linear reflectance of a yellowish office paper; our own choice within what paper does."""
SWATCHES = np.array([[86, 1, 6], [74, -4, 12], [60, 3, -4], [45, -2, 4], [33, 2, 3]], dtype=float)
"""Near-neutral glazes, CIELAB D65: colours that white balance and exposure alone can put right."""


def printed(layout=A6) -> np.ndarray:
    """Our card as a poor printer lays it down: yellowish paper, brownish mid greys, weak black."""
    asked = linear_of(draw_card(layout, PX_PER_MM))
    share = np.clip(asked / 0.9, 0, 1) ** 1.12
    tint = 1 + np.array([0.05, 0.0, -0.06]) * 4 * share * (1 - share)
    return (0.03 + (PAPER - 0.03) * np.clip(share * tint, 0, 1)).astype(np.float32)


def scene(with_chart: bool, shot: Shot, layout=A6) -> np.ndarray:
    """Give a photo of the card, the chart to its right where wanted."""
    card = printed(layout)
    width = layout.width_mm + 10 + CHART_MM[0] * 1.6
    height = layout.height_mm + 24
    wide = np.empty((round(height * PX_PER_MM), round(width * PX_PER_MM), 3), np.float32)
    wide[:] = linear_of(np.array(shot.table))
    wide[: card.shape[0], : card.shape[1]] = card
    if with_chart:
        board = chart_plan(np.clip(lab_to_linear(np.array(chart_lab())), 0, 1), PX_PER_MM * 1.6)
        left, top = round((layout.width_mm + 8) * PX_PER_MM), round(12 * PX_PER_MM)
        wide[top : top + board.shape[0], left : left + board.shape[1]] = board
    return photograph(wide, PX_PER_MM, pose(shot, width, height), shot)


def photo(pixels: np.ndarray) -> Photo:
    return Photo(pixels=pixels, name="card.jpg", sha256="0" * 64, flags=(), taken_at=None)


SHOT = Shot(mm_per_px=0.17, rows=950, cols=1600, light=(0.82, 0.8, 0.75), noise_sd=1.0)


@pytest.fixture(scope="module")
def taught() -> TaughtCard:
    return teach_card(photo(scene(True, SHOT)), DAY)


def test_the_true_colours_of_paper_and_greys_come_out(taught: TaughtCard) -> None:
    true = linear_to_lab(PAPER)
    assert float(deltaE_ciede2000(np.array(taught.paper), true)) < 1.0
    assert taught.layout == "A6"
    assert taught.on == DAY
    for asked, lab in taught.greys.items():
        ink = lab_to_linear(np.array([asked, 0.0, 0.0]))
        share = np.clip(ink / 0.9, 0, 1) ** 1.12
        tint = 1 + np.array([0.05, 0.0, -0.06]) * 4 * share * (1 - share)
        wanted = linear_to_lab(0.03 + (PAPER - 0.03) * np.clip(share * tint, 0, 1))
        off = float(deltaE_ciede2000(np.array(lab), wanted))
        assert off < 1.6, (asked, lab, wanted)


@pytest.mark.parametrize("light", [(0.85, 0.85, 0.85), (0.9, 0.72, 0.5), (0.5, 0.6, 0.8)])
def test_the_card_alone_then_reads_true(taught: TaughtCard, light: tuple[float, float, float]) -> None:
    card = find_card(scene(False, replace(SHOT, light=light, turn_deg=15.0, seed=3)))
    assert card is not None
    known, plain = fit_correction(card, None, taught=[taught]), fit_correction(card, None)
    seen = np.clip(lab_to_linear(SWATCHES) * np.array(light), 0, 1)
    off = {
        name: deltaE_ciede2000(linear_to_lab(np.clip(correct_linear(c, seen), 0, 1)), SWATCHES)
        for name, c in (("taught", known), ("plain", plain))
    }
    assert known.kind is CalibrationKind.CARD
    assert known.taught is taught
    # the issue asks 1.5 (median) and 3.5 (95th percentile)
    assert np.median(off["taught"]) < 1.5, off
    assert off["taught"].max() < 3.5, off
    assert off["taught"].mean() < 0.6 * off["plain"].mean(), off


def test_the_reading_says_so_and_how_old_it_is(taught: TaughtCard) -> None:
    pixels = scene(False, replace(SHOT, seed=5))
    reading = read_photo(photo(pixels), taught=[taught], on=date(2026, 3, 11)).reading
    told = reading_to_dict(reading)["calibration"]
    assert told["kind"] == "card"
    assert (told["taught"]["date"], told["taught"]["age_days"]) == ("2026-03-01", 10)
    assert taught_from_dict(told["taught"]).on == DAY
    assert Flag.CARD_AGED not in reading.flags
    late = read_photo(photo(pixels), taught=[taught], on=date(2027, 5, 1)).reading
    assert Flag.CARD_AGED in late.flags
    assert reading_to_dict(read_photo(photo(pixels)).reading)["calibration"]["taught"] is None


def test_another_print_is_noticed(taught: TaughtCard) -> None:
    greys = {asked: (lab[0] * 0.8 + 12, lab[1] + 6, lab[2] - 9) for asked, lab in taught.greys.items()}
    other = replace(
        taught, greys={a: v if a in (60.0, 48.0, 36.0) else taught.greys[a] for a, v in greys.items()}
    )
    card = find_card(scene(False, replace(SHOT, seed=7)))
    assert card is not None
    assert Flag.CARD_DRIFTED in fit_correction(card, None, taught=[other]).flags
    assert Flag.CARD_DRIFTED not in fit_correction(card, None, taught=[taught]).flags


def test_a_card_of_another_size_is_left_alone(taught: TaughtCard) -> None:
    card = find_card(scene(False, SHOT))
    assert card is not None
    other = replace(taught, layout=next(layout.name for layout in LAYOUTS if layout.name != "A6"))
    assert fit_correction(card, None, taught=[other]).taught is None
    assert fit_taught(card, other, BalanceSettings()) is None


@pytest.mark.parametrize(
    ("pixels", "why"),
    [
        (np.full((600, 800, 3), 120, np.uint8), "no card"),
        (scene(False, SHOT), "no 24-patch"),
    ],
)
def test_what_cannot_teach_is_refused_with_its_reason(pixels: np.ndarray, why: str) -> None:
    with pytest.raises(CardNotTaughtError, match=why):
        teach_card(photo(pixels), DAY)


@pytest.mark.parametrize("gain", [0.5, 1.6])
def test_light_on_the_card_that_is_not_the_chart_s_is_refused(gain: float) -> None:
    """Printed paper (L* 95 here) in half the light would be learnt as grey, in more as above white."""
    shot = replace(SHOT, light=(0.5, 0.5, 0.5), noise_sd=0.5)
    pixels = scene(True, shot).copy()
    card = find_card(pixels)
    assert card is not None
    low, high = card.corners_px.min(axis=0).astype(int) - 4, card.corners_px.max(axis=0).astype(int) + 4
    part = pixels[low[1] : high[1], low[0] : high[0]]
    part[:] = linear_to_srgb8(srgb_to_linear(part) * np.float32(gain))
    with pytest.raises(CardNotTaughtError, match="paper comes out"):
        teach_card(photo(pixels), DAY)


def test_a_taught_card_survives_its_json(taught: TaughtCard) -> None:
    assert TaughtCard.from_dict(taught.to_dict()) == taught
