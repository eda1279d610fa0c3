"""Photograph flat things, a card or a chart, through a known homography: exact to a hundredth of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from vision.card_drawing import draw_card
from vision.card_layout import CardLayout

SUPER = 2  # samples per pixel and axis
CHART_MM = (60.0, 41.0)  # a small chart: 10 mm steps, 8.4 mm patches, dark frame
STEP_MM, PATCH_MM = 9.6, 8.2


@dataclass(frozen=True)
class Shot:
    """How the flat thing is looked at."""

    turn_deg: float = 0.0
    tilt_deg: float = 0.0
    mm_per_px: float = 0.25
    rows: int = 700
    cols: int = 1000
    blur_px: float = 0.7
    noise_sd: float = 1.5
    shade: float = 0.0  # light lost from one side of the photo to the other, 0..1
    light: tuple[float, float, float] = (1.0, 1.0, 1.0)
    table: tuple[int, int, int] = (120, 95, 70)
    seed: int = 0


def linear_of(codes: np.ndarray) -> np.ndarray:
    code = codes.astype(np.float32) / 255
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4).astype(np.float32)


def codes_of(linear: np.ndarray) -> np.ndarray:
    value = np.clip(linear, 0, 1)
    return 255 * np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)


def pose(shot: Shot, width_mm: float, height_mm: float) -> np.ndarray:
    """Millimetres of the thing -> photo pixels: a pinhole camera over its middle, tilted, then turned."""
    a, t = np.deg2rad(shot.turn_deg), np.deg2rad(shot.tilt_deg)
    turn = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    tilt = np.array([[1, 0, 0], [0, np.cos(t), -np.sin(t)], [0, np.sin(t), np.cos(t)]])
    focal = 1.25 * shot.cols  # a phone's main camera, about 70 degrees across the diagonal
    plane = tilt @ turn @ np.array([[1, 0, -width_mm / 2], [0, 1, -height_mm / 2], [0, 0, 0]])
    plane[2, 2] += focal * shot.mm_per_px
    camera = np.array([[focal, 0, (shot.cols - 1) / 2], [0, focal, (shot.rows - 1) / 2], [0, 0, 1]])
    matrix = camera @ plane
    return matrix / matrix[2, 2]


def photograph(linear: np.ndarray, px_per_mm: float, homography: np.ndarray, shot: Shot) -> np.ndarray:
    """Look at a flat (rows, cols, 3) linear picture of px_per_mm; give uint8 sRGB."""
    to_mm = np.array([[1 / px_per_mm, 0, 0.5 / px_per_mm], [0, 1 / px_per_mm, 0.5 / px_per_mm], [0, 0, 1]])
    finer = np.array([[SUPER, 0, (SUPER - 1) / 2], [0, SUPER, (SUPER - 1) / 2], [0, 0, 1]])
    size = (shot.cols * SUPER, shot.rows * SUPER)
    seen = np.empty((size[1], size[0], 3), np.float32)
    seen[:] = linear_of(np.array(shot.table))
    cv2.warpPerspective(
        linear,
        finer @ homography @ to_mm,
        size,
        dst=seen,
        flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_TRANSPARENT,
    )
    seen = cv2.resize(seen, (shot.cols, shot.rows), interpolation=cv2.INTER_AREA)
    x = np.linspace(-0.5, 0.5, shot.cols, dtype=np.float32)[None, :, None]
    y = np.linspace(-0.5, 0.5, shot.rows, dtype=np.float32)[:, None, None]
    seen = seen * np.exp(np.log1p(-shot.shade) * (0.8 * x + 0.6 * y + 0.5)) * np.array(shot.light, np.float32)
    seen = cv2.GaussianBlur(seen, (0, 0), shot.blur_px)
    code = codes_of(seen) + np.random.default_rng(shot.seed).normal(0, shot.noise_sd, seen.shape)
    return np.clip(np.rint(code), 0, 255).astype(np.uint8)


def card_photo(layout: CardLayout, shot: Shot) -> tuple[np.ndarray, np.ndarray]:
    """Give the photo and the true homography, card millimetres -> pixels."""
    homography = pose(shot, layout.width_mm, layout.height_mm)
    return photograph(linear_of(draw_card(layout, 10.0)), 10.0, homography, shot), homography


def chart_plan(linear_patches: np.ndarray, px_per_mm: float = 12.0) -> np.ndarray:
    """Draw a 24-patch chart, (rows, cols, 3) linear."""
    board = np.full((round(CHART_MM[1] * px_per_mm), round(CHART_MM[0] * px_per_mm), 3), 0.02, np.float32)
    for i, colour in enumerate(linear_patches):
        x, y = chart_place(i)
        half = PATCH_MM / 2
        rows = slice(round((y - half) * px_per_mm), round((y + half) * px_per_mm))
        cols = slice(round((x - half) * px_per_mm), round((x + half) * px_per_mm))
        board[rows, cols] = colour
    return board


def chart_place(i: int) -> tuple[float, float]:
    """Give the centre of patch i, 0..23, in millimetres on the chart."""
    left = (CHART_MM[0] - 5 * STEP_MM) / 2
    top = (CHART_MM[1] - 3 * STEP_MM) / 2
    return left + STEP_MM * (i % 6), top + STEP_MM * (i // 6)
