"""Fit the models that tell pottery from other things: python -m vision.pottery_fit --renders FOLDER ...

Pottery: the photos of these folders of renders, their pieces as the reader finds them, their close-ups,
and squares cut out of their tiles' faces. Other things: pictures that come with scikit-image and scikit-
learn (a person, a cat, a temple, a flower, a rocket, an eye, cells, brick, grass, gravel, print, coins,
the moon...), whole and in parts, tinted where they are grey; and whatever the reader takes for a piece in
the renders that is none. Every picture is left out in turn for the figures printed. The open photographs
of `tests/benchmarks` are not used.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import GroupKFold, cross_val_predict

from vision.pottery import FACE_NAMES, MODEL_FILE, OUTLINE_NAMES, pottery_features, stand
from vision.reading import Subject
from vision.settings import Settings
from vision.surface import ByteImage
from vision.tiles import find_pieces, whole_frame

__all__ = ["main"]

_LONG_SIDE_PX = 1000
_PARTS = 5
"""Parts cut out of each everyday picture."""
_NOT_USED = frozenset({"coffee", "phantom", "logo", "chessboard_GRAY", "chessboard_RGB", "microaneurysms"})
"""A cup of coffee is pottery; the others are no photographs."""


@dataclass(slots=True)
class Rows:
    """Feature rows with what they are (1 pottery, 0 not) and the picture they are from."""

    values: list[NDArray[np.float64]] = field(default_factory=list)
    pottery: list[int] = field(default_factory=list)
    picture: list[str] = field(default_factory=list)

    def add(self, values: NDArray[np.float64] | None, pottery: bool, picture: str) -> None:
        """Add a row, unless there is none."""
        if values is not None:
            self.values.append(values)
            self.pottery.append(int(pottery))
            self.picture.append(picture)


def _load(path: Path) -> ByteImage | None:
    found = cv2.imread(str(path), cv2.IMREAD_COLOR)
    return None if found is None else np.asarray(found[..., ::-1], np.uint8)


def _small(pixels: ByteImage) -> ByteImage:
    scale = min(1.0, _LONG_SIDE_PX / max(pixels.shape[:2]))
    if scale == 1:
        return np.ascontiguousarray(pixels)
    return np.asarray(cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8)


def _everyday() -> Iterator[tuple[str, ByteImage]]:
    import skimage
    import sklearn

    folders = (Path(skimage.__file__).parent / "data", Path(sklearn.__file__).parent / "datasets" / "images")
    rng = np.random.default_rng(29)
    for path in sorted(p for folder in folders for p in folder.iterdir() if p.suffix in (".png", ".jpg")):
        pixels = None if path.stem in _NOT_USED else _load(path)
        if pixels is None:
            continue
        if int(np.ptp(pixels.astype(np.int16), axis=2).max()) < 6:
            tint = np.array([1.0, rng.uniform(0.8, 1.0), rng.uniform(0.6, 0.95)])
            pixels = np.asarray(pixels * tint, np.uint8)
        yield path.stem, pixels
        rows, cols = pixels.shape[:2]
        for _ in range(_PARTS):
            share = rng.uniform(0.35, 0.75)
            height, width = int(rows * share), int(cols * share)
            if min(height, width) >= 100:
                top, left = int(rng.integers(rows - height + 1)), int(rng.integers(cols - width + 1))
                yield path.stem, pixels[top : top + height, left : left + width]


def _overlap(a: NDArray[np.float64], b: NDArray[np.float64], shape: tuple[int, ...]) -> float:
    drawn = []
    for outline in (a, b):
        mask = np.zeros(shape[:2], np.uint8)
        cv2.fillPoly(mask, [np.rint(outline).astype(np.int32)], 1)
        drawn.append(mask > 0)
    return float((drawn[0] & drawn[1]).sum()) / max(1.0, float((drawn[0] | drawn[1]).sum()))


def _read_pieces(
    pixels: ByteImage, true: list[NDArray[np.float64]], picture: str, rows: Rows, settings: Settings
) -> None:
    for piece in find_pieces(pixels, [], flat=True, subject=None, settings=settings.tiles):
        if piece.subject is not Subject.PATCH:
            right = any(_overlap(piece.outline_px, outline, pixels.shape) > 0.5 for outline in true)
            rows.add(pottery_features(pixels, piece, settings), right, picture)


def _read_renders(file: Path, close_ups: Rows, outlined: Rows, settings: Settings) -> None:
    truth: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
    full = _load(file.with_suffix(".jpg"))
    if full is None:
        return
    pixels = _small(full)
    if truth["subject"] == Subject.PATCH:
        frame = whole_frame(pixels, guessed=True)
        close_ups.add(pottery_features(pixels, frame, settings), True, file.stem)
        return
    outlines = [np.array(tile["outline_px"], np.float64) for tile in truth["tiles"]]
    scale = pixels.shape[1] / full.shape[1]
    _read_pieces(pixels, [outline * scale for outline in outlines], file.stem, outlined, settings)
    largest = max(outlines, key=lambda outline: cv2.contourArea(outline.astype(np.float32)))
    half = 0.3 * float(np.sqrt(cv2.contourArea(largest.astype(np.float32))))
    (left, top), (right, bottom) = (largest.mean(axis=0) + sign * half for sign in (-1, 1))
    square = full[max(0, int(top)) : int(bottom), max(0, int(left)) : int(right)]
    if min(square.shape[:2]) > 200:
        frame = whole_frame(_small(square), guessed=True)
        close_ups.add(pottery_features(_small(square), frame, settings), True, file.stem)


def _fit(rows: Rows, names: tuple[str, ...], limit: float) -> dict[str, Any]:
    x, y, groups = np.array(rows.values), np.array(rows.pottery), np.array(rows.picture)
    # the middle and spread of pottery alone: what is far from it either way shows as such
    middle, spread = x[y == 1].mean(axis=0), x[y == 1].std(axis=0) + 1e-3
    standard = stand(x, middle, spread, limit)
    model = LogisticRegression(C=0.1, max_iter=5000, class_weight="balanced")
    guessed = cross_val_predict(model, standard, y, groups=groups, cv=GroupKFold(10), method="predict_proba")[
        :, 1
    ]
    model.fit(standard, y)
    for bound in (0.05, 0.1, 0.2, 0.3, 0.5):
        lost, caught = (guessed[y == 1] < bound).mean(), (guessed[y == 0] < bound).mean()
        sys.stderr.write(f"  under {bound}: {lost:.3f} of pottery, {caught:.3f} of other things\n")
    return {
        "features": list(names),
        "middle": [round(float(v), 5) for v in middle],
        "spread": [round(float(v), 5) for v in spread],
        "weights": [round(float(v), 5) for v in model.coef_[0]],
        "offset": round(float(model.intercept_[0]), 5),
        "pottery": int(y.sum()),
        "other_things": int((1 - y).sum()),
    }


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    args = parser.parse_args()
    settings = Settings()
    close_ups, outlined = Rows(), Rows()
    for file in [f for folder in args.renders for f in sorted(folder.glob("*.json"))]:
        _read_renders(file, close_ups, outlined, settings)
    for name, picture in _everyday():
        pixels = _small(picture)
        close_ups.add(pottery_features(pixels, whole_frame(pixels, guessed=True), settings), False, name)
        _read_pieces(pixels, [], name, outlined, settings)
    told = {}
    for kind, rows, names in (("close_up", close_ups, FACE_NAMES), ("outlined", outlined, OUTLINE_NAMES)):
        pottery = sum(rows.pottery)
        sys.stderr.write(f"{kind}: {pottery} of pottery, {len(rows.pottery) - pottery} of other things\n")
        told[kind] = _fit(rows, names, settings.grounds.look_spreads)
    MODEL_FILE.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
