"""What the camera made of the card's greys and of its bare paper."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card_layout import CardLayout, Rect
from vision.colour import srgb_to_linear
from vision.settings import CardSettings
from vision.surface import ByteImage

__all__ = ["PatchSample", "paper_rects", "sample_patches"]


@dataclass(frozen=True, slots=True)
class PatchSample:
    """One uniform patch as the camera saw it.

    Attributes
    ----------
    lab : what the patch should be, CIELAB D65; nominal for a printed card, published for a chart
    linear_rgb : mean linear sRGB, 0..1
    spread : relative standard deviation of its brightness: noise, or something lying on it
    clipped : True when too many of its pixels are burnt out or lost in black
    x_px, y_px : its centre in the photo
    place : its centre on the card, millimetres, or on the chart, (column, row) from 0
    """

    lab: tuple[float, float, float]
    linear_rgb: tuple[float, float, float]
    spread: float
    clipped: bool
    x_px: float
    y_px: float
    place: tuple[float, float]


def paper_rects(layout: CardLayout) -> tuple[Rect, ...]:
    """Give places of bare paper: above the label place, below it, above the lower ramp, and at both sides."""
    side = 2 * layout.margin_mm + layout.marker_mm
    place = layout.label_rect()
    _, rule_y, _ = layout.rule()
    ramp_low = layout.grey_rects()[-1][0]
    gap = layout.margin_mm * 0.35
    bands = (
        (layout.margin_mm + layout.marker_mm * 0.72 + gap, place.y_mm - gap),
        (place.y_mm + place.height_mm + gap, rule_y - 5.0 - gap),
        (rule_y + 5.5, ramp_low.y_mm - gap),
    )
    rects: list[Rect] = []
    width = (layout.width_mm - 2 * side) / 4
    for top, low in bands:
        if low - top >= 1.5:
            rects += [Rect(side + i * width, top, width, low - top) for i in range(4)]
    top, low = (
        layout.margin_mm * 2 + layout.marker_mm,
        layout.height_mm - layout.margin_mm * 2 - layout.marker_mm,
    )
    high = (low - top) / 2
    for x in (layout.margin_mm, layout.width_mm - layout.margin_mm - layout.marker_mm):
        rects += [Rect(x, top + i * high, layout.marker_mm, high) for i in range(2)]
    return tuple(rects)


def sample_patches(
    pixels: ByteImage, layout: CardLayout, homography: NDArray[np.float64], settings: CardSettings
) -> tuple[tuple[PatchSample, ...], tuple[PatchSample, ...]]:
    """Sample the grey ramp and the bare paper.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    layout : the card
    homography : (3, 3), card millimetres -> photo pixels

    Returns
    -------
    grey patches, paper places; those that do not lie wholly in the photo are left out.
    """
    per_mm = settings.sample_px_per_mm
    size = (round(layout.width_mm * per_mm), round(layout.height_mm * per_mm))
    to_sheet = np.array([[per_mm, 0, -0.5], [0, per_mm, -0.5], [0, 0, 1]]) @ np.linalg.inv(homography)
    sheet = cv2.warpPerspective(pixels, to_sheet, size, flags=cv2.INTER_LINEAR)

    def sample(rect: Rect, lightness: float) -> PatchSample | None:
        inset = settings.patch_inset
        x0, x1 = rect.x_mm + inset * rect.width_mm, rect.x_mm + (1 - inset) * rect.width_mm
        y0, y1 = rect.y_mm + inset * rect.height_mm, rect.y_mm + (1 - inset) * rect.height_mm
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        points = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], middle])
        seen = cv2.perspectiveTransform(points.reshape(1, -1, 2), homography)[0]
        if seen.min() < 0 or (seen.max(axis=0) > (pixels.shape[1] - 1, pixels.shape[0] - 1)).any():
            return None
        part = sheet[round(y0 * per_mm) : round(y1 * per_mm), round(x0 * per_mm) : round(x1 * per_mm)]
        return measure_patch(part.reshape(-1, 3), (lightness, 0.0, 0.0), tuple(seen[4]), middle, settings)

    greys = [sample(rect, lightness) for rect, lightness in layout.grey_rects()]
    papers = [sample(rect, 96.0) for rect in paper_rects(layout)]
    return tuple(p for p in greys if p is not None), tuple(p for p in papers if p is not None)


def measure_patch(
    codes: NDArray[np.uint8],
    lab: tuple[float, float, float],
    at_px: tuple[float, ...],
    place: tuple[float, float],
    settings: CardSettings,
) -> PatchSample:
    """Give a patch's mean linear colour from its (n, 3) uint8 codes, outliers by brightness left out."""
    linear = srgb_to_linear(codes)
    bright = linear @ np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)
    middle = float(np.median(bright))
    spread = 1.4826 * float(np.median(np.abs(bright - middle))) + 1e-4
    kept = linear[np.abs(bright - middle) <= 3.0 * spread]
    mean = kept.mean(axis=0)
    lost = ((codes >= settings.clipped_high) | (codes <= settings.clipped_low)).any(axis=1)
    return PatchSample(
        lab=lab,
        linear_rgb=(float(mean[0]), float(mean[1]), float(mean[2])),
        spread=float(bright.std()) / max(middle, 1e-4),
        clipped=float(lost.mean()) > settings.clipped_share,
        x_px=float(at_px[0]),
        y_px=float(at_px[1]),
        place=(float(place[0]), float(place[1])),
    )
