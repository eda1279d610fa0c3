"""Colour profiles: pixels in Display P3, Adobe RGB, CMYK or Lab become sRGB."""

from __future__ import annotations

import io
from functools import lru_cache
from typing import Any

import numpy as np
from PIL import Image, ImageCms

from vision.surface import ByteImage

__all__ = [
    "ADOBE_RGB",
    "NCLX_PRIMARIES",
    "ProfileError",
    "lab_to_srgb",
    "primaries_to_srgb",
    "profile_to_srgb",
]

Chromaticities = tuple[tuple[float, float], tuple[float, float], tuple[float, float]]

ADOBE_RGB: Chromaticities = ((0.64, 0.33), (0.21, 0.71), (0.15, 0.06))
"""Adobe RGB (1998) colour image encoding, version 2005-05, section 4.3.1; white D65, gamma 563/256."""

NCLX_PRIMARIES: dict[int, Chromaticities] = {
    9: ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046)),
    12: ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
}
"""ITU-T H.273 table 2 colour primaries with white D65: 9 is BT.2020, 12 is Display P3."""

_SRGB: Chromaticities = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
_D65 = (0.3127, 0.3290)
_SAME_WITHIN = 1
"""Codes of 255: a profile that moves no test colour by more than this is sRGB itself (8-bit rounding)."""


class ProfileError(ValueError):
    """The embedded profile cannot be used for these pixels."""


@lru_cache(maxsize=8)
def _transform(profile: bytes, mode: str) -> Any | None:
    """Build the transform to sRGB, or give None when the profile is sRGB already."""
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        transform = ImageCms.buildTransform(
            source,
            ImageCms.createProfile("sRGB"),
            mode,
            "RGB",
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
            flags=ImageCms.Flags.BLACKPOINTCOMPENSATION if mode == "CMYK" else ImageCms.Flags.NONE,
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError) as error:
        raise ProfileError(str(error)) from error
    if mode == "RGB":
        steps = np.linspace(0, 255, 9).astype(np.uint8)
        cube = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(27, 27, 3)
        moved = np.asarray(ImageCms.applyTransform(Image.fromarray(cube), transform))
        if int(np.abs(moved.astype(np.int16) - cube).max()) <= _SAME_WITHIN:
            return None
    return transform


def profile_to_srgb(image: Image.Image, profile: bytes) -> Image.Image:
    """Take an image through its embedded ICC profile to sRGB, relative colorimetric.

    Parameters
    ----------
    image : mode L, RGB or CMYK; RGB pixels may be changed in place
    profile : the ICC profile's bytes

    Raises
    ------
    ProfileError : the profile is damaged or for another kind of pixels.
    """
    transform = _transform(profile, image.mode)
    if transform is None:
        return image
    try:
        if image.mode == "RGB":
            ImageCms.applyTransform(image, transform, inPlace=True)
            return image
        return ImageCms.applyTransform(image, transform)
    except (ImageCms.PyCMSError, OSError, ValueError) as error:
        raise ProfileError(str(error)) from error


def lab_to_srgb(image: Image.Image) -> Image.Image:
    """Take an 8-bit ICC Lab image (D50) to sRGB."""
    transform = ImageCms.buildTransform(
        ImageCms.createProfile("LAB"),
        ImageCms.createProfile("sRGB"),
        "LAB",
        "RGB",
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )
    return ImageCms.applyTransform(image, transform)


def _to_xyz(primaries: Chromaticities) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Linear RGB -> XYZ for primaries with white D65 (SMPTE RP 177)."""
    columns = np.array([[x / y, 1.0, (1.0 - x - y) / y] for x, y in primaries]).T
    white = np.array([_D65[0] / _D65[1], 1.0, (1.0 - _D65[0] - _D65[1]) / _D65[1]])
    return np.asarray(columns * np.linalg.solve(columns, white), dtype=np.float64)


def primaries_to_srgb(pixels: ByteImage, primaries: Chromaticities, gamma: float | None = None) -> ByteImage:
    """Take RGB with other primaries (white D65) to sRGB, for files that name them without a profile.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8
    primaries : x, y of red, green and blue
    gamma : the file's pure power, or None for the sRGB curve
    """
    import cv2

    code = np.arange(256) / 255.0
    curve = (
        np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
        if gamma is None
        else code**gamma
    )
    matrix = np.linalg.solve(_to_xyz(_SRGB), _to_xyz(primaries)).astype(np.float32)
    out = np.empty_like(pixels)
    steps = np.arange(4097) / 4096.0
    encoded = np.where(steps <= 0.0031308, 12.92 * steps, 1.055 * steps ** (1 / 2.4) - 0.055)
    back = np.rint(255.0 * encoded).astype(np.uint8)
    for top in range(0, pixels.shape[0], 512):
        strip = cv2.transform(cv2.LUT(pixels[top : top + 512], curve.astype(np.float32)), matrix)
        out[top : top + 512] = back[np.rint(4096.0 * np.clip(strip, 0.0, 1.0)).astype(np.uint16)]
    return out
