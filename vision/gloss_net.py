"""Asks the gloss net what a face mirrors, its finish and its roughness: a small convolutional net.

It sees the face as light and colour relative to the glaze's own median, how steep the light changes at twice
that size, and how much of the photo the face takes: seen from further away the same roughness blurs a
mirrored edge over more of a tile.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import srgb_to_linear
from vision.nets import run_net, softmax
from vision.settings import GlossSettings
from vision.surface import BoolMask, ByteImage, FloatImage, Surface

__all__ = ["CHANNELS", "MODEL_FILE", "SIDE", "FaceAnswer", "ask_face", "face_planes", "framed", "look_at"]

MODEL_FILE = Path(__file__).with_name("gloss_net.onnx")
SIDE = 128
"""Rows and columns of the net's picture; the face's long side fills it."""
CHANNELS = ("light", "red", "blue", "steepness", "glaze", "brightness", "share")
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""IEC 61966-2-1, linear sRGB to luminance."""
_LINEAR = np.asarray(srgb_to_linear(np.arange(256, dtype=np.uint8)), np.float32)
_DARK = np.float32(0.01)
"""Added to linear light before a logarithm: under it lies noise."""
_USUAL_SHARE = 0.5
"""Taken where it is not known how much of the photo a face takes."""


@dataclass(frozen=True, slots=True, eq=False)
class FaceAnswer:
    """What the net says of one face.

    Attributes
    ----------
    reflection : chance 0..1 that a lamp or window is mirrored in view
    finish : (3,) chances of gloss, satin, matt
    log_roughness : natural logarithm of the renderer's roughness, and its standard deviation
    """

    reflection: float
    finish: NDArray[np.float64]
    log_roughness: tuple[float, float]


def framed(image: ByteImage, glazed: BoolMask) -> tuple[ByteImage, BoolMask]:
    """Bring a face to a square of twice `SIDE`: (rows, cols, 3) sRGB and its glaze, zeros around."""
    side = 2 * SIDE
    scale = side / max(glazed.shape)
    size = (max(8, round(glazed.shape[1] * scale)), max(8, round(glazed.shape[0] * scale)))
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    left, top = (side - size[0]) // 2, (side - size[1]) // 2
    whole = np.zeros((side, side, 3), np.uint8)
    face = np.zeros((side, side), np.uint8)
    whole[top : top + size[1], left : left + size[0]] = cv2.resize(image, size, interpolation=how)
    share = cv2.resize(glazed.astype(np.uint8) * 255, size, interpolation=cv2.INTER_AREA)
    face[top : top + size[1], left : left + size[0]] = share > 153
    inner = cv2.erode(face, np.ones((5, 5), np.uint8), borderType=cv2.BORDER_CONSTANT, borderValue=0)
    return whole, np.asarray(inner > 0, np.bool_)


def face_planes(image: ByteImage, face: BoolMask, share: float | None) -> FloatImage:
    """Make the net's picture.

    Parameters
    ----------
    image, face : from `framed`
    share : long side of the face over that of the photo; None where it is not known

    Returns
    -------
    (len(CHANNELS), SIDE, SIDE) float32, within about -3..3, zero where no glaze is
    """
    light = cv2.LUT(image, _LINEAR)
    luminance = np.asarray(light @ _LUMINANCE, np.float32)
    log_light = np.log(luminance + _DARK)
    some = log_light[face]
    middle = np.float32(np.median(some)) if len(some) else np.float32(0)
    inside = face.astype(np.float32)
    relative = np.clip(log_light - middle, -3, 4) * inside
    across = cv2.Sobel(relative, cv2.CV_32F, 1, 0, ksize=3, scale=0.125)
    down = cv2.Sobel(relative, cv2.CV_32F, 0, 1, ksize=3, scale=0.125)
    # beside the glaze's end a step is no reflection's
    core = cv2.erode(inside, np.ones((3, 3), np.uint8))
    steepness = np.sqrt(cv2.magnitude(across, down)) * core
    size = (SIDE, SIDE)
    glaze, bright, steep, soft = (
        cv2.resize(plane, size, interpolation=cv2.INTER_AREA)
        for plane in (inside, luminance * inside, steepness, relative)
    )
    out = np.zeros((len(CHANNELS), SIDE, SIDE), np.float32)
    small = cv2.resize(light * inside[..., None], size, interpolation=cv2.INTER_AREA)
    seen = glaze > 0.25
    out[0] = soft
    for channel, own in ((1, small[..., 0]), (2, small[..., 2])):
        tone = np.log((own + _DARK) / (bright + _DARK))
        tint = np.float32(np.median(tone[seen])) if seen.any() else np.float32(0)
        out[channel] = np.clip(2 * (tone - tint), -3, 3) * seen
    out[3] = 3 * steep
    out[4] = glaze
    out[5] = 2 * bright
    out[6] = np.float32(np.log((share or _USUAL_SHARE) / _USUAL_SHARE)) * glaze
    return out


def look_at(planes: FloatImage) -> FaceAnswer:
    """Ask the net about one picture, as it is and turned over; the mean counts."""
    turned = np.stack([planes, planes[:, :, ::-1], planes[:, ::-1], planes[:, ::-1, ::-1]])
    scores = run_net(MODEL_FILE, np.ascontiguousarray(turned), ("scores",))[0].reshape(4, -1)
    return answer_of(scores.mean(axis=0))


def answer_of(scores: NDArray[np.floating]) -> FaceAnswer:
    """Turn the net's six scores into an answer."""
    spread = float(np.exp(np.clip(scores[5], -3.0, 1.0)))
    return FaceAnswer(
        reflection=1.0 / (1.0 + float(np.exp(-scores[0]))),
        finish=np.asarray(softmax(scores[1:4], 0), np.float64),
        log_roughness=(float(scores[4]), spread),
    )


def ask_face(surface: Surface, settings: GlossSettings) -> FaceAnswer | None:
    """Ask the net about a surface; None when too little glaze is seen."""
    image, face = framed(surface.image, surface.glazed)
    if face.sum() < settings.least_pixels:
        return None
    return look_at(face_planes(image, face, surface.frame_share))
