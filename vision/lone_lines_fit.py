"""Choose the thresholds of lone lines on drawn surfaces: python -m vision.lone_lines_fit.

Grain of several sizes, blotches, pits and specks, every second surface with one to three cracks of one to
three pixels that wander and fork. Prints the best thresholds; they stand in `vision.settings.crazing`.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from itertools import product

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.craze_lines import line_chances
from vision.craze_net import Net
from vision.lone_lines import lone_lines
from vision.settings import CrazingSettings
from vision.surface import BoolMask, FloatImage

__all__ = ["draw_surface", "main"]

_SIDE = 448
_REACH_PX = 2


def _path(rng: np.random.Generator, start: NDArray[np.float64], heading: float) -> NDArray[np.float64]:
    steps = int(rng.integers(25, 160))
    turns = heading + np.cumsum(rng.normal(0, 0.16, steps))
    stride = rng.uniform(1.5, 5.0)
    walk = np.stack([np.cos(turns), np.sin(turns)], axis=1) * stride
    return np.asarray(start + np.cumsum(walk, axis=0))


def draw_surface(rng: np.random.Generator, cracked: bool) -> tuple[FloatImage, BoolMask]:
    """Draw one surface.

    Returns
    -------
    (rows, cols, 3) float32 CIELAB, and (rows, cols) bool True on its cracks
    """
    shape = (_SIDE, _SIDE)
    lab = np.zeros((*shape, 3), np.float32)
    lab[...] = (rng.uniform(35, 88), rng.normal(0, 5), rng.normal(5, 8))
    for size in (0.7, 1.5, 3.0, 8.0, 30.0):
        noise = cv2.GaussianBlur(rng.standard_normal(shape, dtype=np.float32), (0, 0), size)
        lab[..., 0] += noise / max(float(noise.std()), 1e-6) * np.float32(abs(rng.normal(0, 1.2)))
    for _ in range(int(rng.poisson(40))):
        x, y = (int(v) for v in rng.integers(0, _SIDE, 2))
        colour = lab[y, x] + np.array([rng.normal(-8, 8), 0, 0], np.float32)
        axes = (int(rng.integers(1, 6)), int(rng.integers(1, 6)))
        turn = float(rng.uniform(0, 180))
        cv2.ellipse(lab, (x, y), axes, turn, 0, 360, tuple(map(float, colour)), -1, cv2.LINE_AA)
    truth = np.zeros(shape, np.uint8)
    for _ in range(int(rng.integers(1, 4)) if cracked else 0):
        heading = rng.uniform(0, 2 * np.pi)
        main = _path(rng, rng.uniform(40, _SIDE - 40, 2), heading)
        paths = [main]
        if rng.random() < 0.4:
            paths.append(
                _path(rng, main[len(main) // 2], heading + rng.choice([-1, 1]) * rng.uniform(0.5, 1.2))
            )
        ink = np.zeros(shape, np.uint8)
        for path in paths:
            points = [np.round(path * 16).astype(np.int32)]
            cv2.polylines(ink, points, False, 255, int(rng.integers(1, 3)), cv2.LINE_AA, 4)
            cv2.polylines(truth, points, False, 255, 1, cv2.LINE_8, 4)
        soft = cv2.GaussianBlur(ink.astype(np.float32) / 255, (0, 0), rng.uniform(0.4, 1.1))
        lab[..., 0] -= soft * np.float32(rng.uniform(7, 30))
    return lab, truth > 0


def _counts(found: BoolMask, truth: BoolMask) -> NDArray[np.float64]:
    disc = np.ones((2 * _REACH_PX + 1, 2 * _REACH_PX + 1), np.uint8)
    near_truth = cv2.dilate(truth.astype(np.uint8), disc) > 0
    near_found = cv2.dilate(found.astype(np.uint8), disc) > 0
    return np.array([(found & near_truth).sum(), found.sum(), (truth & near_found).sum(), truth.sum()], float)


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=24)
    args = parser.parse_args()
    rng = np.random.default_rng(19)
    drawn = []
    everywhere = np.ones((_SIDE, _SIDE), np.bool_)
    for number in range(args.count):
        lab, truth = draw_surface(rng, number % 2 == 0)
        chance = line_chances(lab, everywhere)
        drawn.append((Net(everywhere, everywhere, chance, 1.0), truth))
    tried = []
    for weak, strong, short, winding in product((1.5, 2.2, 3.0), (3.0, 4.5), (45, 70), (1.8, 2.5)):
        settings = replace(
            CrazingSettings(),
            lone_weak_ratio=weak,
            lone_strong_ratio=strong,
            lone_shortest_px=short,
            lone_most_winding=winding,
        )
        counts = [_counts(lone_lines(net, settings), truth) for net, truth in drawn]
        right, found, seen, there = np.sum(counts, axis=0)
        precision, recall = right / max(found, 1.0), seen / max(there, 1.0)
        f1 = 2 * precision * recall / max(precision + recall, 1e-9)
        tried.append((f1, precision, recall, weak, strong, short, winding))
    for row in sorted(tried, reverse=True)[:8]:
        sys.stderr.write("F1 {:.3f} precision {:.3f} recall {:.3f}: {} {} {} {}\n".format(*row))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
