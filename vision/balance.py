"""Correct a photo's colours from what it shows of a chart or of the card."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.balance_fit import Fit, Shade, apply_fit, fit_chart, fit_greys, paper_shade
from vision.card import FoundCard
from vision.chart import FoundChart
from vision.colour import linear_to_srgb8
from vision.reading import CalibrationKind, Flag
from vision.settings import BalanceSettings, Settings
from vision.surface import ByteImage
from vision.taught import fit_taught
from vision.taught_card import TaughtCard
from vision.tone import tone_table

__all__ = ["Correction", "correct_image", "correct_linear", "fit_correction", "shading_gain"]

_DEFAULT = Settings()
_STRIP_ROWS = 256


@dataclass(frozen=True, slots=True, eq=False)
class Correction:
    """How this photo's colours are put right.

    Attributes
    ----------
    kind : chart, card or none
    model : "root-polynomial", "linear", "white balance" or "none"
    residual_delta_e_00 : mean CIEDE2000 left on the patches used; None without any. With a card alone the
        patches' own colours are only nominal, so this says how regular they are, not how true
    left_out_delta_e_00 : the same for patches predicted by a fit to the others; the honest doubt of a chart
    patches_used : how many patches the fit rests on
    flags : COLOUR_UNCORRECTED, CHART_NOT_TRUSTED, UNEVEN_LIGHT
    fit : the numbers, None for no correction
    shade_limits : largest factors by which shading is evened out: of brightness, of one channel
    shade_reach : shares of the slope believed beyond the card, towards its bright and its dark side
    taught : the card's true colours that the fit rests on, None where they are only nominal or not used
    """

    kind: CalibrationKind
    model: str
    residual_delta_e_00: float | None
    left_out_delta_e_00: float | None
    patches_used: int
    flags: tuple[Flag, ...]
    fit: Fit | None
    shade_limits: tuple[float, float]
    shade_reach: tuple[float, float]
    taught: TaughtCard | None = None


def fit_correction(
    card: FoundCard | None,
    chart: FoundChart | None,
    settings: Settings = _DEFAULT,
    taught: Sequence[TaughtCard] = (),
) -> Correction:
    """Fit the best correction that the photo allows.

    Parameters
    ----------
    card : the reference card in this photo, if found
    chart : the 24-patch chart in this photo, if found
    settings : `settings.balance`
    taught : the studio's cards whose true colours are known; that of the card's size is used

    Returns
    -------
    From the chart where it can be trusted, else from the card's greys, else none.

    Notes
    -----
    After correction a colour is that of a diffuse surface lit like the chart, the chart's white at its
    published value (or the card's greys at their nominal ones).
    """
    balance = settings.balance
    flags: list[Flag] = []
    if chart is not None:
        fit = fit_chart(chart.patches, _card_shade(card, chart, balance), balance)
        if fit is not None and fit.left_out <= balance.chart_trust_delta_e_00:
            corners = chart.corners_px
            return _correction(CalibrationKind.CHART, fit, corners, flags, balance)
        flags.append(Flag.CHART_NOT_TRUSTED)
    known = next((one for one in taught if card is not None and one.layout == card.layout.name), None)
    if card is not None and known is not None:
        fit = fit_taught(card, known, balance)
        if fit is not None:
            if fit.residual > known.residual_delta_e_00 + balance.taught_drift_delta_e_00:
                flags.append(Flag.CARD_DRIFTED)
            found = _correction(CalibrationKind.CARD, fit, card.corners_px, flags, balance)
            return replace(found, taught=known)
    if card is not None:
        fit = fit_greys(card.greys, card.papers, balance)
        if fit is not None:
            return _correction(CalibrationKind.CARD, fit, card.corners_px, flags, balance)
    flags.append(Flag.COLOUR_UNCORRECTED)
    return Correction(CalibrationKind.NONE, "none", None, None, 0, tuple(flags), None, (1.0, 1.0), (0.0, 0.0))


def _card_shade(card: FoundCard | None, chart: FoundChart, settings: BalanceSettings) -> Shade | None:
    """Give the light's slope from the card's paper, moved to the chart's middle."""
    shade = None if card is None else paper_shade(card.papers, settings)
    if shade is None:
        return None
    x, y = chart.corners_px.mean(axis=0)
    return replace(shade, centre_x_px=float(x), centre_y_px=float(y))


def _correction(
    kind: CalibrationKind,
    fit: Fit,
    corners: NDArray[np.float64],
    flags: list[Flag],
    settings: BalanceSettings,
) -> Correction:
    limits = (settings.shade_limit, settings.shade_hue_limit)
    gain = fit.shade.gain(corners[:, 0], corners[:, 1], 10.0, 10.0)[:, 1]
    if float(gain.max() / gain.min()) > settings.uneven_ratio:
        flags.append(Flag.UNEVEN_LIGHT)
    return Correction(
        kind, fit.model, fit.residual, fit.left_out, fit.used, tuple(flags), fit, limits, settings.shade_reach
    )


def shading_gain(correction: Correction, x_px: Any, y_px: Any) -> NDArray[np.float32]:
    """Give the factors that make up for the light's fall at places beside the card.

    The card's slope is believed only in part beyond the card (`BalanceSettings.shade_reach`); the exact
    slope over the card or chart itself is `correction.fit.shade`.

    Parameters
    ----------
    correction : as fitted
    x_px, y_px : photo pixels, numbers or arrays of one shape

    Returns
    -------
    (..., 3) float32 for R, G and B; 1 at the card's middle, and everywhere without a card's correction
    """
    if correction.fit is None or correction.kind is not CalibrationKind.CARD:
        return np.ones((*np.shape(x_px), 3), dtype=np.float32)
    slope = np.log(correction.fit.shade.gain(x_px, y_px, *correction.shade_limits))
    bright, dark = correction.shade_reach
    # a gain below 1 lies towards the light
    reach = np.where(slope.mean(axis=-1, keepdims=True) < 0.0, bright, dark)
    return np.asarray(np.exp(slope * reach), dtype=np.float32)


def correct_linear(correction: Correction, linear_rgb: NDArray[Any], gain: Any = 1.0) -> NDArray[np.float32]:
    """Correct linear colours.

    Parameters
    ----------
    correction : as fitted
    linear_rgb : (..., 3) linear sRGB as decoded from the photo, 0..1
    gain : a number, or (3,) or (..., 3) from `shading_gain`

    Returns
    -------
    (..., 3) float32 linear sRGB of the surface; may lie outside 0..1
    """
    array = np.asarray(linear_rgb, dtype=np.float32)
    if array.ndim == 0 or array.shape[-1] != 3:
        raise ValueError(f"an array ending in an axis of 3 is wanted, got shape {array.shape}")
    if correction.fit is None:
        return array.copy()
    return np.asarray(apply_fit(correction.fit, array) * np.asarray(gain, dtype=np.float32), dtype=np.float32)


def correct_image(correction: Correction, pixels: ByteImage, gain: Any = 1.0) -> ByteImage:
    """Correct a picture or a part of one.

    Parameters
    ----------
    correction : as fitted
    pixels : (rows, cols, 3) uint8 sRGB
    gain : a number, or (3,) from `shading_gain` at its middle

    Returns
    -------
    (rows, cols, 3) uint8 sRGB; what falls outside sRGB is clipped
    """
    if pixels.dtype != np.uint8 or pixels.ndim != 3 or pixels.shape[2] != 3:
        raise ValueError(f"(rows, cols, 3) uint8 is wanted, got {pixels.shape} {pixels.dtype}")
    fit = correction.fit
    if fit is None:
        return pixels.copy()
    matrix = (fit.matrix * np.asarray(gain)).astype(np.float32)
    table = tone_table(fit.power, fit.contrast)
    if fit.model == "white balance":
        codes = linear_to_srgb8(table[:, None] * np.diag(matrix)[None, :])
        return np.asarray(cv2.LUT(pixels, codes.reshape(1, 256, 3)), dtype=np.uint8)
    out = np.empty_like(pixels)
    for top in range(0, pixels.shape[0], _STRIP_ROWS):
        light = cv2.LUT(pixels[top : top + _STRIP_ROWS], table)
        corrected = cv2.transform(light, matrix[:3].T)
        if len(matrix) > 3:
            red, green, blue = cv2.split(light)
            following = cv2.merge((green, blue, red))
            corrected += cv2.transform(cv2.sqrt(cv2.multiply(light, following)), matrix[3:].T)
        out[top : top + _STRIP_ROWS] = linear_to_srgb8(corrected)
    return out
