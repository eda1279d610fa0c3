"""Colour arithmetic: sRGB, linear light, XYZ, CIELAB and CIEDE2000.

All arrays end in an axis of three. Linear RGB and XYZ are relative: diffuse white is 1. CIELAB is D65,
2 degree observer, L* 0..100, unless a name says D50. Arithmetic is float32 for pictures. Nothing heavy
is imported with this module, so the catalogue can use it too.

Sources: IEC 61966-2-1 (sRGB), ISO/CIE 11664-4 (CIELAB), ICC.1 annex E (Bradford adaptation),
Sharma, Wu & Dalal 2005 (CIEDE2000).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "WHITE_D50",
    "WHITE_D65",
    "adapt_d50_to_d65",
    "adapt_d65_to_d50",
    "delta_e_00",
    "lab_d50_to_lab",
    "lab_to_linear",
    "lab_to_srgb8",
    "lab_to_xyz",
    "linear_to_lab",
    "linear_to_srgb",
    "linear_to_srgb8",
    "linear_to_xyz",
    "srgb8_to_lab",
    "srgb_to_linear",
    "xyz_to_lab",
    "xyz_to_linear",
]

Floats = NDArray[np.float32]

WHITE_D65: tuple[float, float, float] = (0.95047, 1.0, 1.08883)
"""ASTM E308 D65, 2 degree observer, Y = 1."""
WHITE_D50: tuple[float, float, float] = (0.96422, 1.0, 0.82521)
"""ASTM E308 D50, 2 degree observer, Y = 1; the ICC's profile connection space."""

_EPSILON, _KAPPA = 216 / 24389, 24389 / 27
"""ISO/CIE 11664-4's (6/29)^3 and (29/3)^3."""


def _rgb_to_xyz() -> NDArray[np.float64]:
    """Linear sRGB -> XYZ with exactly the D65 above, so that neutral greys get a* = b* = 0 (SMPTE RP 177)."""
    primaries = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
    columns = np.array([[x / y, 1.0, (1.0 - x - y) / y] for x, y in primaries]).T
    return np.asarray(columns * np.linalg.solve(columns, np.array(WHITE_D65)), dtype=np.float64)


_TO_XYZ = _rgb_to_xyz()
_TO_RGB = np.asarray(np.linalg.inv(_TO_XYZ), dtype=np.float64)
_CONE = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
"""Bradford cone response, ICC.1:2022 annex E."""
_GAIN = (_CONE @ np.array(WHITE_D65)) / (_CONE @ np.array(WHITE_D50))
_D50_TO_D65 = np.asarray(np.linalg.solve(_CONE, _GAIN[:, None] * _CONE), dtype=np.float64)
_D65_TO_D50 = np.asarray(np.linalg.inv(_D50_TO_D65), dtype=np.float64)


def _linear_table() -> Floats:
    code = np.arange(256) / 255.0
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4).astype(np.float32)


_LINEAR = _linear_table()
_CODE_STEPS = 8192
_PICTURE_SIZE = 30_000
"""Numbers in an array from which loading OpenCV pays."""


def _code_table() -> NDArray[np.uint8]:
    linear = np.arange(_CODE_STEPS + 1) / _CODE_STEPS
    code = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.rint(255.0 * code).astype(np.uint8)


_CODE = _code_table()


def _three(values: ArrayLike) -> Floats:
    array = np.asarray(values, dtype=np.float32)
    if array.ndim == 0 or array.shape[-1] != 3:
        raise ValueError(f"an array ending in an axis of 3 is wanted, got shape {array.shape}")
    return array


def _times(values: ArrayLike, matrix: NDArray[np.float64]) -> Floats:
    return np.asarray(_three(values) @ matrix.T.astype(np.float32), dtype=np.float32)


def srgb_to_linear(srgb: ArrayLike) -> Floats:
    """Undo the sRGB curve.

    Parameters
    ----------
    srgb : (..., 3) uint8 codes 0..255, or floats 0..1

    Returns
    -------
    (..., 3) float32, 0..1

    Raises
    ------
    TypeError : integers other than uint8, whose scale cannot be known.
    """
    array = np.asarray(srgb)
    if array.dtype == np.uint8:
        return np.asarray(np.take(_LINEAR, array), dtype=np.float32)
    if not np.issubdtype(array.dtype, np.floating):
        raise TypeError(f"uint8 or floats 0..1 are wanted, got {array.dtype}")
    value = array.astype(np.float32)
    high = ((np.maximum(value, np.float32(0.04045)) + np.float32(0.055)) / np.float32(1.055)) ** np.float32(
        2.4
    )
    return np.where(value <= 0.04045, value / np.float32(12.92), high).astype(np.float32)


def linear_to_srgb(linear: ArrayLike) -> Floats:
    """Apply the sRGB curve; (..., 3) linear light to float32 0..1, clipped to that range."""
    value = np.clip(np.asarray(linear, dtype=np.float32), np.float32(0), np.float32(1))
    high = np.float32(1.055) * value ** np.float32(1 / 2.4) - np.float32(0.055)
    return np.where(value <= 0.0031308, value * np.float32(12.92), high).astype(np.float32)


def linear_to_srgb8(linear: ArrayLike) -> NDArray[np.uint8]:
    """Write linear light as 8-bit sRGB codes, by table, right to one code."""
    value = np.asarray(linear, dtype=np.float32)
    index = np.clip(value * np.float32(_CODE_STEPS) + np.float32(0.5), 0, _CODE_STEPS).astype(np.uint16)
    return np.asarray(np.take(_CODE, index), dtype=np.uint8)


def linear_to_xyz(linear: ArrayLike) -> Floats:
    """Take linear sRGB to XYZ (D65), white Y = 1."""
    return _times(linear, _TO_XYZ)


def xyz_to_linear(xyz: ArrayLike) -> Floats:
    """Take XYZ (D65) to linear sRGB; colours outside sRGB come out below 0 or above 1."""
    return _times(xyz, _TO_RGB)


def xyz_to_lab(xyz: ArrayLike, white: tuple[float, float, float] = WHITE_D65) -> Floats:
    """Take XYZ to CIELAB under a white; no adaptation is done (ISO/CIE 11664-4)."""
    t = _three(xyz) / np.asarray(white, dtype=np.float32)
    low = (np.float32(_KAPPA) * t + np.float32(16)) / np.float32(116)
    f = np.where(t > np.float32(_EPSILON), np.cbrt(t), low)
    lab = np.empty_like(f)
    lab[..., 0] = 116 * f[..., 1] - 16
    lab[..., 1] = 500 * (f[..., 0] - f[..., 1])
    lab[..., 2] = 200 * (f[..., 1] - f[..., 2])
    return lab


def lab_to_xyz(lab: ArrayLike, white: tuple[float, float, float] = WHITE_D65) -> Floats:
    """Take CIELAB to XYZ under the same white (ISO/CIE 11664-4)."""
    array = _three(lab)
    fy = (array[..., 0] + 16) / 116
    f = np.stack([fy + array[..., 1] / 500, fy, fy - array[..., 2] / 200], axis=-1)
    t = np.where(f > np.float32(6 / 29), f**3, (116 * f - 16) / np.float32(_KAPPA))
    return np.asarray(t * np.asarray(white, dtype=np.float32), dtype=np.float32)


def adapt_d50_to_d65(xyz: ArrayLike) -> Floats:
    """Adapt XYZ from D50 to D65 by the linear Bradford transform."""
    return _times(xyz, _D50_TO_D65)


def adapt_d65_to_d50(xyz: ArrayLike) -> Floats:
    """Adapt XYZ from D65 to D50 by the linear Bradford transform."""
    return _times(xyz, _D65_TO_D50)


def lab_d50_to_lab(lab_d50: ArrayLike) -> Floats:
    """Take CIELAB under D50 (charts, ICC) to CIELAB under D65, Bradford adapted."""
    return xyz_to_lab(adapt_d50_to_d65(lab_to_xyz(lab_d50, WHITE_D50)))


def linear_to_lab(linear: ArrayLike) -> Floats:
    """Take linear sRGB to CIELAB D65."""
    return xyz_to_lab(linear_to_xyz(linear))


def lab_to_linear(lab: ArrayLike) -> Floats:
    """Take CIELAB D65 to linear sRGB; colours outside sRGB come out below 0 or above 1."""
    return xyz_to_linear(lab_to_xyz(lab))


def srgb8_to_lab(srgb8: NDArray[np.uint8]) -> Floats:
    """Take 8-bit sRGB pixels (..., 3) to CIELAB D65, float32.

    Notes
    -----
    Pictures go through OpenCV, six times as fast and within 0.04 of the exact values; short lists are exact.
    """
    array = np.asarray(srgb8)
    if array.dtype != np.uint8:
        raise TypeError(f"uint8 is wanted, got {array.dtype}")
    if array.ndim != 3 or array.size < _PICTURE_SIZE or array.shape[2] != 3:
        return linear_to_lab(srgb_to_linear(array))
    import cv2

    return np.asarray(cv2.cvtColor(cv2.LUT(array, _LINEAR), cv2.COLOR_LRGB2Lab), dtype=np.float32)


def lab_to_srgb8(lab: ArrayLike) -> NDArray[np.uint8]:
    """Write CIELAB D65 as 8-bit sRGB; colours outside sRGB are clipped channel by channel."""
    return linear_to_srgb8(lab_to_linear(lab))


def delta_e_00(lab: ArrayLike, other: ArrayLike) -> NDArray[np.float64]:
    """Give the CIEDE2000 difference of colours.

    Parameters
    ----------
    lab, other : (..., 3) CIELAB under one white, shapes that broadcast

    Returns
    -------
    (...) float64, 0 for equal colours

    Notes
    -----
    Sharma, Wu & Dalal, Color Research and Application 30 (2005) 21-30, steps 1 to 3; kL = kC = kH = 1.
    Written out here, since loading a library for it costs a third of a second.
    """
    one, two = np.asarray(lab, dtype=np.float64), np.asarray(other, dtype=np.float64)
    if one.ndim == 0 or two.ndim == 0 or one.shape[-1] != 3 or two.shape[-1] != 3:
        raise ValueError(f"arrays ending in an axis of 3 are wanted, got shapes {one.shape} and {two.shape}")
    L1, a1, b1 = one[..., 0], one[..., 1], one[..., 2]
    L2, a2, b2 = two[..., 0], two[..., 1], two[..., 2]
    # step 1: a' pulls greys apart; hue angles h' in degrees, 0 where there is no hue
    C7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(C7 / (C7 + 25.0**7))
    a1, a2 = stretch * a1, stretch * a2
    C1, C2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = np.degrees(np.arctan2(b1, a1)) % 360.0, np.degrees(np.arctan2(b2, a2)) % 360.0
    # step 2: differences; the hue difference is taken the short way round
    hueless = C1 * C2 == 0.0
    turn = np.where(hueless, 0.0, (h2 - h1 + 180.0) % 360.0 - 180.0)
    dL, dC = L2 - L1, C2 - C1
    dH = 2.0 * np.sqrt(C1 * C2) * np.sin(np.radians(turn / 2.0))
    # step 3: weights at the mean colour; the mean hue lies between the two, the short way round
    L, C = (L1 + L2) / 2.0, (C1 + C2) / 2.0
    apart = np.abs(h1 - h2) > 180.0
    h = (h1 + h2) / 2.0 + np.where(apart, np.where(h1 + h2 < 360.0, 180.0, -180.0), 0.0)
    h = np.radians(np.where(hueless, h1 + h2, h))
    T = 1.0 - 0.17 * np.cos(h - np.radians(30.0)) + 0.24 * np.cos(2.0 * h)
    T += 0.32 * np.cos(3.0 * h + np.radians(6.0)) - 0.20 * np.cos(4.0 * h - np.radians(63.0))
    S_L = 1.0 + 0.015 * (L - 50.0) ** 2 / np.sqrt(20.0 + (L - 50.0) ** 2)
    S_C, S_H = 1.0 + 0.045 * C, 1.0 + 0.015 * C * T
    twist = 30.0 * np.exp(-(((np.degrees(h) - 275.0) / 25.0) ** 2))
    R_T = -2.0 * np.sqrt(C**7 / (C**7 + 25.0**7)) * np.sin(np.radians(2.0 * twist))
    light, chroma, hue = dL / S_L, dC / S_C, dH / S_H
    return np.asarray(
        np.sqrt(np.maximum(light**2 + chroma**2 + hue**2 + R_T * chroma * hue, 0.0)), dtype=np.float64
    )
