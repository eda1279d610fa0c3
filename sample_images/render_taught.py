"""Render several photos of each of a few printed cards, a chart beside it: teaching is measured on them.

    python sample_images/render_taught.py --cards 4 --photos 4

Cards differ in paper, ink and printer; the photos of one card in all else. Kept like the splits' photos.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

import numpy as np
from factory.paper import Print
from factory.photo import make_photo
from factory.variation import draw_card_photo

from vision.card_layout import A5, A6

_WORD = 97
"""Seed word of these photos; no split has it."""


def main() -> int:
    """Run the command; gives the exit code."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cards", type=int, default=4)
    parser.add_argument("--photos", type=int, default=4, help="of each card")
    parser.add_argument("--out", type=Path, default=Path(".renders/taught"))
    args = parser.parse_args()
    args.out.mkdir(parents=True, exist_ok=True)
    for photo in range(args.photos):
        for card in range(args.cards):
            name = f"card{card}_{photo}"
            if (args.out / f"{name}.json").is_file():
                continue
            printing = Print.of(np.random.default_rng([_WORD, card]))
            plan = draw_card_photo((_WORD, card, photo), printing, A5 if card % 4 == 3 else A6)
            make_photo(plan, args.out, name, {"seed": [_WORD, card, photo], "split": "taught"}, False)
            print(name, file=sys.stderr, flush=True)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
