"""Gloss from how reflections look: their contrast, their edges, the skew of the lightness. Never gloss units.

Cues named in the literature: contrast and sharpness of highlights (Ferwerda, Pellacini & Greenberg 2001),
skew of the luminance histogram (Motoyoshi, Nishida, Sharan & Adelson 2007), their coverage and size
(Marlow, Kim & Anderson 2012).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from vision.reading import Finish, Gloss
from vision.settings import GlossSettings
from vision.surface import Surface

__all__ = ["GlossCues", "gloss_cues", "measure_gloss"]


@dataclass(frozen=True, slots=True)
class GlossCues:
    """What the reflections on a face look like.

    Attributes
    ----------
    contrast : linear luminance of the brightest hundredth over the median, less one
    sharpness : steepest slope at highlights over their height, 1/pixel times the blur, about 0..1
    coverage : fraction of the face under highlights
    skew : skewness of the linear luminance after fine grain is smoothed away
    clipped : fraction of the face where the sensor is full
    """

    contrast: float
    sharpness: float
    coverage: float
    skew: float
    clipped: float


def gloss_cues(surface: Surface, settings: GlossSettings) -> GlossCues | None:
    """Measure the cues; None when too little glaze is in view."""
    face = surface.glazed
    if face.sum() < settings.least_pixels:
        return None
    scale = min(1.0, settings.long_side_px / max(face.shape))
    size = (max(8, round(face.shape[1] * scale)), max(8, round(face.shape[0] * scale)))
    small = cv2.resize(surface.lab[..., 0], size, interpolation=cv2.INTER_AREA)
    inside8 = cv2.resize(face.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    inside = cv2.erode(inside8, np.ones((3, 3), np.uint8)) > 0
    if inside.sum() < settings.least_pixels:
        inside = inside8 > 0
    luminance = ((np.maximum(small, 0) + 16.0) / 116.0) ** 3
    smooth = cv2.GaussianBlur(luminance.astype(np.float32), (0, 0), 1.0)
    values = smooth[inside]
    middle = float(np.median(values))
    high = float(np.percentile(values, 99))
    contrast = high / max(middle, settings.darkest) - 1.0
    level = middle + settings.highlight_share * (high - middle)
    over = inside & (smooth > level)
    slope = cv2.magnitude(cv2.Sobel(smooth, cv2.CV_32F, 1, 0) / 8, cv2.Sobel(smooth, cv2.CV_32F, 0, 1) / 8)
    rim = (cv2.dilate(over.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0) & inside
    blur = np.hypot(surface.blur_px * scale, 1.0)
    rise = max(high - middle, 1e-4)
    steep = float(np.percentile(slope[rim], 95)) if rim.sum() > 10 else 0.0
    sharpness = steep / rise * blur * float(np.sqrt(2 * np.pi))
    centred = values - values.mean()
    sd = float(values.std())
    skew = float((centred**3).mean()) / sd**3 if sd > 1e-6 else 0.0
    clipped = float((small[inside] > settings.full_lightness).mean())
    return GlossCues(contrast, min(sharpness, 1.5), float(over.sum() / inside.sum()), skew, clipped)


def measure_gloss(surface: Surface, settings: GlossSettings) -> Gloss:
    """Give the gloss proxy and the finish class.

    Returns
    -------
    `Gloss`; all None when no reflection is in view that could tell (the caller flags NO_REFLECTION).
    """
    cues = gloss_cues(surface, settings)
    if cues is None:
        return Gloss(None, None, None)
    if cues.contrast < settings.least_contrast and cues.clipped < settings.least_clipped:
        return Gloss(None, None, None)
    shine = (
        settings.weight_offset
        + settings.weight_contrast * float(np.log1p(max(cues.contrast, 0.0)))
        + settings.weight_sharpness * cues.sharpness
        + settings.weight_skew * float(np.clip(cues.skew, -1.0, 4.0))
        + settings.weight_clipped * min(cues.clipped, settings.most_clipped) / settings.most_clipped
    )
    proxy = 1.0 / (1.0 + float(np.exp(-shine)))
    limits = (settings.matt_below, settings.gloss_above)
    steps = [1.0 / (1.0 + float(np.exp(-(proxy - limit) / settings.class_softness))) for limit in limits]
    shares = {Finish.MATT: 1 - steps[0], Finish.SATIN: max(0.0, steps[0] - steps[1]), Finish.GLOSS: steps[1]}
    finish = max(shares, key=lambda f: shares[f])
    return Gloss(proxy, finish, shares[finish] / sum(shares.values()))
