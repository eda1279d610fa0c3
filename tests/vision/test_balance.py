"""Colours come out right when a chart or the card is in the photo, and are left alone when none is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from tests.vision.flat_photo import (
    CHART_MM,
    Shot,
    card_photo,
    chart_plan,
    codes_of,
    linear_of,
    photograph,
    pose,
)
from vision.balance import Correction, correct_image, correct_linear, fit_correction, shading_gain
from vision.card import find_card
from vision.card_layout import A6
from vision.card_patches import PatchSample
from vision.chart import FoundChart, chart_lab, find_chart
from vision.colour import delta_e_00, lab_to_linear, linear_to_lab, srgb8_to_lab, srgb_to_linear
from vision.photo import load_photo
from vision.reading import CalibrationKind, Flag
from vision.settings import BalanceSettings, Settings
from vision.tone import tone_table, undo_tone

SHARED = Path(__file__).parents[3] / "shared" / "data" / "colour-chart-phone-photos"
needs_shared = pytest.mark.skipif(
    not SHARED.is_dir(), reason="the shared photos are not beside the repository"
)

# Glazes as a potter names them; CIELAB D65, our own choice inside sRGB
GLAZES = np.array(
    [
        [32, 8, 12],
        [86, 1, 6],
        [55, -14, 8],
        [40, 2, -24],
        [62, 18, 34],
        [74, -8, 22],
        [28, -6, -6],
        [48, 38, 26],
    ],
    dtype=float,
)


def phone(linear: np.ndarray, light: tuple[float, float, float], contrast: float, mix: float) -> np.ndarray:
    """A phone of our own: light, cross-talk, S-curve; gives linear light as decoded from its picture."""
    cross = np.eye(3) * (1 - mix) + mix / 3
    seen = np.clip((linear * light) @ cross, 0, 1)
    code = codes_of(seen) / 255
    toned = code + contrast * (code * code * (3 - 2 * code) - code)
    return linear_of(np.rint(toned * 255))


def patch(
    lab: tuple[float, float, float], rgb: np.ndarray, x: float, y: float, clipped: bool = False
) -> PatchSample:
    return PatchSample(lab, tuple(float(v) for v in rgb), 0.02, clipped, x, y, (0.0, 0.0))


def seen_chart(light=(1.0, 1.0, 1.0), contrast=0.0, mix=0.0, fall=0.0) -> FoundChart:
    """A chart's patches as the phone sees them, light falling by `fall` from left to right over 500 px."""
    linear = np.clip(lab_to_linear(np.array(chart_lab())), 0, 1).astype(float)
    places = [(100.0 + 100.0 * (i % 6), 100.0 + 100.0 * (i // 6)) for i in range(24)]
    factor = np.array([np.exp(np.log1p(-fall) * (x - 100) / 500) for x, _ in places])[:, None]
    rgb = phone(linear * factor, light, contrast, mix)
    clipped = (rgb > 0.98).any(axis=1)
    patches = tuple(
        patch(lab, v, x, y, bool(c))
        for lab, v, (x, y), c in zip(chart_lab(), rgb, places, clipped, strict=True)
    )
    corners = np.array([[50.0, 50.0], [650.0, 50.0], [650.0, 450.0], [50.0, 450.0]])
    return FoundChart("after_Nov_2014", np.eye(3), corners, patches, 0.0)


def glaze_off(correction: Correction, light, contrast: float, mix: float, gain: float = 1.0) -> np.ndarray:
    seen = phone(lab_to_linear(GLAZES).astype(float), light, contrast, mix)
    return delta_e_00(linear_to_lab(np.clip(correct_linear(correction, seen, gain), 0, 1)), GLAZES)


@pytest.mark.parametrize(
    ("light", "contrast", "mix"),
    [
        ((1.0, 1.0, 1.0), 0.0, 0.0),
        ((0.7, 0.55, 0.4), 0.0, 0.0),
        ((0.6, 0.6, 0.6), 0.0, 0.12),
        ((0.75, 0.6, 0.5), 0.4, 0.08),
    ],
)
def test_a_chart_brings_glazes_back(light, contrast: float, mix: float) -> None:
    correction = fit_correction(None, seen_chart(light, contrast, mix))
    assert correction.kind is CalibrationKind.CHART
    assert correction.residual_delta_e_00 is not None
    assert correction.residual_delta_e_00 < 1.0
    off = glaze_off(correction, light, contrast, mix)
    assert np.median(off) < 1.0, off
    assert off.max() < 2.5, off


def test_simpler_models_are_preferred() -> None:
    assert fit_correction(None, seen_chart((0.7, 0.6, 0.5))).model == "white balance"
    assert fit_correction(None, seen_chart((0.7, 0.6, 0.5), mix=0.15)).model == "linear"


def test_shading_across_the_chart_is_told_from_colour() -> None:
    flat = fit_correction(None, seen_chart((0.8, 0.8, 0.8), mix=0.1))
    uneven = fit_correction(None, seen_chart((0.9, 0.9, 0.9), mix=0.1, fall=0.35))
    assert flat.flags == ()
    assert uneven.flags == (Flag.UNEVEN_LIGHT,)
    assert uneven.residual_delta_e_00 < 1.0
    # 35 % lost over 500 px: a place at the right edge needs 1/0.65 times the light of one at the left
    left, right = uneven.fit.shade.gain(np.array([100.0, 600.0]), np.array([200.0, 200.0]), 2.0, 1.2)
    assert right / left == pytest.approx(np.full(3, 1 / 0.65), rel=0.03)
    assert (shading_gain(uneven, 900.0, 200.0) == 1).all(), "a chart's slope is not believed beyond it"


def test_clipped_and_covered_patches_are_left_out() -> None:
    chart = seen_chart((0.7, 0.6, 0.5))
    spoiled = list(chart.patches)
    spoiled[18] = replace(spoiled[18], linear_rgb=(1.0, 1.0, 1.0), clipped=True)
    spoiled[7] = replace(spoiled[7], linear_rgb=(0.5, 0.35, 0.25))  # a finger
    correction = fit_correction(None, replace(chart, patches=tuple(spoiled)))
    assert correction.kind is CalibrationKind.CHART
    assert correction.patches_used == 22
    assert np.median(glaze_off(correction, (0.7, 0.6, 0.5), 0.0, 0.0)) < 0.6


def test_a_chart_that_disagrees_with_itself_is_not_trusted() -> None:
    chart = seen_chart()
    rng = np.random.default_rng(1)
    patches = tuple(
        replace(p, linear_rgb=tuple(np.clip(np.array(p.linear_rgb) * rng.uniform(0.3, 1.6, 3), 0, 1)))
        for p in chart.patches
    )
    correction = fit_correction(None, replace(chart, patches=patches))
    assert correction.kind is CalibrationKind.NONE
    assert correction.flags == (Flag.CHART_NOT_TRUSTED, Flag.COLOUR_UNCORRECTED)


@pytest.mark.parametrize("light", [(0.85, 0.85, 0.85), (0.9, 0.72, 0.5), (0.45, 0.55, 0.7)])
def test_the_card_alone_gives_exposure_and_white(light: tuple[float, float, float]) -> None:
    pixels, _ = card_photo(A6, Shot(12.0, 10.0, 0.2, rows=800, cols=1100, light=light))
    card = find_card(pixels)
    correction = fit_correction(card, None)
    assert correction.kind is CalibrationKind.CARD
    assert correction.flags == ()
    seen = lab_to_linear(GLAZES).astype(float) * light
    off = delta_e_00(linear_to_lab(np.clip(correct_linear(correction, np.clip(seen, 0, 1)), 0, 1)), GLAZES)
    assert off.max() < 2.0, off


def test_the_card_tells_how_the_light_falls() -> None:
    shot = Shot(0.0, 0.0, 0.2, rows=800, cols=1100, shade=0.6, light=(0.9, 0.9, 0.9))
    pixels, _ = card_photo(A6, shot)
    correction = fit_correction(find_card(pixels), None)
    assert Flag.UNEVEN_LIGHT in correction.flags
    # flat_photo's light: exp(ln(1 - shade) (0.8 x + 0.6 y + 0.5)), x and y from -0.5 to 0.5
    wanted = np.exp(-np.log1p(-0.6) * 0.8 * 200 / 1100)
    shade = correction.fit.shade
    ratio = shade.gain(650.0, 400.0, 2.0, 1.2) / shade.gain(450.0, 400.0, 2.0, 1.2)
    assert ratio == pytest.approx(np.full(3, wanted), rel=0.02)
    # light falls to the right: towards the bright left half of the slope is believed, to the right less
    left, right = shading_gain(correction, np.array([450.0, 650.0]), np.array([400.0, 400.0]))
    bright, dark = BalanceSettings().shade_reach
    assert left == pytest.approx(shade.gain(450.0, 400.0, 2.0, 1.2) ** bright, rel=1e-3)
    assert right == pytest.approx(shade.gain(650.0, 400.0, 2.0, 1.2) ** dark, rel=1e-3)


def test_a_lamp_on_one_side_and_a_window_on_the_other() -> None:
    """Light that changes colour across the card: warm at the left, cool at the right."""
    pixels, _ = card_photo(
        A6, Shot(0.0, 0.0, 0.2, rows=800, cols=1100, light=(0.75, 0.75, 0.75), noise_sd=1.0)
    )
    x = np.linspace(-0.5, 0.5, 1100)[None, :, None]
    linear = linear_of(pixels) * np.exp(x * np.array([-0.24, 0.0, 0.24]))
    correction = fit_correction(find_card(np.rint(codes_of(linear)).astype(np.uint8)), None)
    lab = np.array([[55.0, -14.0, 8.0], [74.0, -8.0, 22.0]])
    for x_px, place in ((60.0, -0.445), (1040.0, 0.445)):
        seen = lab_to_linear(lab) * 0.75 * np.exp(place * np.array([-0.24, 0.0, 0.24]))
        put_right = correct_linear(correction, seen, correction.fit.shade.gain(x_px, 400.0, 1.5, 1.2))
        assert delta_e_00(linear_to_lab(put_right), lab).max() < 2.0
        plain = correct_linear(correction, seen)
        assert delta_e_00(linear_to_lab(plain), lab).min() > 2.5


def test_glare_on_one_ramp_does_not_move_the_exposure() -> None:
    pixels, _ = card_photo(A6, Shot(0.0, 0.0, 0.2, rows=800, cols=1100, light=(0.7, 0.7, 0.7)))
    card = find_card(pixels)
    assert card is not None
    plain = fit_correction(card, None)
    greys = [
        replace(p, linear_rgb=tuple(v + 0.15 for v in p.linear_rgb)) if 3 <= i <= 5 else p
        for i, p in enumerate(card.greys)
    ]
    spoiled = fit_correction(replace(card, greys=tuple(greys)), None)
    seen = lab_to_linear(GLAZES) * 0.7
    off = delta_e_00(linear_to_lab(correct_linear(plain, seen)), linear_to_lab(correct_linear(spoiled, seen)))
    assert off.max() < 1.5


def test_a_burnt_out_card_corrects_nothing() -> None:
    pixels, _ = card_photo(A6, Shot(0.0, 0.0, 0.2, rows=800, cols=1100, light=(0.7, 0.7, 0.7)))
    card = find_card(pixels)
    assert card is not None
    burnt = replace(card, greys=tuple(replace(p, clipped=True) for p in card.greys))
    assert fit_correction(burnt, None).kind is CalibrationKind.NONE


def test_without_card_or_chart_colours_stay() -> None:
    correction = fit_correction(None, None)
    assert correction.kind is CalibrationKind.NONE
    assert correction.residual_delta_e_00 is None
    assert correction.flags == (Flag.COLOUR_UNCORRECTED,)
    pixels = np.random.default_rng(0).integers(0, 255, (20, 30, 3), dtype=np.uint8)
    assert np.array_equal(correct_image(correction, pixels), pixels)
    linear = srgb_to_linear(pixels)
    assert np.array_equal(correct_linear(correction, linear), linear)
    assert np.array_equal(shading_gain(correction, np.zeros((3, 2)), np.zeros((3, 2))), np.ones((3, 2, 3)))


@pytest.mark.parametrize(("light", "mix"), [((0.7, 0.6, 0.5), 0.0), ((0.7, 0.6, 0.5), 0.15)])
def test_picture_and_numbers_are_corrected_alike(light, mix: float) -> None:
    correction = fit_correction(None, seen_chart(light, mix=mix))
    pixels = np.random.default_rng(0).integers(0, 200, (300, 40, 3), dtype=np.uint8)
    picture = correct_image(correction, pixels, gain=1.1)
    exact = codes_of(np.clip(correct_linear(correction, srgb_to_linear(pixels), 1.1), 0, 1))
    assert np.abs(picture - exact).max() <= 1.01


def test_every_model_corrects_pictures() -> None:
    chart = seen_chart((0.75, 0.6, 0.5), 0.4, 0.1)
    eager = Settings(balance=replace(BalanceSettings(), simpler_gain=1e9))
    correction = fit_correction(None, chart, eager)
    assert correction.model == "root-polynomial"
    pixels = np.random.default_rng(0).integers(0, 200, (300, 40, 3), dtype=np.uint8)
    exact = codes_of(np.clip(correct_linear(correction, srgb_to_linear(pixels)), 0, 1))
    assert np.abs(correct_image(correction, pixels) - exact).max() <= 1.01


def test_wrong_shapes_are_refused() -> None:
    correction = fit_correction(None, None)
    with pytest.raises(ValueError, match="uint8 is wanted"):
        correct_image(correction, np.zeros((4, 4, 3), np.float32))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="axis of 3"):
        correct_linear(correction, np.zeros((4, 2)))


def test_tone_is_undone_exactly() -> None:
    light = np.linspace(0, 1, 200)
    for power, contrast in ((1.0, 0.0), (0.8, 0.5), (1.3, -0.3)):
        code = codes_of(light ** (1 / power)) / 255
        toned = code + contrast * (code * code * (3 - 2 * code) - code)
        assert undo_tone(linear_of(toned * 255), power, contrast) == pytest.approx(light, abs=2e-3)
        table = tone_table(power, contrast)
        assert table[0] == pytest.approx(0, abs=1e-6)
        assert table[255] == pytest.approx(1, abs=1e-6)
        assert (np.diff(table) >= 0).all()


def test_chart_and_card_photographed_together() -> None:
    """Through the pixels: chart and swatches in warm light; swatches come back."""
    light = (0.95, 0.75, 0.5)
    board = chart_plan(np.clip(lab_to_linear(np.array(chart_lab())), 0, 1))
    swatches = np.repeat(np.repeat(np.clip(lab_to_linear(GLAZES), 0, 1)[None], 90, axis=0), 90, axis=1)
    wide = np.zeros((board.shape[0] + 90, board.shape[1], 3), np.float32) + 0.2
    wide[: board.shape[0]] = board
    wide[board.shape[0] :, : swatches.shape[1]] = swatches
    shot = Shot(0.0, 0.0, 0.1, light=light, noise_sd=1.0)
    homography = pose(shot, CHART_MM[0], CHART_MM[1] + 7.5)
    pixels = photograph(wide, 12.0, homography, shot)
    chart = find_chart(pixels)
    assert chart is not None
    picture = correct_image(fit_correction(None, chart), pixels)
    for i, lab in enumerate(GLAZES):
        x, y = cv2.perspectiveTransform(np.array([[[(i + 0.5) * 7.5, CHART_MM[1] + 3.75]]]), homography)[0, 0]
        part = picture[round(y) - 8 : round(y) + 8, round(x) - 8 : round(x) + 8].reshape(-1, 3)
        off = delta_e_00(srgb8_to_lab(np.median(part, axis=0).astype(np.uint8)), lab)
        assert float(off) < 2.0, f"glaze {lab}: {off:.2f}"


@needs_shared
@pytest.mark.parametrize("name", ["color_checker_1.jpg", "color_checker_6.jpg", "lab_chart_reference.png"])
def test_real_charts_are_corrected(name: str) -> None:
    """Better than colour-science's linear fit on the same patches, which sees all of them."""
    import warnings

    chart = find_chart(load_photo(SHARED / name).pixels)
    assert chart is not None
    correction = fit_correction(None, chart)
    assert correction.kind is CalibrationKind.CHART
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        science = pytest.importorskip("colour")
        seen = np.array([p.linear_rgb for p in chart.patches])
        wanted = lab_to_linear(np.array([p.lab for p in chart.patches])).astype(float)
        rival = science.colour_correction(seen, seen, wanted, method="Cheung 2004")
    rival_off = delta_e_00(linear_to_lab(np.clip(rival, 0, 1)), np.array([p.lab for p in chart.patches]))
    assert correction.residual_delta_e_00 <= rival_off.mean() + 0.05
    assert correction.left_out_delta_e_00 < 3.5
