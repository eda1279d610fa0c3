"""CIELAB D65 to and from linear sRGB, and the 24-patch chart's values as reflectances.

Formulae: CIE 15 (CIELAB), IEC 61966-2-1 (sRGB primaries, D65). Adaptation D50 to D65: linear Bradford.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["chart_patches", "lab_to_linear", "linear_to_lab", "linear_to_srgb", "srgb_to_linear"]

_RGB_TO_XYZ = np.array(
    [
        [0.4123907993, 0.3575843394, 0.1804807884],
        [0.2126390059, 0.7151686788, 0.0721923154],
        [0.0193308187, 0.1191947798, 0.9505321522],
    ]
)
_XYZ_TO_RGB = np.linalg.inv(_RGB_TO_XYZ)
_WHITE_D65 = _RGB_TO_XYZ.sum(axis=1)
_WHITE_D50 = np.array([0.3457 / 0.3585, 1.0, (1.0 - 0.3457 - 0.3585) / 0.3585])
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
_EPSILON, _KAPPA = 216.0 / 24389.0, 24389.0 / 27.0
_CHART_FILE = Path(__file__).with_name("chart24.csv")


def _lab_to_xyz(lab: ArrayLike, white: NDArray[np.float64]) -> NDArray[np.float64]:
    lab = np.asarray(lab, dtype=np.float64)
    fy = (lab[..., 0] + 16.0) / 116.0
    f = np.stack([fy + lab[..., 1] / 500.0, fy, fy - lab[..., 2] / 200.0], axis=-1)
    ratio = np.where(f**3 > _EPSILON, f**3, (116.0 * f - 16.0) / _KAPPA)
    return np.asarray(ratio * white)


def lab_to_linear(lab: ArrayLike) -> NDArray[np.float64]:
    """Turn CIELAB D65 (..., 3) into linear sRGB reflectance (..., 3), clipped to 0.002..0.95."""
    rgb = _lab_to_xyz(lab, _WHITE_D65) @ _XYZ_TO_RGB.T
    return np.asarray(np.clip(rgb, 0.002, 0.95))


def linear_to_lab(rgb: ArrayLike) -> NDArray[np.float64]:
    """Turn linear sRGB (..., 3), 1 = perfect white, into CIELAB D65 (..., 3)."""
    ratio = np.asarray(rgb, dtype=np.float64) @ _RGB_TO_XYZ.T / _WHITE_D65
    f = np.where(ratio > _EPSILON, np.cbrt(ratio), (_KAPPA * ratio + 16.0) / 116.0)
    return np.stack(
        [116.0 * f[..., 1] - 16.0, 500.0 * (f[..., 0] - f[..., 1]), 200.0 * (f[..., 1] - f[..., 2])], axis=-1
    )


def srgb_to_linear(code: ArrayLike) -> NDArray[np.float32]:
    """Turn sRGB codes 0..1 into linear light 0..1."""
    code = np.asarray(code, dtype=np.float32)
    return np.asarray(
        np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4), dtype=np.float32
    )


def linear_to_srgb(light: ArrayLike) -> NDArray[np.float32]:
    """Turn linear light 0..1 into sRGB codes 0..1."""
    light = np.clip(np.asarray(light, dtype=np.float32), 0.0, 1.0)
    high = 1.055 * np.power(np.maximum(light, 1e-8), 1 / 2.4) - 0.055
    return np.asarray(np.where(light <= 0.0031308, 12.92 * light, high), dtype=np.float32)


def chart_patches() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the 24 patches in reading order: linear sRGB (24, 3) and CIELAB D65 (24, 3)."""
    with _CHART_FILE.open(encoding="utf-8", newline="") as file:
        rows = sorted(csv.DictReader(file), key=lambda row: int(row["patch"]))
    lab_d50 = np.array(
        [[float(row[f"{axis}_D50"]) for axis in ("L_star", "a_star", "b_star")] for row in rows]
    )
    cone_d50, cone_d65 = _BRADFORD @ _WHITE_D50, _BRADFORD @ _WHITE_D65
    adapt = np.linalg.inv(_BRADFORD) @ np.diag(cone_d65 / cone_d50) @ _BRADFORD
    linear = _lab_to_xyz(lab_d50, _WHITE_D50) @ adapt.T @ _XYZ_TO_RGB.T
    # Cyan lies a hair outside sRGB: a reflectance must not be negative, so the truth is the clipped one.
    linear = np.clip(linear, 0.002, 0.98)
    return linear, linear_to_lab(linear)
