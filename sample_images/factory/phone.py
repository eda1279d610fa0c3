"""What a phone makes of the light: exposure, white balance, tone curve, noise, blur, sharpening, JPEG."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from .colour import linear_to_srgb
from .noise import Field

__all__ = ["Phone", "develop", "encode_jpeg"]


@dataclass(frozen=True, slots=True)
class Phone:
    """One shot's handling.

    Attributes
    ----------
    exposure_ev : stops over what the meter asks
    balance : (3,) gains the phone applies, green 1
    mixing : (3, 3) leftover error of the camera's colour matrix, rows sum to 1
    contrast : strength of the S-shaped tone curve, 0 none
    saturation : 1 true
    shot_noise, read_noise : relative to full scale
    focus_px, motion_px, motion_deg : blur
    sharpen : strength of the unsharp mask
    vignette : share of light lost in the corners
    quality : JPEG quality
    """

    exposure_ev: float = 0.0
    balance: tuple[float, float, float] = (1.0, 1.0, 1.0)
    mixing: tuple[tuple[float, float, float], ...] = ((1, 0, 0), (0, 1, 0), (0, 0, 1))
    contrast: float = 0.25
    saturation: float = 1.05
    shot_noise: float = 0.004
    read_noise: float = 0.0015
    focus_px: float = 0.5
    motion_px: float = 0.0
    motion_deg: float = 0.0
    sharpen: float = 0.5
    vignette: float = 0.15
    quality: int = 88

    @classmethod
    def of(cls, rng: np.random.Generator, light: NDArray[np.float64], calm: bool = False) -> Phone:
        """Draw a shot for light of this colour (3,), green 1; `calm` keeps to what a careful user gets."""
        trust = (
            rng.choice([1.0, rng.uniform(0.5, 0.95), 0.0], p=[0.5, 0.42, 0.08])
            if not calm
            else rng.uniform(0.75, 1.0)
        )
        balance = (1.0 / light) ** trust * np.exp(rng.normal(0, 0.03, 3))
        mixing = np.eye(3) + rng.normal(0, 0.022, (3, 3))
        mixing /= mixing.sum(axis=1, keepdims=True)
        scale = 0.5 if calm else 1.0
        moving = rng.random() < 0.15 * scale
        return cls(
            exposure_ev=float(np.clip(rng.normal(0.0, 0.35 * scale), -0.9, 0.7)),
            balance=tuple((balance / balance[1]).tolist()),
            mixing=tuple(tuple(row) for row in mixing.tolist()),
            contrast=float(rng.uniform(0.0, 0.55)),
            saturation=float(rng.normal(1.08, 0.06)),
            shot_noise=float(rng.lognormal(np.log(0.006), 0.5 * scale)),
            read_noise=float(rng.lognormal(np.log(0.0015), 0.5)),
            focus_px=float(
                rng.uniform(0.3, 0.7) if rng.random() < 0.8 else rng.uniform(0.7, 1.6 * scale + 0.4)
            ),
            motion_px=float(rng.uniform(1.0, 3.5) if moving else 0.0),
            motion_deg=float(rng.uniform(0, 180)),
            sharpen=float(rng.uniform(0.1, 1.0)),
            vignette=float(rng.uniform(0.03, 0.3)),
            quality=int(rng.integers(60, 96)) if not calm else int(rng.integers(84, 94)),
        )


def _motion_kernel(length_px: float, angle_deg: float) -> NDArray[np.float32]:
    size = int(length_px * 2) | 1
    kernel = np.zeros((size + 2, size + 2), np.float32)
    centre = (size + 1) / 2
    dx, dy = np.cos(np.radians(angle_deg)) * length_px / 2, np.sin(np.radians(angle_deg)) * length_px / 2
    ends = [(round((centre + s * dx) * 16), round((centre + s * dy) * 16)) for s in (-1, 1)]
    cv2.line(kernel, ends[0], ends[1], 1.0, 1, cv2.LINE_AA, 4)
    return kernel / kernel.sum()


def _meter(linear: Field) -> float:
    """Give the gain that a phone's meter asks: mid-tones to about 0.2, highlights mostly kept."""
    small = cv2.resize(linear, None, fx=0.125, fy=0.125, interpolation=cv2.INTER_AREA)
    bright = small.mean(axis=-1)
    centre = np.exp(
        -(
            np.linspace(-1.2, 1.2, bright.shape[0])[:, None] ** 2
            + np.linspace(-1.2, 1.2, bright.shape[1])[None, :] ** 2
        )
    )
    middle = float(np.exp((np.log(np.maximum(bright, 1e-6)) * centre).sum() / centre.sum()))
    high = float(np.quantile(small.max(axis=-1), 0.96))
    return float(min(0.21 / middle, 0.70 / max(high, 1e-6)))


def develop(linear: Field, phone: Phone, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Turn scene light into the phone's picture.

    Parameters
    ----------
    linear : (rows, cols, 3) float32, linear sRGB light, any scale
    phone : the shot's handling
    rng : seeded generator, for the noise

    Returns
    -------
    (rows, cols, 3) uint8 sRGB, R G B
    """
    rows, cols = linear.shape[:2]
    light = np.maximum(linear, 0.0)
    light = light * np.float32(_meter(light) * 2**phone.exposure_ev)
    light = np.minimum(light, 12.0)
    light = cv2.GaussianBlur(light, (0, 0), max(0.3, phone.focus_px))
    if phone.motion_px > 0.8:
        light = cv2.filter2D(light, -1, _motion_kernel(phone.motion_px, phone.motion_deg))
    glare = cv2.resize(cv2.GaussianBlur(cv2.resize(light, (cols // 8, rows // 8)), (0, 0), 6), (cols, rows))
    light = 0.985 * light + 0.015 * glare
    y = np.linspace(-1, 1, rows, dtype=np.float32)[:, None]
    x = np.linspace(-1, 1, cols, dtype=np.float32)[None, :]
    light = light * (1 - phone.vignette * ((x * x + y * y) / 2) ** 1.2)[..., None]
    # Noise is made on the sensor, before the balance, and is a little coarse after the phone's own smoothing.
    grain = rng.standard_normal(light.shape, dtype=np.float32)
    grain = 0.55 * grain + 1.1 * cv2.GaussianBlur(grain, (0, 0), 0.9)
    light = light + grain * np.sqrt(phone.shot_noise**2 * np.maximum(light, 0) + phone.read_noise**2)
    light = light * np.asarray(phone.balance, dtype=np.float32)
    light = np.minimum(np.maximum(light, 0), 1.25) @ np.asarray(phone.mixing, dtype=np.float32).T
    code = linear_to_srgb(np.where(light > 0.8, 0.8 + 0.2 * np.tanh((light - 0.8) / 0.2), light))
    curve = code + phone.contrast * (code * code * (3 - 2 * code) - code)
    grey = curve.mean(axis=-1, keepdims=True)
    curve = grey + phone.saturation * (curve - grey)
    if phone.sharpen > 0:
        curve = curve + phone.sharpen * (curve - cv2.GaussianBlur(curve, (0, 0), 1.1))
    return np.asarray(np.clip(curve * 255.0 + 0.5, 0, 255), dtype=np.uint8)


def encode_jpeg(picture: NDArray[np.uint8], quality: int) -> bytes:
    """Encode (rows, cols, 3) R G B as JPEG bytes with 4:2:0 colour, as phones do."""
    done, data = cv2.imencode(
        ".jpg", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, quality]
    )
    if not done:
        raise ValueError(f"picture of shape {picture.shape} was not encoded as JPEG")
    return data.tobytes()
