"""Render pairs of photos: python sample_images/render_pairs.py --split train --count 20.

The same tiles, unmoved, once with the lamp on the photo's left and once on its right: left_NNNN and
right_NNNN, each with its truth, in .renders/pairs_SPLIT. Seeds are kept apart as in render_splits.py; pairs
already there are kept.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import cv2
from factory.pairs import draw_pair
from factory.photo import make_photo

_WORDS = {"train": 101, "tune": 103, "test": 107}
"""Split -> seed word; no other script has these."""


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--split", choices=list(_WORDS), required=True)
    parser.add_argument("--count", type=int, required=True)
    parser.add_argument("--first", type=int, default=0, help="number of the first pair")
    parser.add_argument("--out", type=Path, default=None, help="default: .renders/pairs_SPLIT")
    args = parser.parse_args()
    folder = args.out or Path(".renders") / f"pairs_{args.split}"
    folder.mkdir(parents=True, exist_ok=True)
    failed = 0
    for number in range(args.first, args.first + args.count):
        names = [f"{side}_{number:04d}" for side in ("left", "right")]
        if all((folder / f"{name}.json").is_file() for name in names):
            continue
        began = time.perf_counter()
        seed = [_WORDS[args.split], number]
        try:
            for plan, name in zip(draw_pair(tuple(seed)), names, strict=True):
                truth = make_photo(plan, folder, name, {"seed": seed, "split": args.split}, True)
        except (ValueError, RuntimeError, IndexError, cv2.error) as error:
            failed += 1
            print(f"pair {number}: not rendered: {error!r}", file=sys.stderr, flush=True)
            continue
        marks = sum(len(tile["marks"]) for tile in truth["tiles"])
        print(f"pair {number} {marks} marks {time.perf_counter() - began:.1f} s", file=sys.stderr, flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
