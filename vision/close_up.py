"""Tell a close-up, in which the whole frame is glaze, from a photo of pieces on a table.

A logistic model over a few numbers of the photo and of what the piece net makes of it, fitted by
`close_up_fit.py`.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.outline import contour_of
from vision.piece_net import SUBJECTS, WALL, PieceMap
from vision.reading import Subject
from vision.surface import BoolMask, ByteImage

__all__ = ["FEATURE_NAMES", "MODEL_FILE", "close_up_chance", "frame_features"]

MODEL_FILE = Path(__file__).with_name("close_up.json")
FEATURE_NAMES = (
    "face_share",
    "largest_share",
    "pieces",
    "support",
    "solidity",
    "face_at_border",
    "undecided_share",
    "ware_vote",
    "wall_share",
    "spread_lightness",
    "spread_a",
    "spread_b",
)


def frame_features(pixels: ByteImage, seen: PieceMap, parts: list[BoolMask]) -> NDArray[np.float64]:
    """Describe a frame by `FEATURE_NAMES`.

    Parameters
    ----------
    pixels : (rows, cols, 3) uint8 sRGB
    seen : what the piece net makes of it
    parts : its connected faces, largest first, (rows, cols) bool at finding resolution

    Returns
    -------
    (len(FEATURE_NAMES),) float64
    """
    face = seen.face
    largest, support, solid, ware = 0.0, 0.0, 0.0, 0.5
    if parts:
        largest, support = float(parts[0].mean()), float(face[parts[0]].mean())
        ware = float(seen.subjects[SUBJECTS.index(Subject.WARE)][parts[0]].mean())
        contour = contour_of(parts[0]).astype(np.float32)
        solid = cv2.contourArea(contour) / max(1.0, cv2.contourArea(cv2.convexHull(contour)))
    rim = np.concatenate([face[:4].ravel(), face[-4:].ravel(), face[:, :4].ravel(), face[:, -4:].ravel()])
    small = cv2.resize(pixels, (120, 90), interpolation=cv2.INTER_AREA).astype(np.float32) / np.float32(255)
    lab = cv2.cvtColor(small, cv2.COLOR_RGB2LAB)
    ninths = [
        np.median(part.reshape(-1, 3), axis=0)
        for band in np.array_split(lab, 3, axis=0)
        for part in np.array_split(band, 3, axis=1)
    ]
    undecided = float(((face > 0.2) & (face < 0.8)).mean())
    values = [
        float((face > 0.5).mean()),
        largest,
        min(len(parts), 6),
        support,
        solid,
        float(rim.mean()),
        undecided,
        ware,
        float(seen.chances[WALL].mean()),
    ]
    return np.array([*values, *np.array(ninths).std(axis=0)], dtype=np.float64)


@cache
def _model() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], float]:
    told = json.loads(MODEL_FILE.read_text(encoding="utf-8"))
    if tuple(told["features"]) != FEATURE_NAMES:
        raise ValueError(f"{MODEL_FILE.name} was fitted on other features; run python -m vision.close_up_fit")
    middle, spread, weights = (np.array(told[key]) for key in ("middle", "spread", "weights"))
    return middle, spread, weights, float(told["offset"])


def close_up_chance(pixels: ByteImage, seen: PieceMap, parts: list[BoolMask]) -> float:
    """Give the chance, 0..1, that the whole frame is glaze; arguments as for `frame_features`."""
    middle, spread, weights, offset = _model()
    odds = float(((frame_features(pixels, seen, parts) - middle) / spread) @ weights + offset)
    return float(1 / (1 + np.exp(-np.clip(odds, -30, 30))))
