"""Whether what was found looks like pottery at all, where nobody said so.

A logistic model of a few plain numbers: how strong detail and colour change over the face, how it is
shaped, and whether it ends in an edge. One model for close-ups, one for outlined pieces, both fitted by
`pottery_fit.py` to renders of pots and tiles, and to everyday pictures that come with Python's image
libraries.

Known to be refused wrongly: scikit-image's picture of a cup of coffee with its spoon, left out of the fit.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.colour import srgb8_to_lab
from vision.look_cues import look_cues
from vision.reading import Subject
from vision.settings import GroundSettings, Settings
from vision.surface import ByteImage, FloatImage
from vision.tiles import Piece

__all__ = [
    "FACE_NAMES",
    "MODEL_FILE",
    "OUTLINE_NAMES",
    "likely_pottery",
    "pottery_chance",
    "pottery_features",
    "stand",
]

MODEL_FILE = Path(__file__).with_name("pottery.json")
FACE_NAMES: tuple[str, ...] = (
    "slope0_middle_ratio",
    "slope1_middle_ratio",
    "slope2_middle_ratio",
    "slope0_rise",
    "slope2_rise",
    "band0_ratio",
    "band1_ratio",
    "band2_ratio",
    "ratio_1",
    "ratio_5",
    "ratio_95",
    "spread_lightness",
    "spread_a",
    "spread_b",
    "span_a",
    "span_b",
)
"""What is measured on every face: detail by size against the median light (`look_cues`), and how far
lightness and colour range over it, CIELAB units."""
OUTLINE_NAMES: tuple[str, ...] = (
    *FACE_NAMES,
    "support",
    "solid",
    "edge_share",
    "edge_step",
    "cut",
    "straight",
)
"""The same and, for what has an outline: the piece net's belief, area over that of its hull, share of the
outline with a step of colour across it, the median step, whether the frame cuts it, whether it has four
straight sides."""

_Floats = NDArray[np.float64]
_PLACES = 200
"""Places looked at along an outline."""


def _around(pixels: ByteImage, piece: Piece, settings: GroundSettings) -> tuple[ByteImage, _Floats]:
    """Cut out a piece with its surroundings, small; gives it and the outline in it."""
    low, high = piece.outline_px.min(axis=0), piece.outline_px.max(axis=0)
    pad = 0.0 if piece.subject is Subject.PATCH else settings.look_margin * float((high - low).max())
    left, top = (int(max(0, v)) for v in low - pad)
    right, bottom = (int(v) for v in high + pad + 1)
    cut = pixels[top:bottom, left:right]
    scale = min(1.0, settings.look_side_px / max(cut.shape[:2]))
    if scale < 1:
        size = (max(8, round(cut.shape[1] * scale)), max(8, round(cut.shape[0] * scale)))
        cut = np.asarray(cv2.resize(cut, size, interpolation=cv2.INTER_AREA), np.uint8)
    return cut, (piece.outline_px - (left, top)) * scale


def _edges(lab: FloatImage, outline: _Floats, size: float, settings: GroundSettings) -> tuple[float, float]:
    """Give the share of an outline with a step of colour across it, and the median step, CIELAB units."""
    closed = np.vstack([outline, outline[:1]])
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(closed, axis=0).T))]
    at = np.linspace(0.0, along[-1], _PLACES, endpoint=False)
    place = np.stack([np.interp(at, along, closed[:, 0]), np.interp(at, along, closed[:, 1])], axis=1)
    run = np.roll(place, -2, axis=0) - np.roll(place, 2, axis=0)
    normal = np.stack([-run[:, 1], run[:, 0]], axis=1) / (np.linalg.norm(run, axis=1, keepdims=True) + 1e-6)
    rows, cols = lab.shape[:2]
    inside = ((place > 2) & (place < (cols - 3, rows - 3))).all(axis=1)
    if int(inside.sum()) < 10:
        return 1.0, 2 * settings.edge_step
    reach = np.array(settings.edge_reach) * size
    there, here = (
        np.median([_at(lab, place + sign * far * normal) for far in reach], axis=0) for sign in (1, -1)
    )
    step = np.linalg.norm(there - here, axis=1)[inside]
    return float((step > settings.edge_step).mean()), float(np.median(step))


def _at(lab: FloatImage, points: _Floats) -> FloatImage:
    x, y = points[None, :, 0].astype(np.float32), points[None, :, 1].astype(np.float32)
    return np.asarray(cv2.remap(lab, x, y, cv2.INTER_LINEAR)[0], np.float32)


def pottery_features(pixels: ByteImage, piece: Piece, settings: Settings) -> _Floats | None:
    """Describe a piece by FACE_NAMES, a close-up, or OUTLINE_NAMES.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB, the whole photo
    piece : as found
    settings : `settings.grounds`

    Returns
    -------
    (names,) float64; None when it is too small in the photo to say anything
    """
    image, outline = _around(pixels, piece, settings.grounds)
    lab = srgb8_to_lab(image)
    close_up = piece.subject is Subject.PATCH
    face = np.ones(lab.shape[:2], np.uint8)
    if not close_up:
        face[...] = 0
        cv2.fillPoly(face, [np.rint(outline * 16).astype(np.int32)], 1, shift=4)
    within = np.asarray(face > 0, np.bool_)
    cues = look_cues(image, within, settings.grounds)
    if cues is None:
        return None
    low, high = np.percentile(lab[within], (5, 95), axis=0)
    spread = lab[within].std(axis=0)
    cues |= dict(zip(("spread_lightness", "spread_a", "spread_b"), map(float, spread), strict=True))
    cues |= {"span_a": float(high[1] - low[1]), "span_b": float(high[2] - low[2])}
    if close_up:
        return np.array([cues[name] for name in FACE_NAMES])
    contour = outline.astype(np.float32)
    area = float(cv2.contourArea(contour))
    share, step = _edges(lab, outline, float(np.sqrt(area)), settings.grounds)
    cues |= {
        "support": piece.support,
        "solid": area / max(1.0, float(cv2.contourArea(cv2.convexHull(contour)))),
        "edge_share": share,
        "edge_step": step,
        "cut": float(piece.edge_cut),
        "straight": float(piece.straight),
    }
    return np.array([cues[name] for name in OUTLINE_NAMES])


def stand(features: _Floats, middle: _Floats, spread: _Floats, limit: float) -> _Floats:
    """Give (..., 2 n): how far features lie from pottery's mean, in its spreads, held; signed and plain."""
    away = np.clip((features - middle) / spread, -limit, limit)
    return np.asarray(np.concatenate([away, np.abs(away)], axis=-1), np.float64)


@cache
def _models() -> dict[str, tuple[_Floats, _Floats, _Floats, float]]:
    told = json.loads(MODEL_FILE.read_text(encoding="utf-8"))
    models = {}
    for kind, names in (("close_up", FACE_NAMES), ("outlined", OUTLINE_NAMES)):
        if tuple(told[kind]["features"]) != names:
            msg = f"{MODEL_FILE.name} was fitted on other features; run python -m vision.pottery_fit"
            raise ValueError(msg)
        middle, spread, weights = (np.array(told[kind][key]) for key in ("middle", "spread", "weights"))
        models[kind] = (middle, spread, weights, float(told[kind]["offset"]))
    return models


def pottery_chance(pixels: ByteImage, piece: Piece, settings: Settings) -> float | None:
    """Give the chance, 0..1, that a piece is pottery; arguments and None as for `pottery_features`.

    Notes
    -----
    Fitted to as many pictures of pottery as of other things: with other odds the chance is another.
    """
    features = pottery_features(pixels, piece, settings)
    if features is None:
        return None
    middle, spread, weights, offset = _models()["close_up" if piece.subject is Subject.PATCH else "outlined"]
    limit = settings.grounds.look_spreads
    odds = float(stand(features, middle, spread, limit) @ weights + offset)
    return float(1 / (1 + np.exp(-np.clip(odds, -30, 30))))


def likely_pottery(pixels: ByteImage, pieces: Iterable[Piece], settings: Settings) -> tuple[Piece, ...]:
    """Leave out what is almost surely no pottery, and note on the rest how likely it is."""
    close_up, outlined = settings.grounds.refuse_close_up_below, settings.grounds.refuse_outlined_below
    kept = []
    for piece in pieces:
        chance = pottery_chance(pixels, piece, settings)
        if chance is None or chance >= (close_up if piece.subject is Subject.PATCH else outlined):
            kept.append(replace(piece, likely=chance))
    return tuple(kept)
