"""Printed things in the photo as textures: the reference card, the 24-patch chart, label strips."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import segno
from numpy.typing import NDArray

from vision.card_drawing import draw_card
from vision.card_layout import CardLayout

from .colour import chart_patches, srgb_to_linear
from .noise import Field, fractal, smooth_noise

__all__ = [
    "CHART_SIZE_MM",
    "LABEL_SIZE_MM",
    "Print",
    "card_texture",
    "chart_layout",
    "chart_texture",
    "label_texture",
]

CHART_SIZE_MM = (110.0, 76.0)
LABEL_SIZE_MM = (34.0, 12.0)
_PATCH_MM, _GAP_MM = 15.4, 2.2


@dataclass(frozen=True, slots=True)
class Print:
    """How a printer and its paper turn asked greys into real ones.

    Attributes
    ----------
    paper : (3,) linear reflectance of the bare paper
    gain : exponent on the asked reflectance, 1 true, above 1 darker mid-tones
    ink : (3,) tint of the ink's greys, mean 1
    floor : lowest reflectance the ink reaches
    """

    paper: tuple[float, float, float] = (0.87, 0.875, 0.89)
    gain: float = 1.03
    ink: tuple[float, float, float] = (1.0, 1.0, 1.0)
    floor: float = 0.016

    @classmethod
    def of(cls, rng: np.random.Generator) -> Print:
        """Draw a printer and paper at random."""
        white = rng.uniform(0.80, 0.90)
        tint = rng.normal(0, 0.008, 3) + np.array([-0.004, 0.0, 0.010]) * rng.uniform(-0.5, 1.5)
        ink = 1 + rng.normal(0, 0.018, 3)
        return cls(
            tuple(np.clip(white + tint, 0.7, 0.93).tolist()),
            float(rng.normal(1.02, 0.05)),
            tuple((ink / ink.mean()).tolist()),
            float(rng.uniform(0.012, 0.030)),
        )

    def laid_down(self, code: NDArray[np.uint8]) -> Field:
        """Turn an sRGB picture (rows, cols, 3) uint8 into the printed linear reflectance."""
        asked = srgb_to_linear(code.astype(np.float32) / 255.0)
        share = np.clip(asked / 0.90, 0, 1) ** self.gain
        tinted = share * (1 + (np.asarray(self.ink, dtype=np.float32) - 1) * 4 * share * (1 - share))
        paper = np.asarray(self.paper, dtype=np.float32)
        return np.asarray(self.floor + (paper - self.floor) * np.clip(tinted, 0, 1), dtype=np.float32)


def _grain(rng: np.random.Generator, shape: tuple[int, int], texel_mm: float) -> Field:
    stains = 1 - 0.012 * np.clip(fractal(rng, shape, 30 / texel_mm, 3), 0, 3)
    return np.asarray(stains + 0.006 * smooth_noise(rng, shape, 0.4 / texel_mm), dtype=np.float32)


def card_texture(
    rng: np.random.Generator, layout: CardLayout, px_per_mm: float, printing: Print, dirt: float
) -> Field:
    """Print the reference card: (rows, cols, 3) linear reflectance; `dirt` 0..1 adds clay smears."""
    printed = printing.laid_down(draw_card(layout, px_per_mm))
    shape = (printed.shape[0], printed.shape[1])
    printed = printed * _grain(rng, shape, 1 / px_per_mm)[..., None]
    smear = np.clip(fractal(rng, shape, 25 * px_per_mm, 5) - 1.3, 0, 1.5)[..., None] * 0.35 * dirt
    clay = np.array([0.42, 0.33, 0.25], dtype=np.float32)
    return np.asarray(np.clip(printed * (1 - smear) + clay * smear, 0.002, 0.95), dtype=np.float32)


def chart_layout() -> NDArray[np.float64]:
    """Give each patch's centre, in reading order, on the chart's board: (24, 2) mm from its top left."""
    step = _PATCH_MM + _GAP_MM
    left = (CHART_SIZE_MM[0] - 6 * _PATCH_MM - 5 * _GAP_MM) / 2 + _PATCH_MM / 2
    top = (CHART_SIZE_MM[1] - 4 * _PATCH_MM - 3 * _GAP_MM) / 2 + _PATCH_MM / 2
    return np.array([[left + c * step, top + r * step] for r in range(4) for c in range(6)])


def chart_texture(px_per_mm: float) -> Field:
    """Paint the 24-patch chart on its dark board: (rows, cols, 3) linear reflectance."""
    shape = (round(CHART_SIZE_MM[1] * px_per_mm), round(CHART_SIZE_MM[0] * px_per_mm))
    board = np.full((*shape, 3), 0.028, np.float32)
    half = _PATCH_MM / 2
    for (x, y), colour in zip(chart_layout(), chart_patches()[0], strict=True):
        rows = slice(round((y - half) * px_per_mm), round((y + half) * px_per_mm))
        cols = slice(round((x - half) * px_per_mm), round((x + half) * px_per_mm))
        board[rows, cols] = colour
    return board


def label_texture(rng: np.random.Generator, code: str, px_per_mm: float, printing: Print) -> Field:
    """Print a label strip: QR code at the left, the code in plain text at the right."""
    w, h = LABEL_SIZE_MM
    rows, cols = round(h * px_per_mm), round(w * px_per_mm)
    strip = np.full((rows, cols), 248, np.uint8)
    qr = segno.make(code, error="m", micro=False)
    modules = np.array([[0 if dark else 255 for dark in row] for row in qr.matrix_iter(border=3)], np.uint8)
    modules = np.where(modules == 255, 248, 28).astype(np.uint8)
    side = rows - 2 * round(0.3 * px_per_mm)
    top = (rows - side) // 2
    strip[top : top + side, top : top + side] = cv2.resize(
        modules, (side, side), interpolation=cv2.INTER_NEAREST
    )
    room = cols - side - 3 * top
    scale = 1.0
    (text_w, text_h), _ = cv2.getTextSize(code, cv2.FONT_HERSHEY_DUPLEX, scale, 2)
    scale = min(room * 0.94 / text_w, rows * 0.45 / text_h)
    (text_w, text_h), _ = cv2.getTextSize(code, cv2.FONT_HERSHEY_DUPLEX, scale, 2)
    place = (side + 2 * top + (room - text_w) // 2, (rows + text_h) // 2)
    cv2.putText(strip, code, place, cv2.FONT_HERSHEY_DUPLEX, scale, 30, max(1, round(scale * 2)), cv2.LINE_AA)
    printed = printing.laid_down(np.repeat(strip[:, :, None], 3, axis=2))
    return np.asarray(printed * _grain(rng, (rows, cols), 1 / px_per_mm)[..., None], dtype=np.float32)
