"""How well a glaze hides a dark stripe under it: the contrast ratio of paint testing, by photo."""

from __future__ import annotations

from math import erf, sqrt

import numpy as np
from numpy.typing import NDArray

from vision.face import Face
from vision.palette import ColourDoubt
from vision.reading import CalibrationKind, Opacity
from vision.settings import ColourSettings, FaceSettings
from vision.stripe import Stripe
from vision.surface import FloatImage

__all__ = ["luminance", "measure_opacity"]

_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""Relative luminance of linear sRGB (IEC 61966-2-1)."""


def luminance(light: FloatImage) -> FloatImage:
    """Give relative luminance Y of linear sRGB (..., 3): white 1."""
    return np.asarray(light @ _LUMINANCE, np.float32)


def measure_opacity(
    face: Face,
    stripe: Stripe,
    doubt: ColourDoubt,
    settings: FaceSettings,
    colour: ColourSettings,
    to_photo: NDArray[np.float64],
) -> Opacity | None:
    """Measure the contrast ratio of glaze over a dark stripe and over the light ground beside it.

    Parameters
    ----------
    face : the reduced piece
    stripe : where the stripe is
    doubt : what is known of the photo's colours; its veil is taken off `face` already
    settings, colour : doubts
    to_photo : (3, 3) homography, pixels of the reduced face to photo pixels

    Returns
    -------
    Opacity, or None where stripe or ground cannot be seen

    Notes
    -----
    Y over dark divided by Y over light (ASTM D2805, ISO 6504-3), taken in strips along the stripe, each
    against its own ground on both sides; the median is told. A photo's Y is not a spectrophotometer's:
    mirrored light lifts both, and the phone's tone curve bends the ratio. Both are in the doubt.
    """
    along, across = stripe.along_across(face.glazed.shape)
    reach = np.abs(across) / np.float32(stripe.width)
    inside = face.clear & (np.abs(along) < stripe.length / 2)
    core = inside & (reach < settings.stripe_core / 2)
    near, far = settings.stripe_beside
    beside = inside & (reach > near) & (reach < far)
    strip = np.clip(
        ((along / stripe.length + 0.5) * settings.stripe_strips).astype(int), 0, settings.stripe_strips - 1
    )
    y = luminance(face.light)
    pairs = []
    for k in range(settings.stripe_strips):
        dark, upper = core & (strip == k), beside & (strip == k) & (across < 0)
        lower = beside & (strip == k) & (across > 0)
        grounds = [float(np.median(y[side])) for side in (upper, lower) if int(side.sum()) >= 6]
        if int(dark.sum()) >= 6 and grounds:
            pairs.append((float(np.median(y[dark])), float(np.mean(grounds))))
    if len(pairs) < 3:
        return None
    dark_y, light_y = (np.array(side) for side in zip(*pairs, strict=True))
    ratios = dark_y / np.maximum(light_y, 1e-4)
    ratio, light = float(np.median(ratios)), float(np.median(light_y))
    scatter = float(1.4826 * np.median(np.abs(ratios - ratio)) / np.sqrt(len(ratios)))
    veil = colour.veil_doubt[0] * abs(1 - ratio) / max(light, 1e-3)
    tone = dict(zip(CalibrationKind, settings.opacity_tone_doubt, strict=True))[doubt.kind]
    bend = tone * ratio * abs(np.log(max(ratio, 1e-3)))
    sd = float(np.sqrt(scatter**2 + veil**2 + bend**2 + settings.opacity_least_doubt**2))
    corners = (to_photo @ np.column_stack([stripe.corners(), np.ones(4)]).T).T
    return Opacity(
        contrast_ratio=ratio,
        contrast_ratio_sd=sd,
        hides_probability=0.5 * (1 + erf((ratio - settings.hiding_ratio) / (sd * sqrt(2)))),
        stripe_px=tuple((float(x / w), float(v / w)) for x, v, w in corners),
        by_hand=stripe.by_hand,
    )
