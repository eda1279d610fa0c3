"""Fit the trees that tell a tile's face edge from its foot's and its shadow's, and where the face ends by it.

    python -m vision.sides_fit --renders .renders/train .renders/tune sample_images

Every straight edge along the sides of the rectangles in these photos is a row; what is learnt is the root
of how far it lies from the true outline's side, and, of those near it, how far beyond them it runs. Prints
what a fit without a fifth of the photos does on it.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.card import find_card
from vision.chart import find_chart
from vision.labels import find_labels
from vision.laid import foot_below, keep_out_of
from vision.marks.forest import fitted_arrays, forest_to_arrays, join_trees
from vision.outline import fit_quad, polygon_area
from vision.parts import find_parts
from vision.photo import load_photo
from vision.piece_net import map_pieces
from vision.plane_height import raise_plane
from vision.settings import Settings
from vision.settle import foot_shift
from vision.sides import FEATURE_NAMES, MODEL_FILE, side_lines
from vision.tiles import closer_part, open_ground

__all__ = ["main"]

_MOST_MISS = 0.06
"""Miss, share of the tile's size, beyond which all is equally wrong."""
_NEAR = 0.03
"""Miss up to which a line tells how far beyond it the face ends."""
_SAME_SIZE = 0.15
"""A found and a true tile whose sizes differ by more (log) are not the same."""
_BETWEEN = (0.15, 0.85)
"""Part of a side that its true line is fitted to; corners may be round."""


@dataclass(frozen=True, slots=True, eq=False)
class _Side:
    """Lines along one side: tile, (lines, features), (lines,) mean miss and how far beyond the face ends."""

    tile: str
    features: NDArray[np.float32]
    miss: NDArray[np.float64]
    beyond: NDArray[np.float64]


def _true_side(
    outline: NDArray[np.float64], a: NDArray[np.float64], b: NDArray[np.float64], size: float, margin: float
) -> NDArray[np.float64] | None:
    """Give how far outward of a -> b the true outline runs at the side's ends looked at, photo pixels."""
    closed = np.vstack([outline, outline[:1]])
    run = np.r_[0.0, np.cumsum(np.hypot(*np.diff(closed, axis=0).T))]
    at = np.arange(0.0, run[-1], 1.0)
    points = np.stack([np.interp(at, run, closed[:, i]) for i in (0, 1)], axis=1)
    along = b - a
    length = float(np.hypot(*along))
    along, normal = along / length, np.array([along[1], -along[0]]) / length
    t, out = (points - a) @ along / length, (points - a) @ normal
    use = (t > _BETWEEN[0]) & (t < _BETWEEN[1]) & (np.abs(out) < 0.2 * size)
    if use.sum() < 20:
        return None
    return np.asarray(np.polyval(np.polyfit(t[use], out[use], 1), [margin, 1 - margin]))


def _sides(truth_file: Path, truth: dict[str, Any], settings: Settings) -> Iterator[_Side]:
    """Give the sides of the rectangles that are found in a photo."""
    photo = load_photo(truth_file.parent / truth["photo"])
    pixels, tiles = photo.pixels, settings.tiles
    card = find_card(pixels, settings)
    labels = find_labels(pixels, settings.labels)
    keep_out = keep_out_of(card, find_chart(pixels, settings, card), labels, settings)
    foot = None
    if card is not None:
        foot = foot_below(card, raise_plane(card.homography, pixels.shape, None, photo.focal_35mm, tiles))
    seen = map_pieces(pixels, tiles)
    ground = open_ground(seen.face.shape, keep_out, seen.scale, tiles)
    true = [tile for tile in truth["tiles"] if tile["shape"] == "rectangle"]
    for part in find_parts(seen.face, seen.clay, seen.wall, ground, tiles):
        near, own = closer_part(pixels, seen, part, tiles)
        corners, fill, straight = fit_quad(own)
        if fill < tiles.quad_fill or straight < tiles.quad_straight:
            continue
        corners = near.in_photo(corners)
        size = float(np.sqrt(polygon_area(corners)))
        middle = tuple(float(v) for v in corners.mean(axis=0))
        for number, tile in enumerate(true):
            outline = np.array(tile["outline_px"], np.float64)
            there = cv2.pointPolygonTest(outline.astype(np.float32), middle, False) > 0
            if not there or abs(np.log(size / np.sqrt(polygon_area(outline)))) > _SAME_SIZE:
                continue
            for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
                found = side_lines(pixels, a, b, size, near, foot_shift(foot, a, b), tiles, keep_out)
                out = _true_side(outline, a, b, size, tiles.edge_corner_margin)
                if out is not None:
                    off = (out - found.away_px) / size
                    miss, beyond = np.abs(off).mean(axis=1), off.mean(axis=1)
                    yield _Side(f"{truth_file.stem} {number}", found.features, miss, beyond)


def _fit(sides: list[_Side]) -> Any:
    from sklearn.ensemble import HistGradientBoostingRegressor

    rows = np.vstack([side.features for side in sides])
    wanted = np.sqrt(np.minimum(np.concatenate([side.miss for side in sides]), _MOST_MISS))
    return HistGradientBoostingRegressor(
        max_iter=160,
        max_leaf_nodes=6,
        max_features=0.5,  # each split sees half the features: no edge is believed for the net's word alone
        learning_rate=0.07,
        l2_regularization=20.0,
        random_state=3,
    ).fit(rows, wanted)


def _fit_beyond(sides: list[_Side]) -> Any:
    from sklearn.ensemble import HistGradientBoostingRegressor

    rows = np.vstack([side.features for side in sides])
    beyond = np.concatenate([side.beyond for side in sides])
    near = np.abs(beyond) < _NEAR
    return HistGradientBoostingRegressor(
        loss="absolute_error",
        max_iter=80,
        max_leaf_nodes=6,
        learning_rate=0.06,
        l2_regularization=20.0,
        random_state=3,
    ).fit(rows[near], beyond[near])


def _arrays(model: Any, name: str) -> dict[str, NDArray[np.generic]]:
    trees = [(0, step[0].nodes) for step in model._predictors]
    return forest_to_arrays(join_trees(trees, np.asarray(model._baseline_prediction).ravel()), name)


def _held_out(sides: list[_Side], folds: int = 5) -> list[float]:
    """Give each tile's sum of its sides' misses, by fits that never saw its photo."""
    photos = sorted({side.tile.split()[0] for side in sides})
    sums: dict[str, float] = {}
    for k in range(folds):
        held = set(photos[k::folds])
        model = _fit([side for side in sides if side.tile.split()[0] not in held])
        for side in (side for side in sides if side.tile.split()[0] in held):
            chosen = float(side.miss[int(np.argmin(model.predict(side.features)))])
            sums[side.tile] = sums.get(side.tile, 0.0) + chosen
    return list(sums.values())


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--renders", type=Path, nargs="+", required=True)
    parser.add_argument("--out", type=Path, default=MODEL_FILE)
    parser.add_argument(
        "--beyond", action="store_true", help="fit only how far beyond its edge a face ends, choose as before"
    )
    args = parser.parse_args()
    settings = Settings()
    sides: list[_Side] = []
    for file in sorted(path for folder in args.renders for path in folder.glob("*.json")):
        truth = json.loads(file.read_text(encoding="utf-8"))
        if truth.get("subject") == "tile":
            sides += _sides(file, truth, settings)
    arrays = _arrays(_fit_beyond(sides), "beyond") | {"feature_names": np.array(FEATURE_NAMES)}
    if args.beyond:
        before = fitted_arrays(MODEL_FILE, FEATURE_NAMES)
        arrays |= {name: array for name, array in before.items() if name.startswith("miss_")}
    else:
        arrays |= _arrays(_fit(sides), "miss")
    with args.out.open("wb") as file_out:
        np.savez_compressed(file_out, allow_pickle=False, **arrays)
    if args.beyond:
        sys.stderr.write(f"how far a face ends beyond its edge, from {len(sides)} sides\n")
        return 0
    sums = np.array(_held_out(sides))
    sys.stderr.write(
        f"{len(sides)} sides of {len(sums)} tiles; held out, the four sides' misses add up to under 0.05 in "
        f"{np.mean(sums < 0.05):.2f} of tiles, median {np.median(sums):.3f}\n"
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
