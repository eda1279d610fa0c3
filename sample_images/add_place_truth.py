"""Give older renders the truth by place: python sample_images/add_place_truth.py .renders/test.

Draws each photo again from its seed, without rendering it, and adds what a newer factory keeps beside each
tile; a tile whose other truth no longer agrees is left alone and named.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from factory.variation import draw_photo
from render_splits import SPLITS

ADDED = ("places", "running", "craze_cells")


def add_truth(path: Path) -> str | None:
    """Add to one truth file what it lacks; gives what went wrong."""
    truth = json.loads(path.read_text(encoding="utf-8"))
    if all(key in tile for tile in truth["tiles"] for key in ADDED):
        return None
    _, subject, careful = SPLITS[truth["split"]]
    plan = draw_photo(tuple(truth["seed"]), subject, careful)
    made = {
        item.surface.truth["width_mm"]: item.surface.truth
        for item in plan.shot.items
        if item.surface is not None
    }
    for tile in truth["tiles"]:
        anew = made.get(tile["width_mm"])
        if anew is None or anew["glaze_lab"] != tile["glaze_lab"]:
            return f"{path.name}: not the scene it was"
        tile.update({key: anew[key] for key in ADDED})
    aside = path.with_suffix(".json.part")
    aside.write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
    aside.replace(path)
    return None


def main() -> int:
    """Run the command; gives the exit code."""
    wrong = 0
    for folder in sys.argv[1:]:
        for path in sorted(Path(folder).glob("*.json")):
            trouble = add_truth(path)
            if trouble:
                wrong += 1
                print(trouble, file=sys.stderr, flush=True)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
