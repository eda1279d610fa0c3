"""Render a training, tuning or test set: python sample_images/render_splits.py --split train --count 160.

Every photo's seed begins with its split's own word, so no two splits share one. Photos already there are
kept; a stopped run goes on where it left off.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import cv2
from factory.faults import draw_dense_faults
from factory.photo import make_photo
from factory.variation import draw_photo

SPLITS: dict[str, tuple[int, str | None, bool]] = {
    "train": (11, None, False),
    "train_dense": (13, None, False),
    "tune": (23, None, False),
    "test": (37, "tile", True),
    "test_ware": (41, "ware", True),
    "test_patch": (43, "patch", True),
}
"""Split -> (seed word, subject or None to draw it, careful)."""
DENSE = {"tile_faults": draw_dense_faults, "size_px": (1280, 960)}
"""What is else about `train_dense`: marks of all kinds, a net on every second piece, small photos."""


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--split", choices=list(SPLITS), required=True)
    parser.add_argument("--count", type=int, required=True)
    parser.add_argument("--first", type=int, default=0, help="number of the first photo")
    parser.add_argument("--out", type=Path, default=None, help="default: .renders/SPLIT")
    args = parser.parse_args()
    word, subject, careful = SPLITS[args.split]
    special: dict[str, Any] = DENSE if args.split == "train_dense" else {}
    folder = args.out or Path(".renders") / args.split
    folder.mkdir(parents=True, exist_ok=True)
    failed = 0
    for number in range(args.first, args.first + args.count):
        name = f"{args.split}_{number:04d}"
        if (folder / f"{name}.json").is_file():
            continue
        began = time.perf_counter()
        try:
            plan = draw_photo((word, number), subject, careful, **special)
            truth = make_photo(plan, folder, name, {"seed": [word, number], "split": args.split}, True)
        except (ValueError, RuntimeError, IndexError, cv2.error) as error:
            failed += 1
            print(f"{name}: not rendered: {error!r}", file=sys.stderr, flush=True)
            continue
        marks = sum(len(tile["marks"]) for tile in truth["tiles"])
        print(
            f"{name} {truth['subject']} {marks} marks {time.perf_counter() - began:.1f} s",
            file=sys.stderr,
            flush=True,
        )
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
