"""Shade pairs of small surfaces, lamp left and lamp right: python sample_images/shade_pairs.py --count 150.

Quick training data for reading two photos: the surfaces, rooms and phone of shade_surfaces.py, shaded twice
with the main lamp on either side and in part of the pairs shifted a little, as a hand would. Files and truth
are as render_pairs.py writes them, in .renders/pairs_shaded. Nothing is ever tested on these.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import repeat
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parent), str(Path(__file__).resolve().parents[1])]

import cv2  # noqa: E402
import numpy as np  # noqa: E402
from factory.faults import place_marks  # noqa: E402
from factory.phone import Phone, develop, encode_jpeg  # noqa: E402
from factory.tile_surface import make_surface  # noqa: E402
from shade_surfaces import draw_spec, shade, write_truth  # noqa: E402

SEED_WORD = 109
_FINER = 1.5


def _falloff(light: np.ndarray, lamp: np.ndarray, away: float) -> np.ndarray:
    """Dim a picture away from a near lamp: inverse square times the cosine, 1 in the middle.

    `away` is the lamp's distance, widths of the picture.
    """
    rows, cols = light.shape[:2]
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float32)
    x, y = (x - cols / 2) / cols, (y - rows / 2) / cols
    far = (away * lamp[0] - x) ** 2 + (away * lamp[1] - y) ** 2 + (away * lamp[2]) ** 2
    return light * ((away**2 / far) ** 1.5)[..., None].astype(np.float32)


def _moved(light: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Shift, turn and scale a picture as a hand that tries to hold still does."""
    rows, cols = light.shape[:2]
    turn = cv2.getRotationMatrix2D((cols / 2, rows / 2), float(rng.normal(0, 0.7)), 1 + rng.normal(0, 0.006))
    turn[:, 2] += rng.normal(0, 5, 2)
    return cv2.warpAffine(light, turn, (cols, rows), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT_101)


def make_pair(number: int, folder: Path) -> str:
    """Shade one pair and write its files; gives its number as text."""
    name = f"{number:05d}"
    if (folder / f"right_{name}.json").is_file():
        return name
    rng = np.random.default_rng([SEED_WORD, number])
    size = (int(rng.integers(420, 700)), int(rng.integers(420, 700)))
    mm_per_px = float(np.exp(rng.uniform(np.log(0.05), np.log(0.2))))
    spec = draw_spec(rng, mm_per_px, size)
    wide, tall = spec.outline.width_mm, spec.outline.height_mm
    top = tall * spec.bare_fraction if spec.bare_end == "top" else 0.0
    low = tall * (1 - spec.bare_fraction) if spec.bare_end == "bottom" else tall
    kinds = [
        kind
        for kind in ("pinhole", "blister", "crater", "speck")
        if rng.random() < 0.75
        for _ in range(int(rng.poisson(12 * rng.uniform(0.3, 1.3))))
    ]
    if rng.random() < 0.12:
        kinds = []
    shuffled = [kinds[i] for i in rng.permutation(len(kinds))]
    box = (1.0, top + 1.0, wide - 1.0, low - 1.0)
    marks = tuple(place_marks(rng, shuffled, box, mm_per_px, bool(rng.random() < 0.3)))
    crawling = spec.crawling if rng.random() < 0.4 else None
    surface = make_surface(replace(spec, marks=marks, crawling=crawling), mm_per_px / _FINER)
    light_seed = int(rng.integers(1 << 30))
    phone_seed = int(rng.integers(1 << 30))
    held = bool(rng.random() < 0.5)
    away = float(rng.uniform(1.5, 12.0))
    for side, where in ((-1.0, "left"), (1.0, "right")):
        swing, lift = np.radians(rng.normal(0, 14)), np.radians(rng.uniform(14, 50))
        lamp = np.array([side * np.cos(lift) * np.cos(swing), np.cos(lift) * np.sin(swing), np.sin(lift)])
        light = _falloff(shade(surface, np.random.default_rng(light_seed), lamp), lamp, away)
        if held and where == "right":
            light = _moved(light, rng)
        rows, cols = light.shape[:2]
        shown = (round(cols / _FINER), round(rows / _FINER))
        small = cv2.resize(light, shown, interpolation=cv2.INTER_AREA)
        tint = small.reshape(-1, 3).mean(0) / max(float(small[..., 1].mean()), 1e-6)
        phone_rng = np.random.default_rng(phone_seed)
        phone = Phone.of(phone_rng, tint, bool(phone_rng.random() < 0.6))
        picture = develop(small, phone, rng)
        (folder / f"{where}_{name}.jpg").write_bytes(encode_jpeg(picture, phone.quality))
        write_truth(
            surface, folder, f"{where}_{name}", shown, {"seed": [SEED_WORD, number], "split": "shaded"}
        )
    return name


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, required=True)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--out", type=Path, default=Path(".renders/pairs_shaded"))
    parser.add_argument("--processes", type=int, default=1)
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    cv2.setNumThreads(1)
    numbers = range(args.first, args.first + args.count)
    with ProcessPoolExecutor(args.processes) as pool:
        for name in pool.map(make_pair, numbers, repeat(args.out), chunksize=2):
            print(name, file=sys.stderr, flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
